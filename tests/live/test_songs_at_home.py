"""Songs at home by foot: listed, looked at, changed, written, dropped on the window, taken away."""

from __future__ import annotations

import random
import shutil
from dataclasses import replace

import pytest

from pedaltrainer.live.home.drops import AWAY_FROM_HOME, Dropped, Drops
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, PLACES, SESSIONS, page_of
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.pedals.events import Control
from pedaltrainer.screen.view import MenuView, Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.home import Errand, Leaf, Turned, Verb, Walk, step
from pedaltrainer.session.replay import home_event_from_json
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs import shelf
from tests.live.test_home import FRONT, SIZES, AtHome, a_house

SONGS = Errand(Verb.TURN, "songs")
MOST_GESTURES = 60


class ByFoot(AtHome):
    """Counts gestures: each press is one."""

    gestures = 0

    def press(self, switch: int = 0, down_s: float = 0.1) -> None:
        self.gestures += 1
        super().press(switch, down_s)

    def tap_beats(self, bpm: float, taps: int) -> None:
        rule = self.rules[0]
        start_s = self.now_s + 1.0
        for number in range(taps):
            self.wait(start_s + number * 60 / bpm - self.now_s)
            for is_down in (True, False):
                self.gestures += is_down
                self.usher.edge(edge(self.now_s, rule, is_down))
                self.wait(0.1)

    @property
    def title(self) -> str:
        return self.walk.leaf.title

    @property
    def rows(self) -> list[str]:
        return [row.words for row in self.walk.leaf.rows]


def edge(t_s, rule, is_down):
    from pedaltrainer.pedals.bindings import BoundEdge
    from tests.session.clumsy import DEVICE

    return BoundEdge(t_s, DEVICE, rule.switch, is_down, rule)


def at_the_songs(house: House, kind: str = "one switch") -> ByFoot:
    home = ByFoot(house, kind)
    home.choose("Songs")
    home.gestures = 0
    return home


@pytest.fixture(scope="module", params=["nothing yet", "songs", "both"])
def house(request, tmp_path_factory) -> House:
    folder = tmp_path_factory.mktemp("house")
    return a_house(folder, songs=request.param != "nothing yet", days=2 if request.param == "both" else 0)


def pages_from(house: House, first: Errand, most: int = 60) -> list[Leaf]:
    waiting, seen, found = [first], {first}, []
    while waiting and len(found) < most:
        leaf = page_of(house, waiting.pop(0))
        found.append(leaf)
        for row in leaf.rows:
            there = replace(row.errand, verb=Verb.TURN)
            if row.errand.verb in {Verb.TURN, Verb.ACROSS} and there not in seen:
                seen.add(there)
                waiting.append(there)
    return found


DRAFT = "118 4 G D Em C G D Em F#m7"
WALKS = (SONGS, Errand(Verb.TURN, "tapped", "120 new song"), Errand(Verb.TURN, "write a song", DRAFT))


@pytest.mark.parametrize("first", WALKS, ids=lambda first: first.to)
def test_every_row_of_the_songs_leads_somewhere_and_every_page_is_read_from_two_metres(house, first):
    tables = {Verb.TURN: PLACES, Verb.ACROSS: PLACES, Verb.PLAY: SESSIONS, Verb.DO: DEEDS}
    around = Surroundings(house.options.desk.shapes)
    for leaf in pages_from(house, first):
        assert leaf.title != "That did not work", leaf
        for row in leaf.rows:
            assert row.errand.verb not in tables or row.errand.to in tables[row.errand.verb], row
        walk, _ = step(Walk(trail=((FRONT, 0),)), Turned(0.0, leaf))
        view = walk_view(walk, 1.0, around)
        assert isinstance(view, MenuView)
        for size in SIZES:
            assert layout_of(view, size, Sight()).shortfalls == (), (leaf.title, size)


def test_with_no_song_yet_those_of_the_made_up_band_are_there_to_try(tmp_path):
    home = at_the_songs(a_house(tmp_path))
    assert home.title == "No songs yet"
    home.choose("Try: Low Water")
    assert home.title == "Low Water"
    assert [one.title for one in shelf.songs(tmp_path)] == ["Low Water"]
    home.choose("Practise")
    wanted = home.usher.wanted
    assert wanted is not None
    assert wanted.targets_bpm[0] > 0


