"""Home, with its real pages: every row leads somewhere, every page is left again, by each kind of pedal."""

from __future__ import annotations

import argparse
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pedaltrainer.commands import options
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.session import add_session_options
from pedaltrainer.history.at_home import home_facts
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import fast, starting
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, PLACES, SESSIONS, page_of
from pedaltrainer.live.home.usher import Usher
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import MenuView, Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.home import Errand, Leaf, Turned, Verb, Walk, step
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import TapSettings, tap_settings_from_json, tap_settings_to_json
from pedaltrainer.showing.home.pages import HOME
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import configs_folder
from tests.session.clumsy import DEVICE, bindings_of

NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
SIZES = ((1366, 768), (1920, 1080))
FRONT = Errand(Verb.TURN, HOME)


def a_house(folder: Path, *, songs: bool = False, days: int = 0) -> House:
    """The house of a player with the songs of the made-up band, or some days of practice, or neither."""
    desk = Desk(folder, "Robin")
    settings = Settings(drills=(parse_drill("Am E"),), ladder="seek")
    if songs:
        shutil.copytree(configs_folder() / "songs", folder / "songs")
    for day in range(days):
        drills = (parse_drill("Am E"), parse_drill("C G"), parse_drill("pressure F"))
        with Log.open(folder) as log:
            began = NOW - timedelta(days=days - day)
            played = replace(settings, drills=drills, minutes=4.0)
            fast.rehearse(Options(played, desk, made_up=MadeUpPlayer(80 + 3 * day, day), began=began), log)
    return House(Options(settings, desk), now=lambda: NOW)


@pytest.fixture(scope="module", params=["nothing yet", "songs", "both"])
def house(request, tmp_path_factory) -> House:
    folder = tmp_path_factory.mktemp("house")
    return a_house(folder, songs=request.param != "nothing yet", days=6 if request.param == "both" else 0)


def walked_through(house: House, most: int = 150, most_alike: int = 20) -> Iterator[Leaf]:
    """Home, and the pages that its rows lead to, each once, as far as they lead.

    most_alike: of pages that differ in their value alone.
    """
    waiting, seen = [FRONT], {FRONT}
    alike: Counter[str] = Counter()
    while waiting and len(seen) < most:
        leaf = page_of(house, waiting.pop(0))
        yield leaf
        for row in leaf.rows:
            there = replace(row.errand, verb=Verb.TURN)
            if row.errand.verb in {Verb.TURN, Verb.ACROSS} and there not in seen:
                seen.add(there)
                alike[there.to] += 1
                if alike[there.to] > most_alike:
                    continue
                waiting.append(there)


def test_every_row_names_a_page_a_session_or_a_deed_that_there_is(house):
    tables = {Verb.TURN: PLACES, Verb.ACROSS: PLACES, Verb.PLAY: SESSIONS, Verb.DO: DEEDS}
    errands = [row.errand for leaf in walked_through(house) for row in leaf.rows]
    assert len(errands) > 10
    amiss = [errand for errand in errands if errand.verb in tables and errand.to not in tables[errand.verb]]
    assert amiss == []


def test_every_page_has_a_way_back_and_fits_the_screen_for_an_eye_two_metres_away(house):
    around = Surroundings(house.options.desk.shapes)
    for leaf in walked_through(house):
        assert len(leaf.rows) == len({row.words for row in leaf.rows}), leaf
        leads_back = {row.errand.verb for row in leaf.rows} & {Verb.BACK, Verb.AGAIN}
        assert leads_back or leaf.place == FRONT, leaf.title
        walk, _ = step(Walk(trail=((FRONT, 0),)), Turned(0.0, leaf))
        view = walk_view(walk, 1.0, around)
        assert isinstance(view, MenuView)
        for size in SIZES:
            assert layout_of(view, size, Sight()).shortfalls == (), (leaf.title, size)


def test_every_session_that_a_row_begins_can_be_played(house):
    begun = {
        row.errand for leaf in walked_through(house) for row in leaf.rows if row.errand.verb is Verb.PLAY
    }
    for errand in sorted(begun, key=str):
        settings = SESSIONS[errand.to](house, errand.value)
        if isinstance(settings, RunSettings):
            assert settings.one_pass.bars
            continue
        if isinstance(settings, TapSettings):
            assert tap_settings_from_json(tap_settings_to_json(settings)) == settings
            continue
        assert settings.drills
        assert not settings.show_cautions


