"""Tapping along where foot, log and home meet: a delay found and kept, a foot's steadiness with its day."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedaltrainer import cli
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import read_known
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.history.tapped import foot_trials
from pedaltrainer.live import sounding
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.home import tapping
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS
from pedaltrainer.live.options import Options
from pedaltrainer.live.tap_along import TapAlong, open_tapping
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records import preferences
from pedaltrainer.records.log import Log
from pedaltrainer.screen.view import PageView, PlayView, Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.events import Due, Given, Pressed, Shut, SoundStumbled
from pedaltrainer.session.piece import PiecePhase
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import Aim, TapSettings, tap_replay
from pedaltrainer.showing.home.tapping_along import steady_words
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.timing.sound_device import SoundWish

LATENCY_S = 0.02


class LateStream(SimulatedStream):
    """Reckoned to be heard 20 ms after it is handed over."""

    latency_s = LATENCY_S
    name = "Lamp"
    silent = False

    def __init__(self) -> None:
        super().__init__()
        self.delays_s: list[float | None] = []

    def set_as(self, volume, acks, sound_delay_s, backing_level=1.0) -> None:
        self.delays_s.append(sound_delay_s)


@pytest.fixture
def house(tmp_path: Path) -> House:
    made = House(Options(Settings(drills=(parse_drill("Am E"),)), Desk(tmp_path, "Robin")))
    made.sounds_on = lambda: ("Lamp", LATENCY_S)
    return made


def say(trial: TapAlong, heard_s: float, control: Control) -> None:
    trial._happen(Given(heard_s, heard_s, heard_s, control, "foot"))


def tapped(house: House, log: Log, aim: str, late_s: float, spread_s: float = 0.0) -> TapAlong:
    """A trial tapped to its end, every tap so late, in turn earlier and later by the spread."""
    trial = open_tapping(log, house.options.desk, tapping.begin(house, aim), LateStream(), house_foot(), 0.0)
    trial.open(0.0)
    say(trial, 1.0, Control.PASS_)
    for number, beat_s in enumerate(trial.state.beats_s):
        tap_s = beat_s + late_s + (spread_s if number % 2 else -spread_s)
        trial._happen(Pressed(tap_s, tap_s, "foot"))
        say(trial, tap_s + 0.3, Control.PASS_)
    trial._happen(Due(trial.due_s))
    assert trial.closed
    trial.finish()
    house.tapped = trial.state
    return trial


def house_foot() -> Foot:

    return Foot()


def test_headphones_that_are_late_are_found_by_foot_and_kept_for_that_device_alone(house, tmp_path):
    with Log.open(tmp_path) as log:
        tapped(house, log, "delay", late_s=0.16 - 0.035)
    leaf = tapping.sound_tapped(house, "")
    assert leaf.title == "180 ms late, give or take 49"
    assert [row.words for row in leaf.rows[:3]] == ["Take 180 ms", "Tap once more", "Keep 20 ms"]
    errand = leaf.rows[0].errand
    DEEDS[errand.to](house, errand.value)
    assert preferences.load(tmp_path).sound_delays == {"Lamp": 180.0}
    assert house.options.sound.delay_of("Lamp") == pytest.approx(0.18)
    assert house.options.sound.delay_of("Shed") is None


def test_a_sound_that_is_as_reckoned_is_left_as_it_is(house, tmp_path):
    with Log.open(tmp_path) as log:
        tapped(house, log, "delay", late_s=-0.035)
    assert tapping.sound_tapped(house, "").rows[0].words == "Keep 20 ms"


def test_a_trial_for_the_sound_is_not_kept_and_one_of_the_foot_is_with_its_day(house, tmp_path, capsys):
    with Log.open(tmp_path) as log:
        tapped(house, log, "delay", late_s=0.0)
        trial = tapped(house, log, "foot", late_s=-0.03, spread_s=0.02)
        (row,) = log.sessions("Robin", limit=10)
        inputs = list(log.inputs(row.id))
        assert told_otherwise(row, inputs, []) is None
        assert tap_replay(trial.state.settings, inputs) == trial.state
    (found,) = foot_trials(house.options.desk)
    assert found.found.taps == 13
    assert found.found.mean_ms == pytest.approx(-28.5, abs=0.1)
    assert found.found.sd_ms == pytest.approx(20.8, abs=0.1)
    assert steady_words(found.found) == "28 ms early (16 to 41), spread 21 (15 to 34)"
    assert steady_words(found.found) in tapping.foot(house, "").lines[0]
    assert cli.main(["progress", "--data", str(tmp_path), "--player", "Robin"]) == 0
    assert steady_words(found.found) in capsys.readouterr().out
    assert read_known(house.options.desk).last_drills == ()


def test_a_hold_stops_a_trial_and_nothing_is_made_of_it(house, tmp_path):
    with Log.open(tmp_path) as log:
        trial = open_tapping(log, house.options.desk, TapSettings("foot", 0.0), LateStream(), house_foot(), 0)
        trial.open(0.0)
        say(trial, 1.0, Control.PASS_)
        say(trial, 9.0, Control.PAUSE)
        assert (trial.closed, trial.state.whole) == (True, False)
        trial.finish()
    assert foot_trials(house.options.desk) == ()


@pytest.mark.parametrize("event", [SoundStumbled(8.0, 7.9), Shut(8.0)])
def test_a_sound_that_breaks_and_a_window_that_is_closed_end_a_trial(house, tmp_path, event):
    with Log.open(tmp_path) as log:
        trial = open_tapping(
            log, house.options.desk, TapSettings("delay", 0.0), LateStream(), house_foot(), 0
        )
        trial.open(0.0)
        say(trial, 1.0, Control.PASS_)
        trial._happen(event)
    assert (trial.state.phase, trial.state.whole) == (PiecePhase.OVER, False)
    assert trial.state.stumbled == isinstance(event, SoundStumbled)
    house.tapped = trial.state
    if trial.state.stumbled:
        assert tapping.sound_tapped(house, "").title == "The sound stumbled"


def test_no_other_sound_takes_the_place_of_the_one_that_a_trial_was_opened_with(house, tmp_path, monkeypatch):
    """Its lateness is in the settings from the opening on, before the first click already."""
    another = LateStream()
    monkeypatch.setattr(sounding, "device_names", lambda: ("Lamp", "Shed"))
    monkeypatch.setattr(sounding, "open_as_wished", lambda options, start_s: (another, None))
    options = replace(house.options, sound=SoundWish("Shed"))
    with Log.open(tmp_path) as log:
        trial = open_tapping(log, options.desk, tapping.begin(house, "foot"), LateStream(), house_foot(), 0.0)
        trial.open(0.0)
        looking = sounding.Sounding()
        for t_s in (1.0, 5.0, 9.0):
            looking.look_after(trial, options, t_s)
        assert trial.stream is not another
        say(trial, 10.0, Control.PAUSE)
        looking.look_after(trial, options, 20.0)
    assert trial.stream is another


def test_nothing_moves_on_the_stage_while_the_foot_finds_the_sound(house, tmp_path):
    around = Surroundings(house.options.desk.shapes)
    with Log.open(tmp_path) as log:
        trial = open_tapping(
            log, house.options.desk, TapSettings("delay", 0.0), LateStream(), house_foot(), 0
        )
        trial.open(0.0)
        say(trial, 1.0, Control.PASS_)
        views = [trial.view(4.0 + 0.1 * step, around) for step in range(40)]
    assert isinstance(views[0], PageView)
    assert set(views) == {views[0]}


def test_by_eye_the_plank_is_shifted_at_once_until_it_lands_with_the_click(house, tmp_path):
    around = Surroundings(house.options.desk.shapes)
    with Log.open(tmp_path) as log:
        trial = open_tapping(
            log, house.options.desk, tapping.begin(house, "eye"), LateStream(), house_foot(), 0
        )
        shifts: list[float] = []
        trial.shift_sound = shifts.append
        trial.open(0.0)
        say(trial, 1.0, Control.PASS_)
        for control in (Control.PASS_, Control.PASS_, Control.PASS_, Control.FAIL):
            say(trial, 5.0, control)
        view = trial.view(trial.state.beats_s[2], around)
        assert isinstance(view, PlayView)
        assert view.plank.height == pytest.approx(0.0, abs=0.001)
        say(trial, 9.0, Control.PAUSE)
    assert shifts == pytest.approx([0.03, 0.04, 0.05, 0.04])
    house.tapped = trial.state
    leaf = tapping.sound_tapped(house, "")
    assert leaf.title == "40 ms late"
    DEEDS[leaf.rows[0].errand.to](house, leaf.rows[0].errand.value)
    assert preferences.load(tmp_path).sound_delays == {"Lamp": 40.0}
    assert trial.state.settings.aim == Aim.EYE


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
@pytest.mark.parametrize("aim", Aim)
def test_what_the_stage_shows_is_read_from_two_metres(house, tmp_path, aim, size):
    around = Surroundings(house.options.desk.shapes)
    with Log.open(tmp_path) as log:
        trial = open_tapping(
            log, house.options.desk, tapping.begin(house, aim), LateStream(), house_foot(), 0
        )
        trial.open(0.0)
        before = trial.view(0.5, around)
        say(trial, 1.0, Control.PASS_)
        for view in (before, trial.view(4.0, around)):
            assert layout_of(view, size, Sight()).shortfalls == ()