def test_all_its_open_changes_are_practised_each_with_the_tempo_it_asks_for(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    home.choose("Low Water")
    home.choose("Practise all")
    wanted = home.usher.wanted
    assert wanted is not None
    assert len(wanted.drills) == 7
    assert min(wanted.targets_bpm) > 0


def test_its_date_tempo_and_key_are_set_and_each_leads_back_to_its_page(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    home.choose("Low Water")
    home.choose("Date")
    home.choose("In 2 weeks")
    assert "Date: 4 Dec" in home.rows
    home.choose("Date")
    home.choose("No date")
    assert "Date: none" in home.rows
    home.choose("Tempo")
    home.choose("Faster")
    assert home.title == "Tempo: 100 BPM"
    home.choose("Tap it")
    home.tap_beats(104, 8)
    home.choose("That is it")
    assert home.rows[:3] == ["104 BPM", "Half of it: 52", "Twice that: 208"]
    home.choose("104")
    assert "Tempo: 104" in home.rows
    home.choose("Key and capo")
    home.choose("Half a step up")
    assert home.walk.leaf.place == Errand(Verb.TURN, "song", "Low Water")
    assert [place.to for place, _ in home.walk.trail] == ["home", "songs"]
    assert shelf.find(tmp_path, "Low Water").bars[0].tempo_bpm == 104
    assert list((tmp_path / "songs" / "removed").glob("*.chart"))


def test_to_take_a_song_away_is_asked_and_yes_is_not_the_row_that_asked(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    home.choose("Low Water")
    home.choose("Take it away")
    assert home.rows == ["No, keep it", "Yes, take it away"]
    home.choose("Yes")
    assert home.walk.leaf.place == SONGS
    assert "Low Water" not in [one.title for one in shelf.songs(tmp_path)]


# --- written by foot ----------------------------------------------------------------------


def write(home: ByFoot, chords: list[str], bpm: float = 104) -> None:
    """Tap its tempo and choose its chords, each by the shortest way there is on the page."""
    home.choose("Write a song")
    home.tap_beats(bpm, 8)
    home.choose("That is it")
    home.choose(f"{bpm:g} BPM")
    for number, chord in enumerate(chords):
        again = f"All {number} bars again"
        if again in home.rows and chords[number:] == chords[:number]:
            home.choose(again)
            break
        row = next((words for words in home.rows if words.split(" ")[0] == chord), None)
        if row is None:
            home.choose("Another chord")
            row = chord
            if chord not in home.rows:
                home.choose("Any chord")
                root = parse_chosen(chord).symbol.root
                home.choose(next(words for words in home.rows if root in words.split(" or ")))
        while home.rows[home.walk.marker] != row:
            home.press()
        home.choose(row)
    home.choose("Done")


def test_a_song_of_eight_bars_is_written_tempo_and_all_and_stands_on_the_shelf(tmp_path):
    home = at_the_songs(a_house(tmp_path))
    write(home, ["G", "D", "Em", "C"] * 2)
    (song,) = shelf.songs(tmp_path)
    assert song.title == "Song 1"
    assert [bar.slots[0].chord for bar in song.bars] == ["G", "D", "Em", "C"] * 2
    assert (song.bars[0].tempo_bpm, song.bars[0].beats) == (104, 4)
    assert home.walk.leaf.place == SONGS
    assert home.rows[0].startswith("Song 1")
    assert home.gestures <= 40


KEYS = ("G Am Bm C D Em", "C Dm Em F G Am", "D Em F#m G A Bm")
"""The first six chords of keys that guitars are mostly played in (any handbook of harmony)."""


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("chords", KEYS)
def test_eight_bars_of_any_four_chords_of_a_key_take_sixty_gestures_at_most(tmp_path, chords, seed):
    chance = random.Random(seed)
    four = chance.sample(chords.split(), 4)
    bars = four + [chance.choice(four) for _ in range(4)]
    home = at_the_songs(a_house(tmp_path))
    write(home, bars)
    (song,) = shelf.songs(tmp_path)
    assert [bar.slots[0].chord for bar in song.bars] == bars
    assert home.gestures <= MOST_GESTURES


def test_any_chord_is_found_by_its_root_and_kind(tmp_path):
    home = at_the_songs(a_house(tmp_path))
    write(home, ["Abmaj7", "G#m7", "F#dim", "C"])
    (song,) = shelf.songs(tmp_path)
    assert [bar.slots[0].chord for bar in song.bars] == ["Abmaj7", "G#m7", "F#dim", "C"]


def test_going_back_takes_the_last_bar_away(tmp_path):
    home = at_the_songs(a_house(tmp_path), "two switches")
    home.choose("Write a song")
    home.tap_beats(90, 4)
    home.choose("That is it")
    home.choose("90 BPM")
    home.choose("G")
    home.choose("C")
    assert home.title.startswith("Bar 3")
    home.choose("Back")
    assert home.title.startswith("Bar 2")
    assert home.walk.leaf.lines == ("G",)


@pytest.mark.parametrize("kind", ["one switch", "two switches", "three switches", "press-only"])
def test_a_tempo_is_tapped_with_every_kind_of_switch_that_springs_back(kind, tmp_path):
    home = at_the_songs(a_house(tmp_path), kind)
    home.choose("Write a song")
    home.tap_beats(96, 6)
    if not home.usher.foot.said.chooses:
        home.wait(4.0)
    else:
        home.choose("That is it")
    assert home.title == "96 BPM"


def test_the_walk_replays_from_its_record_draft_and_all(tmp_path):
    home = at_the_songs(a_house(tmp_path))
    write(home, ["Am", "F", "C", "G", "Am", "F", "C", "C"])
    walk = Walk()
    for record in home.usher.walked:
        assert isinstance(record["was"], dict)
        walk, _ = step(walk, home_event_from_json(record["was"]))
    assert walk == home.walk


# --- files ---------------------------------------------------------------------------------


def test_a_chart_that_is_dropped_is_kept_and_said_and_the_page_shows_it(tmp_path):
    file = tmp_path / "mine.chart"
    file.write_text("title: My Own\n| C | G |\n")
    home = at_the_songs(a_house(tmp_path / "data", songs=True))
    home.usher.dropped(str(file))
    assert home.walk.leaf.place == SONGS
    assert any(row.startswith("My Own") for row in home.rows)
    assert home.walk.ack is not None
    assert home.walk.ack.name == "Kept: My Own"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("mine.chart", "title: My Own\n| C | G |\n| C | H9 |\n", "bar 4"),
        ("mine.musicxml", "<score-partwise><part>", "mine.musicxml"),
        ("notes.txt", "buy strings", "line 1"),
        ("picture.png", b"\x89PNG\r\n\x1a\n\x00\xff", "picture.png"),
    ],
)
def test_a_dropped_file_that_is_no_song_is_a_sentence_and_the_page_stands_after_it(
    tmp_path, name, content, said
):
    file = tmp_path / name
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    home = at_the_songs(a_house(tmp_path / "data", songs=True))
    home.usher.dropped(str(file))
    assert home.title == "This is no song"
    assert said in home.walk.leaf.lines[0]
    home.choose("Back")
    assert home.walk.leaf.place == SONGS


def test_a_dropped_song_that_is_there_already_is_asked_about(tmp_path):
    file = tmp_path / "low.chart"
    file.write_text("title: Low Water\n| C | G |\n")
    home = at_the_songs(a_house(tmp_path / "data", songs=True))
    home.usher.dropped(str(file))
    home.choose("Keep the old one")
    assert len(shelf.find(tmp_path / "data", "Low Water").bars) > 2
    home.usher.dropped(str(file))
    home.choose("Take the new one")
    assert len(shelf.find(tmp_path / "data", "Low Water").bars) == 2
    assert home.walk.leaf.place == SONGS


def test_what_is_dropped_while_somebody_plays_waits_until_they_are_home(tmp_path):
    file = tmp_path / "mine.chart"
    file.write_text("title: My Own\n| C | G |\n")
    home = at_the_songs(a_house(tmp_path / "data"))
    drops = Drops(home.usher)
    drops.come(Dropped(str(file)), at_home=False)
    assert drops.notices
    assert shelf.songs(tmp_path / "data") == ()
    drops.read()
    assert drops.notices == ()
    assert [one.title for one in shelf.songs(tmp_path / "data")] == ["My Own"]
    alone = Drops(None)
    alone.come(Dropped(str(file)), at_home=False)
    assert alone.notices == (AWAY_FROM_HOME,)


def test_a_chart_laid_in_the_folder_is_there_when_the_page_is_turned(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    (tmp_path / "songs" / "new.chart").write_text("title: Aardvark\n| C | G |\n")
    (tmp_path / "songs" / "off.chart").write_text("title: Off\n| C | H |\n")
    home.choose("Back")
    home.choose("Songs")
    assert home.rows[0].startswith("Aardvark")
    home.choose("A file that is no song")
    assert "off.chart, line 2" in home.walk.leaf.lines[0]


def test_a_folder_that_vanishes_is_a_sentence(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    home.choose("Low Water")
    shutil.move(tmp_path / "songs", tmp_path / "elsewhere")
    home.choose("Tempo")
    assert home.title == "That did not work"
    assert "songs has gone" in home.walk.leaf.lines[0]
    home.choose("Back")
    assert "There is no song “Low Water”" in home.walk.leaf.lines[0]


def test_a_song_that_is_gone_meanwhile_is_a_sentence(tmp_path):
    home = at_the_songs(a_house(tmp_path, songs=True))
    (tmp_path / "songs" / "low-water.chart").unlink()
    home.choose("Low Water")
    assert "There is no song “Low Water” any more" in home.walk.leaf.lines[0]
    assert home.usher.foot.said.in_list[Control.PASS_]