class AtHome:
    """A pedal of some kind at home, on a simulated clock."""

    def __init__(self, house: House, kind: str = "one switch") -> None:
        bindings = bindings_of(kind)
        self.rules = [rule for rule in bindings.rules if rule.controls]
        self.usher = Usher(house, SimulatedStream(), Foot(inputs=(DEVICE,), bindings=bindings))
        self.now_s = 0.0
        self.usher.open(0.0)

    @property
    def walk(self) -> Walk:
        return self.usher.walk

    def wait(self, seconds: float) -> None:
        until_s = self.now_s + seconds
        while (due_s := self.usher.due_t_s()) is not None and due_s <= until_s:
            self.usher.advance(due_s)
        self.now_s = until_s

    def press(self, switch: int = 0, down_s: float = 0.1) -> None:
        rule = self.rules[switch]
        self.wait(0.5)
        for is_down in (True, False):
            self.usher.edge(BoundEdge(self.now_s, DEVICE, rule.switch, is_down, rule))
            self.wait(down_s if is_down else 0.4)

    def choose(self, words: str) -> None:
        """The row that begins with these words, by the gestures of the pedal."""
        rows = [row.words for row in self.walk.leaf.rows]
        said = self.usher.foot.said
        assert said is not None
        if not said.chooses:
            # Only a tap begins a rest: a row that is marked already is reached by going round.
            self.press()
        while not rows[self.walk.marker].startswith(words):
            self.press()
        if not said.chooses:
            self.wait(4.0)
            return
        way = said.in_list.get(Control.PAUSE) or said.in_list[Control.NEXT]
        switches = [rule.switch for rule in self.rules]
        self.press(switches.index(way.switch), 0.9 if str(way.gesture) == "hold" else 0.1)


KINDS = ("one switch", "two switches", "three switches", "latching", "press-only")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_pedal_gets_from_home_to_a_page_and_back_and_closes(kind, tmp_path):
    home = AtHome(a_house(tmp_path), kind)
    home.press()
    home.choose("Close")
    assert home.walk.leaf.place.to == "close"
    home.choose("Not now")
    assert home.walk.leaf.place == FRONT
    home.choose("Close")
    home.choose("Yes")
    assert home.usher.closed


def test_a_row_that_begins_a_session_asks_for_it_and_the_page_stands_again_after_it(tmp_path):
    home = AtHome(a_house(tmp_path, songs=True))
    home.choose("Next")
    wanted = home.usher.wanted
    assert wanted is not None
    assert len(wanted.drills) == 1
    assert wanted.targets_bpm[0] > 0
    home.usher.come_back(home.now_s, "That is all")
    assert (home.usher.wanted, home.walk.leaf.place) == (None, FRONT)


def test_a_log_that_cannot_be_read_is_a_sentence_on_the_stage_and_home_is_left_all_the_same(tmp_path):
    (tmp_path / "log.sqlite3").write_bytes(b"no log at all " * 100)
    home = AtHome(a_house(tmp_path))
    assert home.walk.leaf.title == "That did not work"
    assert "log.sqlite3" in home.walk.leaf.lines[0]
    home.choose("Close")
    home.choose("Yes")
    assert home.usher.closed


def parsed(folder: Path, *words: str) -> argparse.Namespace:
    reads = Parser(prog="pedaltrainer play")
    add_session_options(reads)
    return reads.parse_args([*words, "--data", str(folder), "--player", "Robin"])


class Clock(datetime):
    """A clock that stands at the moment it was set to."""

    stands_at = NOW

    @classmethod
    def now(cls, tz=None):
        return cls.stands_at.astimezone(tz)


def test_a_week_from_home_is_the_same_week_as_by_commands(tmp_path, monkeypatch):
    """Each evening today's practice, then the next change: chosen by foot, and as words typed."""
    monkeypatch.setattr(options, "datetime", Clock)
    monkeypatch.setattr(starting, "datetime", Clock)
    logs = []
    for way in ("by foot", "by commands"):
        folder = tmp_path / way
        folder.mkdir()
        (folder / "settings.toml").write_text('cautions_seen_utc = "2026-01-01T00:00:00.000Z"\n')
        shutil.copytree(configs_folder() / "songs", folder / "songs")
        for day in range(7):
            for number, row in enumerate(("Today", "Next")):
                Clock.stands_at = now = NOW + timedelta(days=day, minutes=40 * number)
                desk = Desk(folder, "Robin")
                if way == "by foot":
                    house = House(options.stage_options(parsed(folder), desk), now=Clock.now)
                    home = AtHome(house)
                    home.choose(row)
                    chosen = replace(house.options, settings=home.usher.wanted)
                else:
                    coming = home_facts(desk, Clock.now()).next_up
                    words = () if row == "Today" else (coming.words,)
                    chosen = options.session_options(parsed(folder, *words), desk)
                played = replace(chosen, made_up=MadeUpPlayer(90, 10 * day + number), began=now)
                with Log.open(folder) as log:
                    fast.rehearse(played, log)
        with Log.open(folder, read_only=True) as log:
            takes = log.takes(newest_first=False)
        logs.append([(one.drill, one.tempo_bpm, one.outcome, one.started_utc) for one in takes])
    assert len(logs[0]) > 300
    assert logs[0] == logs[1]
