"""The first start, by foot from its first second: cautions, pedal, screen, and how fast changes go today."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pedaltrainer import cli
from pedaltrainer.commands.options import stage_options
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import starting
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.usher import Usher
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records import preferences
from pedaltrainer.screen.view import PageView, Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.events import Given, Pressed
from pedaltrainer.session.home import Errand, Verb
from pedaltrainer.session.replay import event_from_json, walked
from pedaltrainer.session.settings import GENTLE_RISE
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.pages import CAUTIONS
from pedaltrainer.showing.view_of import Surroundings

NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE


def house_in(folder, *words: str) -> House:
    """The house as the bare word opens it."""
    asked = cli.parser().parse_args(["home", *words])
    return House(stage_options(asked, Desk(folder, "Robin")), now=lambda: NOW)


class Beginner:
    """Somebody at the very first start. `lessons`: what was begun and ended."""

    def __init__(self, folder, *words: str) -> None:
        self.house = house_in(folder, *words)
        self.lessons: list[tuple[bool, bool]] = []
        teach = lambda begins, first: self.lessons.append((begins, first))  # noqa: E731
        self.usher = Usher(self.house, SimulatedStream(), on_teaching=teach)
        self.now_s = 0.0
        self.usher.open(0.0)

    @property
    def walk(self):
        return self.usher.walk

    def gives(self, control: Control) -> None:
        self.now_s += 1.0
        self.usher._happen(Pressed(self.now_s, self.now_s, "foot"))
        self.usher._happen(Given(self.now_s, self.now_s, self.now_s, control, "foot"))

    def learns(self, words: str = "The pedal is known") -> None:
        self.now_s += 10.0
        self.usher.taught(words, self.now_s)


@pytest.mark.parametrize("first_press", [YES, NO, STOP])
def test_from_the_cautions_to_home_by_foot_and_never_again(tmp_path, first_press):
    beginner = Beginner(tmp_path)
    said = beginner.walk.leaf.lines
    beginner.gives(first_press)
    assert (*said, *beginner.walk.leaf.lines) == CAUTIONS
    beginner.gives(first_press)
    assert (beginner.walk.teaching, beginner.lessons) == (True, [(True, True)])
    beginner.learns()
    assert beginner.lessons[-1] == (False, False)
    assert beginner.walk.leaf.title == "Screen, corner to corner"
    beginner.gives(STOP)
    beginner.gives(YES)
    beginner.gives(STOP)
    assert beginner.walk.leaf.title == "How fast today?"
    beginner.gives(STOP)
    assert beginner.walk.leaf.title == "What now?"
    assert beginner.walk.trail == ()
    kept = preferences.load(tmp_path)
    assert (kept.distance_m, kept.first_tempo_bpm) == (2.5, 40.0)
    assert kept.cautions_seen_utc == "2026-11-20T18:00:00.000Z"
    assert Beginner(tmp_path).walk.leaf.title == "What now?"


def test_who_leaves_half_way_sees_the_cautions_again(tmp_path):
    beginner = Beginner(tmp_path)
    beginner.gives(YES)
    beginner.gives(YES)
    beginner.learns()
    beginner.gives(STOP)
    assert Beginner(tmp_path).walk.leaf.title == "Before you play"


def test_without_a_pedal_it_goes_on_and_no_leads_back(tmp_path):
    beginner = Beginner(tmp_path)
    beginner.gives(YES)
    beginner.gives(YES)
    beginner.gives(Control.QUIT)
    assert beginner.walk.leaf.title == "Screen, corner to corner"
    beginner.gives(NO)
    assert beginner.walk.leaf.title == "Before you play"


def test_a_screen_that_was_named_is_not_asked_about(tmp_path):
    beginner = Beginner(tmp_path, "--screen-inches", "24")
    beginner.gives(YES)
    beginner.gives(YES)
    beginner.learns()
    assert beginner.walk.leaf.title == "How fast today?"


def test_the_first_start_replays_from_its_record(tmp_path):
    beginner = Beginner(tmp_path)
    beginner.gives(YES)
    beginner.gives(YES)
    beginner.learns("The keys it is")
    for _ in range(3):
        beginner.gives(STOP)
    record = [event_from_json(one) for one in beginner.usher.walked]
    assert list(walked(record))[-1] == beginner.walk


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
def test_every_page_of_it_is_read_from_two_metres(tmp_path, size):
    beginner = Beginner(tmp_path)
    around = Surroundings(beginner.house.options.desk.shapes)
    for place in ("cautions", "first screen", "first distance", "first tempo"):
        for value in ("", "further"):
            beginner.usher._run(Errand(Verb.TURN, place, value))
            view = walk_view(beginner.walk, 0.0, around)
            assert layout_of(view, size, Sight()).shortfalls == (), place
            if place == "cautions":
                assert isinstance(view, PageView)
                assert [hint.words for hint in view.hints] == ["go on"]


def test_a_drill_never_practised_begins_where_its_player_said_and_rises_gently(tmp_path):
    house = house_in(tmp_path)
    house.remember(first_tempo_bpm=40.0)
    drill = parse_drill("Am E")
    ladder = starting.of_drills(house.usual, house.options.desk, [drill]).new_ladder(0)
    assert ladder.tempo_bpm == 40
    assert ladder.start.most_rise == GENTLE_RISE
    named = starting.of_drills(house.usual, house.options.desk, [drill], start_bpm=84).new_ladder(0)
    assert (named.tempo_bpm, named.start.most_rise) == (84, None)
    house.remember(first_tempo_bpm=0.0)
    plain = starting.of_drills(house.usual, house.options.desk, [drill]).new_ladder(0)
    assert (plain.start.first_bpm, plain.start.most_rise) == (None, None)
