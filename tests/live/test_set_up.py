"""Set up by foot: kept at once, in force from then on, and heard where it is about sound."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedaltrainer import cli
from pedaltrainer.commands.options import stage_options
from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import fast
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.home import set_up
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, page_of
from pedaltrainer.live.home.usher import Usher
from pedaltrainer.live.options import Options, ear_of
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records import preferences
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.events import Given, Pressed
from pedaltrainer.session.home import Errand, Verb
from pedaltrainer.session.settings import Settings
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.click import Sound


class HeardStream(SimulatedStream):
    """Notes how it was set."""

    def __init__(self) -> None:
        super().__init__()
        self.was_set: list[tuple[float, bool, float | None]] = []

    def set_as(
        self, volume: float, acks: bool, sound_delay_s: float | None, backing_level: float = 1.0
    ) -> None:
        self.was_set.append((volume, acks, sound_delay_s))


def options_for(folder: Path, **more) -> Options:
    return Options(Settings(drills=(parse_drill("Am E"),)), Desk(folder, "Robin"), **more)


class AtHome:
    """A foot at home. `row` chooses the row that begins with some words."""

    def __init__(self, house: House) -> None:
        self.usher = Usher(house, HeardStream())
        self.now_s = 0.0
        self.usher.open(0.0)

    def gives(self, control: Control) -> None:
        self.now_s += 1.0
        self.usher._happen(Pressed(self.now_s, self.now_s, "foot"))
        self.usher._happen(Given(self.now_s, self.now_s, self.now_s, control, "foot"))

    @property
    def title(self) -> str:
        return self.usher.walk.leaf.title

    @property
    def rows(self) -> list[str]:
        return [row.words for row in self.usher.walk.leaf.rows]

    def row(self, words: str) -> None:
        while not self.rows[self.usher.walk.marker].startswith(words):
            self.gives(Control.PASS_)
        self.gives(Control.PAUSE)


@pytest.mark.parametrize(
    ("row", "setting", "kept", "said"),
    [
        ("Left-handed", "left_handed", True, "Left-handed: yes"),
        ("Boxes", "boxes", "between", "Boxes while you play: no"),
        ("Answers", "answer_style", "count", "Answers: asked, misses counted"),
    ],
)
def test_a_row_changes_its_value_where_it_stands_and_it_is_kept_at_once(tmp_path, row, setting, kept, said):
    home = AtHome(House(options_for(tmp_path)))
    home.row("Set up")
    home.row(row)
    assert said in home.rows
    assert getattr(preferences.load(tmp_path), setting) == kept
    assert home.title == "Set up"


def test_what_was_set_up_holds_for_the_next_session(tmp_path):
    house = House(options_for(tmp_path))
    home = AtHome(house)
    home.row("Set up")
    home.row("Left-handed")
    home.row("Answers")
    assert (house.usual.answer_style, house.usual.counts_misses) == (AnswerStyle.ASK, True)
    home.row("Answers")
    home.row("Boxes")
    assert (house.usual.answer_style, house.usual.counts_misses) == (AnswerStyle.SPEAK_UP, False)
    assert house.options.left_handed
    assert not house.options.boxes_in_take


def test_the_volume_is_heard_at_each_step(tmp_path):
    house = House(options_for(tmp_path))
    home = AtHome(house)
    home.row("Set up")
    home.row("Sound")
    home.row("Louder")
    assert home.title == "Sound: 50 %"
    home.gives(Control.PAUSE)
    assert preferences.load(tmp_path).volume == house.options.volume == 0.6
    assert [volume for volume, _, _ in home.usher.stream.was_set] == [0.5, 0.6]
    assert home.usher.stream.sounds.count(Sound.BEAT) == 2
    home.row("Sounds for answers")
    assert home.usher.stream.was_set[-1] == (0.6, False, None)
    assert home.usher.stream.sounds.count(Sound.BEAT) == 2


@pytest.mark.parametrize(("way", "ends_at"), [("+", 1.0), ("-", 0.0)])
def test_the_volume_stops_at_its_ends(tmp_path, way, ends_at):
    house = House(options_for(tmp_path))
    for _ in range(20):
        set_up.volume(house, way)
    assert house.options.volume == ends_at


def test_a_delay_of_nothing_is_the_one_the_program_reckons_with(tmp_path):
    house = House(options_for(tmp_path))
    assert set_up.change_delay(house, "+") == "20 ms"
    assert house.options.sound.delay_s == pytest.approx(0.02)
    assert set_up.change_delay(house, "-") == "the usual"
    assert house.options.sound.delay_s is None
    assert preferences.load(tmp_path).sound_delay_ms == 0.0


def test_the_delay_that_a_sound_check_heard_is_offered_for_the_device_it_was_heard_of(tmp_path):
    home = AtHome(House(options_for(tmp_path)))
    house = home.usher.house
    house.sounds_on, house.sound_check = lambda: ("Lamp", 0.021), ("Lamp", 0.1643)
    for row in ("Set up", "Sound", "Device", "Sound delay", "By microphone: 164 ms"):
        home.row(row)
    assert preferences.load(tmp_path).sound_delays == {"Lamp": 164.0}
    assert home.title == "Sound delay: 164 ms"
    house.sound_check = ("Shed", 0.2)
    home.row("Later")
    assert not [row for row in home.rows if row.startswith("By microphone")]


def test_the_screen_leads_to_the_distance_and_that_back_to_what_is_set_up(tmp_path):
    house = House(options_for(tmp_path))
    home = AtHome(house)
    home.row("Set up")
    home.row("Screen")
    home.row("24 in")
    assert home.title == "From eye to screen"
    home.row("3 m")
    assert "Screen: 24 in, 3 m away" in home.rows
    assert (house.options.sight.screen_inches, house.options.sight.distance_m) == (24.0, 3.0)
    home.gives(Control.FAIL)
    assert home.title == "What now?", "no goes back from what is set up to home, not to the list before"


def test_another_tuning_brings_its_own_shapes(tmp_path):
    house = House(options_for(tmp_path))
    home = AtHome(house)
    home.row("Set up")
    home.row("Tuning")
    home.row("D A D G B E")
    assert "Tuning: D A D G B E" in home.rows
    assert house.options.desk.shapes.find("Em") is None


def test_another_player_plays_from_then_on_and_is_remembered(tmp_path):
    options = options_for(tmp_path)
    with Log.open(tmp_path) as log:
        for name in ("Kim", "Robin"):
            desk = Desk(tmp_path, name)
            played = Options(
                Settings(options.settings.drills, minutes=0.5), desk, made_up=MadeUpPlayer(90, 1)
            )
            fast.rehearse(played, log)
    house = House(options)
    home = AtHome(house)
    home.row("Another player")
    home.row("Kim")
    assert house.options.desk.player == preferences.load(tmp_path).player == "Kim"
    assert home.title == "What now?"
    assert home.usher.walk.trail == ()
    home.row("Another player")
    home.row("Somebody new: player 2")
    assert house.options.desk.player == "player 2"


def test_a_name_is_written_by_foot(tmp_path):
    house = House(options_for(tmp_path))
    home = AtHome(house)
    home.row("Another player")
    home.row("Somebody new, by name")
    for group, letter in (("H to N", "J"), ("O to U", "O"), ("V to Z", "V")):
        home.row(group)
        home.row(letter)
    home.row("Take the last letter away")
    assert home.title == "Jo"
    home.row("Done: Jo")
    assert house.options.desk.player == preferences.load(tmp_path).player == "Jo"


def test_settings_that_cannot_be_kept_are_told_of_and_change_nothing(tmp_path):
    (tmp_path / preferences.FILE_NAME).write_text("volume = loud\n")
    house = House(options_for(tmp_path))
    with pytest.raises(InputError, match="line 1"):
        DEEDS["set"](house, "left_handed yes")
    assert not house.options.left_handed
    home = AtHome(house)
    home.usher._run(Errand(Verb.DO, "set", "left_handed yes"))
    assert home.title == "That did not work"


def test_a_log_that_cannot_be_read_is_told_of_on_the_page_of_players(tmp_path):
    (tmp_path / "log.sqlite3").write_text("no log")
    assert page_of(House(options_for(tmp_path)), Errand(Verb.TURN, "players")).title == "That did not work"


def test_soft_chords_in_the_backing_are_chosen_by_foot_and_heard_from_then_on(tmp_path):
    house = House(Options(Settings(drills=(parse_drill("Am E"),)), Desk(tmp_path, "Robin")))
    assert not any(
        row.words.startswith("Soft chords") for row in page_of(house, Errand(Verb.TURN, "sound")).rows
    )
    DEEDS["set"](house, "backing waltz")
    (row,) = [
        row for row in page_of(house, Errand(Verb.TURN, "sound")).rows if row.words == "Soft chords in it: no"
    ]
    DEEDS["set"](house, row.errand.value)
    assert house.options.backing == Backing(Feel.WALTZ, 0.6, pad=True)
    assert preferences.load(tmp_path).backing_pad
    assert any(
        row.words == "Soft chords in it: yes" for row in page_of(house, Errand(Verb.TURN, "sound")).rows
    )


def test_the_ear_is_turned_on_by_foot_and_stays_so(tmp_path):
    house = House(Options(Settings(drills=(parse_drill("Am E"),)), Desk(tmp_path, "Robin")))
    for said, kept, listens, answers in (
        ("Ear: off", "tells", True, False),
        ("Ear: tells what it hears", "answers", True, True),
        ("Ear: answers what it is sure of", "off", False, False),
    ):
        (row,) = [row for row in page_of(house, Errand(Verb.TURN, "ear")).rows if row.words == said]
        DEEDS["set"](house, row.errand.value)
        assert preferences.load(tmp_path).ear == kept
        assert (house.usual.ear, house.usual.ear_answers) == (listens, answers)


def test_what_the_ear_listens_to_is_chosen_by_foot_microphones_first_then_midi_guitars(tmp_path, monkeypatch):
    monkeypatch.setattr(set_up, "input_names", lambda: ["Built-in"])
    house = House(options_for(tmp_path))
    house.midi_inputs = lambda: ("Six:out", "Foot")
    home = AtHome(house)
    for row in ("Set up", "Ear", "By"):
        home.row(row)
    assert home.rows == [
        "the system's microphone", "Built-in", "MIDI guitar: Six:out", "MIDI guitar: Foot", "Back",
    ]  # fmt: skip
    home.row("MIDI guitar: Six")
    assert home.rows[1] == "By: MIDI guitar: Six:out"
    assert preferences.load(tmp_path).ear_input == house.options.ear_input == "MIDI guitar: Six:out"
    home.row("By")
    assert home.rows[home.usher.walk.marker] == "MIDI guitar: Six:out"
    home.row("the system's")
    assert preferences.load(tmp_path).ear_input == ""


@pytest.mark.parametrize(
    ("kept", "typed", "ear"),
    [
        ("off", [], "off"),
        ("tells", [], "tells"),
        ("answers", ["--judge", "foot"], "off"),
        ("answers", ["--ear"], "tells"),
        ("off", ["--judge", "ear"], "answers"),
        ("off", ["--ear", "USB", "--judge", "foot"], "tells"),
    ],
)
def test_what_is_typed_of_the_ear_holds_over_what_is_remembered(kept, typed, ear, tmp_path):
    preferences.save(tmp_path, replace(preferences.load(tmp_path), ear=kept, ear_input="mic"))
    desk = Desk(tmp_path, "Robin")
    words = cli.parser().parse_args(["play", "--data", str(tmp_path), *typed])
    options = stage_options(words, desk)
    assert ear_of(options.settings) == ear
    assert options.ear_input == ("USB" if "USB" in typed else "mic")
    assert ear_of(stage_options(words, desk, first_pages=False).settings) == "off"
