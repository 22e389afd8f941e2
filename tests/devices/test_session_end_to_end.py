"""A real session from the command to its end: a real window, real sound, a pedal on a real MIDI port."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import ExitStack
from datetime import date
from fractions import Fraction

import numpy as np
import pytest

from pedaltrainer import cli
from pedaltrainer.commands import options
from pedaltrainer.commands.whose import desk_of
from pedaltrainer.live.ending import ENDING
from pedaltrainer.pedals.bindings import KEYBOARD, Bindings, default_bindings
from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.taught.files import read_binding
from pedaltrainer.pedals.ways import Said, said
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.screen.fit import Zone
from pedaltrainer.screen.view import Sight, StageView
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.events import InputLost
from pedaltrainer.session.state import Phase
from pedaltrainer.showing.kept import taken_in_words
from pedaltrainer.showing.view_of import ONE_FOOT, Surroundings, present
from pedaltrainer.songs import shelf
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.timing.stream import NO_DEVICE
from tests.devices.jack import ROOT, wait_until
from tests.devices.window import ACKNOWLEDGED_S, RealSession
from tests.session.playing import Playing, settings

START_BPM, LANDINGS, COUNT_IN = 200, 4, 4
STEPS = ("--ladder", "steps")
WORDS = ("play", "Am E", "--windowed", *STEPS, "--start", START_BPM, "--landings", LANDINGS)
NO_MIDI = {"MIDO_BACKEND": "none.such"}
DOUBLE = ("b0 40 7f", "@0.06", "b0 40 00", "@0.1", "b0 40 7f", "@0.06", "b0 40 00")
HOLD = ("b0 40 7f", "@0.75", "b0 40 00")
FINISHES = ("key", "q", "sleep", 0.5, "key", "Right", "sleep", 0.5)
"""Asks to finish, and says yes."""
CLOSES = ("key", "Right", "sleep", 0.5, "key", "n")
"""From the summary to the list at the end, and takes its first row."""


SPACE = said(default_bindings(), KEYBOARD, "key space")
"""The foot of a stage without a pedal."""


def ready_view(
    notices: tuple[str, ...] = (),
    input_name: str = "",
    start_bpm: int = START_BPM,
    style: AnswerStyle = AnswerStyle.ASK,
    feet: Said | None = None,
) -> StageView:
    state = Playing(settings("Am E", style=style, starts_bpm=(start_bpm,), landings=LANDINGS)).state
    feet = feet or (ONE_FOOT if input_name else SPACE)
    return present(state, 0.0, Surroundings(shape_book(), input_name=input_name, said=feet, notices=notices))


def paused_view(lost_input: str) -> StageView:
    """The stage after a pedal has gone, once what was acknowledged has faded."""
    play = Playing(settings("Am E", starts_bpm=(START_BPM,), landings=LANDINGS))
    play.begin_take()
    play.happen(InputLost(play.now_s, lost_input))
    return present(play.state, play.now_s + 60, Surroundings(shape_book(), said=SPACE))


def wait_for_landings(session: RealSession, landings: int) -> None:
    """Begin a take with the space bar, and let so many landings sound."""
    session.keys("keydown", "space", "sleep", 0.05, "keyup", "space")
    assert wait_until(lambda: session.recording.frames > 0, within_s=20)
    wanted = COUNT_IN + 2 * landings
    assert wait_until(lambda: len(session.recording.onsets()) >= wanted, within_s=20)


def track_zone(size: tuple[int, int]) -> Zone:
    """Where the plank moves, at this size, while a take is on."""
    play = Playing(settings("Am E", starts_bpm=(START_BPM,), landings=LANDINGS))
    run = play.begin_take()
    view = present(play.state, run.beat_s(1), Surroundings(shape_book()))
    return layout_of(view, size, Sight()).zones["track"]


def clicks(start: int, tempo_bpm: int) -> list[int]:
    """Where a take's clicks belong: every beat, and the lift half a beat before each landing.

    The whole-number form of round(start + k * 60 * 48000 / b); the tempos used here have no ties.
    """
    lifts = [Fraction(2 * (COUNT_IN + landing) - 1, 2) for landing in range(LANDINGS)]
    beats = [Fraction(beat) for beat in range(COUNT_IN + LANDINGS)]
    return sorted(start + round(beat * 60 * 48_000 / tempo_bpm) for beat in beats + lifts)


def wait_for_the_question(session: RealSession, track: Zone, takes_played: int) -> None:
    """The plank moves while the take sounds; once it has sounded to its end the track is still."""
    assert wait_until(lambda: len(session.recording.takes()) >= takes_played, within_s=20)
    session.wait_for_movement(track)
    whole = COUNT_IN + 2 * LANDINGS
    assert wait_until(lambda: len(session.recording.takes()[takes_played - 1]) >= whole, within_s=20)
    session.wait_for_stillness(track)


def test_a_whole_session_by_foot_alone(screen, steady_pedal, tmp_path):
    words = (*WORDS, "--input", steady_pedal.client, "--no-answer-sounds")
    with RealSession(screen, tmp_path / "data", *words) as session:
        session.find_window()
        assert session.shows(ready_view(input_name=steady_pedal.name))
        track = track_zone(session.size)

        before = session.picture().copy()
        steady_pedal.press()
        assert wait_until(lambda: not np.array_equal(session.picture(), before), ACKNOWLEDGED_S)
        steady_pedal.send("@0.05", "b0 40 00")
        wait_for_the_question(session, track, takes_played=1)
        steady_pedal.tap()
        session.wait_for_takes(1)

        wait_for_the_question(session, track, takes_played=2)
        steady_pedal.send(*DOUBLE)
        session.wait_for_takes(2)
        steady_pedal.send(*HOLD, "@0.5", *HOLD)  # in the breath: the menu, taken back, and asked again
        assert wait_until(lambda: session.takes()[1].cancelled)
        session.wait_for_stillness()
        steady_pedal.tap()
        session.wait_for_takes(3)

        # Two beats of the take have sounded: the foot holds, which means pause.
        cut_short = COUNT_IN + 3
        assert wait_until(lambda: len(session.recording.takes()) == 3, within_s=20)
        assert wait_until(lambda: len(session.recording.takes()[2]) >= cut_short, within_s=20)
        steady_pedal.press()
        session.wait_for_takes(4)
        steady_pedal.send("b0 40 00", "@0.5")
        for _ in (Choice.UNDO, Choice.CHANGE, Choice.NOTE, Choice.FINISH):
            steady_pedal.tap()
            steady_pedal.send("@0.2")
        steady_pedal.send(*HOLD, "@0.5")  # asked
        for _ in ("yes", "from the summary to the list"):
            steady_pedal.tap()
            steady_pedal.send("@0.5")
        steady_pedal.send(*HOLD)  # close
        code, _, err = session.wait_for_end()
    assert code == 0, err
    takes = session.takes()
    assert [(t.tempo_bpm, t.outcome, t.judge, t.cancelled) for t in takes] == [
        (200, "pass", "foot", False),
        (208, "fail", "foot", True),
        (208, "pass", "foot", False),
        (216, "void", "interrupted", False),
    ]
    heard = session.recording.takes()
    assert len(heard) == 3
    for onsets, tempo_bpm in zip(heard, (200, 208, 216), strict=True):
        belong = clicks(int(onsets[0]), tempo_bpm)
        assert onsets.tolist() == belong[: len(onsets)]
        assert len(onsets) == len(belong) or tempo_bpm == 216


def test_without_midi_and_without_sound_the_keys_play_and_the_stage_says_so(screen, tmp_path):
    silent = NO_MIDI | {"SDL_AUDIODRIVER": "nosuch"}
    with RealSession(screen, tmp_path / "data", *WORDS, **silent) as session:
        session.find_window()
        assert session.shows(ready_view(notices=(NO_DEVICE,)))
        track = track_zone(session.size)
        session.keys("keydown", "space", "sleep", 0.05, "keyup", "space")
        session.wait_for_movement(track)
        session.wait_for_stillness(track)
        session.keys("key", "Right")
        (take,) = session.wait_for_takes(1)
        session.keys(*FINISHES, *CLOSES)
        code, _, err = session.wait_for_end()
    assert code == 0, err
    assert (take.tempo_bpm, take.outcome, take.judge) == (200, "pass", "key")


def test_speaking_up_ends_the_take_and_keeps_the_landing_and_the_raw_moment_of_the_press(
    screen, steady_pedal, tmp_path
):
    words = ("play", "Am E", "--windowed", *STEPS, "--start", 60, "--landings", LANDINGS)
    input_ = ("--answer", "speak-up", "--input", steady_pedal.client, "--no-answer-sounds")
    with RealSession(screen, tmp_path / "data", *words, *input_) as session:
        session.find_window()
        assert session.shows(
            ready_view(input_name=steady_pedal.name, start_bpm=60, style=AnswerStyle.SPEAK_UP)
        )
        steady_pedal.tap()
        onset = session.recording.first_onset()
        # The second landing is on beat 5 after the first click. With 250 ms off for the reaction, a
        # press 0.75 beats later is half a second away from counting for another landing.
        session.recording.wait_for(round(onset + (COUNT_IN + 1 + 0.75) * 48_000) + 1024)
        before_s = time.perf_counter()
        steady_pedal.tap()
        (take,) = session.wait_for_takes(1)
        after_s = time.perf_counter()
        # Past where the take's last click would have been, and before the first of the next count-in.
        session.recording.wait_for(onset + round((COUNT_IN + LANDINGS - 0.7) * 48_000))
        session.keys(*FINISHES, *CLOSES)
        code, _, err = session.wait_for_end()
    assert code == 0, err
    assert (take.outcome, take.first_miss, take.judge) == ("fail", 2, "foot")
    # Both processes read the same clock.
    assert take.pressed_s is not None
    assert before_s <= take.pressed_s <= after_s
    assert take.heard_press_s is not None
    heard = session.recording.takes()[0]
    belong = clicks(int(heard[0]), 60)
    assert heard.tolist() == belong[: len(heard)]
    assert len(heard) < len(belong), "the click went on after the miss"


def test_a_pedal_that_is_pulled_out_mid_take_voids_it_and_the_keys_go_on(screen, steady_pedal, tmp_path):
    words = (*WORDS[:-1], 8, "--input", steady_pedal.client, "--no-answer-sounds")
    with RealSession(screen, tmp_path / "data", *words) as session:
        session.find_window()
        track = track_zone(session.size)
        wait_for_landings(session, 2)
        steady_pedal.leave()
        (void,) = session.wait_for_takes(1)
        assert (void.tempo_bpm, void.outcome, void.judge) == (200, "void", "pedal lost")
        paused = paused_view(steady_pedal.name)
        assert steady_pedal.name in paused.notices[0]
        assert session.shows(paused)

        session.keys("key", "n")  # go back to playing: counted in afresh, at the same tempo
        session.wait_for_movement(track)
        assert wait_until(lambda: len(session.recording.takes()) == 2, within_s=20)
        whole = COUNT_IN + 2 * 8
        assert wait_until(lambda: len(session.recording.takes()[1]) >= whole, within_s=20)
        session.wait_for_stillness(track)
        session.keys("key", "Right")
        _, played = session.wait_for_takes(2)
        session.keys(*FINISHES, *CLOSES)
        code, _, err = session.wait_for_end()
    assert code == 0, err
    assert (played.tempo_bpm, played.outcome, played.judge) == (200, "pass", "key")


def test_closing_the_window_mid_take_voids_the_take_and_ends_well(screen, tmp_path):
    with RealSession(screen, tmp_path / "data", *WORDS[:-1], 16, **NO_MIDI) as session:
        session.find_window()
        wait_for_landings(session, 2)
        session.close_window()
        code, _, err = session.wait_for_end()
    assert (code, err) == (0, "")
    (take,) = session.takes()
    assert (take.tempo_bpm, take.outcome, take.judge) == (200, "void", "interrupted")


@pytest.mark.usefixtures("as_at_a_terminal")
@pytest.mark.parametrize("number", ENDING)
def test_a_signal_mid_take_voids_the_take_and_ends_as_closing_the_window_does(screen, tmp_path, number):
    with RealSession(screen, tmp_path / "data", *WORDS[:-1], 16, **NO_MIDI) as session:
        session.find_window()
        wait_for_landings(session, 2)
        session.signal(number)
        code, out, err = session.wait_for_end()
    assert (code, err) == (0, "")
    assert out == "No take was answered.\n"
    (take,) = session.takes()
    assert (take.tempo_bpm, take.outcome, take.judge) == (200, "void", "interrupted")


def test_a_take_that_a_locked_log_refused_at_the_end_goes_in_at_the_next_start(screen, tmp_path):
    folder = tmp_path / "data"
    with RealSession(screen, folder, *WORDS[:-1], 16, **NO_MIDI) as session:
        session.find_window()
        wait_for_landings(session, 2)
        other_program = sqlite3.connect(folder / "log.sqlite3", isolation_level=None)
        other_program.execute("BEGIN IMMEDIATE")
        session.signal(signal.SIGTERM)
        code, _, err = session.wait_for_end()
        other_program.close()
    assert code == 2
    (kept,) = folder.glob("kept-aside-*")
    assert str(kept) in err
    assert session.takes() == []
    with RealSession(screen, folder, *WORDS, **NO_MIDI) as session:
        session.find_window()
        assert session.shows(ready_view((taken_in_words(1),)))
        session.close_window()
        assert session.wait_for_end()[::2] == (0, "")
    (take,) = session.takes()
    assert (take.outcome, take.judge) == ("void", "interrupted")
    assert list(folder.glob("kept-aside-*")) == []


def test_rehearsals_in_real_time_come_out_as_on_a_simulated_clock(screen, tmp_path):
    """With this seed a pass, a miss and a pass, each more than a second clear of the limit of time.

    Both answer styles side by side, each in a window of its own.
    """
    take = ("rehearse", "Am E", *STEPS, "--start", 280, "--landings", LANDINGS)
    player = ("--skill", 270, "--seed", 10, "--json")
    words = {
        style: (*take, *player, "--answer", style, "--minutes", minutes)
        for style, minutes in ((AnswerStyle.ASK, 0.15), (AnswerStyle.SPEAK_UP, 0.125))
    }
    with ExitStack() as stack:
        real = {
            style: stack.enter_context(RealSession(screen, tmp_path / style, *asked, "--windowed", **NO_MIDI))
            for style, asked in words.items()
        }
        fast = {}
        for style, asked in words.items():
            command = [*map(str, asked), "--fast", "--data", tmp_path / f"fast {style}"]
            fast[style] = subprocess.run(
                [sys.executable, "-m", "pedaltrainer", *command],
                cwd=ROOT,
                capture_output=True,
                text=True,
                check=True,
            )
        for style, session in real.items():
            code, out, err = session.wait_for_end()
            assert code == 0, err
            folder = tmp_path / f"fast {style}"
            with Log.open(folder, read_only=True) as log:
                simulated = log.takes(newest_first=False, include_cancelled=True)
            assert told(session.takes()) == told(simulated)
            assert [take.outcome for take in simulated] == ["pass", "fail", "pass"]
            assert [take.first_miss is not None for take in simulated] == [False, style == "speak-up", False]
            assert out == fast[style].stdout


def told(takes: list[TakeRow]) -> list[tuple[str, float, str, int | None, str]]:
    """What two logs of one rehearsal must agree on."""
    return [(take.drill, take.tempo_bpm, take.outcome, take.first_miss, take.judge) for take in takes]


def test_a_session_outlives_its_midi_server(screen, mortal_server, tmp_path):
    """Without a pedal: the library's own client is the only one that the dead server leaves behind."""
    with RealSession(screen, tmp_path / "data", *WORDS) as session:
        session.find_window()
        assert session.shows(ready_view())
        mortal_server.kill()
        time.sleep(3)  # longer than it takes the watcher to find the server gone, and to look for it again
        session.keys(*FINISHES)  # nothing was answered: to the door
        code, _, err = session.wait_for_end()
    assert code == 0, err


def test_two_switches_answer_at_once_by_a_preset_copied_for_the_pedal(screen, steady_pedal, tmp_path):
    preset = (ROOT / "configs" / "pedals" / "two_switches_by_controller.toml").read_text(encoding="utf-8")
    own = tmp_path / "data" / "pedals" / "mine.toml"
    own.parent.mkdir(parents=True)
    own.write_text(f'device = "{steady_pedal.name}"\n{preset}', encoding="utf-8")
    first, second = (row.name.split()[1] for row in read_binding(own).switches)
    down_up = {number: f"b0 {int(number):02x}" for number in (first, second)}
    press = {number: (f"{start} 7f", "@0.06", f"{start} 00") for number, start in down_up.items()}
    words = (*WORDS, "--input", steady_pedal.client, "--no-answer-sounds")
    with RealSession(screen, tmp_path / "data", *words) as session:
        session.find_window()
        two = said(Bindings(read_binding(own).rules("")), steady_pedal.name)
        assert session.shows(ready_view(input_name=steady_pedal.name, feet=two))
        track = track_zone(session.size)
        steady_pedal.send(*press[first])
        wait_for_the_question(session, track, takes_played=1)
        steady_pedal.send(*press[second])
        session.wait_for_takes(1)
        session.keys(*FINISHES, *CLOSES)
        code, _, err = session.wait_for_end()
    assert code == 0, err
    assert [(take.outcome, take.judge) for take in session.takes()] == [("fail", "foot")]


def test_with_a_song_on_the_shelf_the_day_begins_with_its_plan_and_the_foot_skips_through_it(
    screen, tmp_path
):
    """No pedal here: the space bar is held and tapped like one."""
    folder = tmp_path / "data"
    chart = tmp_path / "low water.chart"
    chart.write_text("title: Low Water\ntempo: 84\n\n| Am / / / | F / C / | G / / / | Am / / / |\n")
    shelf.add(folder, chart, date.today())
    broken = folder / "songs" / "broken.chart"
    broken.write_text("| Q |", encoding="utf-8")
    words = ("play", "--windowed", "--minutes", 5)
    hold = ("keydown", "space", "sleep", 0.75, "keyup", "space", "sleep", 0.25)
    with RealSession(screen, folder, *words, **NO_MIDI) as session:
        session.find_window()
        asked = cli.parser().parse_args([*map(str, words), "--data", str(folder)])
        chosen = options.session_options(asked, desk_of(asked))
        begun, around = (
            Playing(chosen.settings),
            Surroundings(chosen.desk.shapes, said=SPACE, at_first=chosen.notices),
        )
        assert str(broken) in chosen.notices[0]
        assert begun.state.phase is Phase.PLAN
        assert session.shows(present(begun.state, 0.0, around))
        session.keys("key", "space")
        begun.give(Control.PASS_)
        assert session.shows(present(begun.state, 0.0, around))
        drills = len(begun.state.settings.drills)
        assert drills > 1
        for _ in range(drills - 1):
            session.keys(*hold, *hold)  # the menu, at the next drill
        session.wait_for_stillness()
        session.keys(*FINISHES)  # nothing was answered: to the door
        code, _, err = session.wait_for_end()
    assert code == 0, err
    assert f"pedaltrainer: {chosen.notices[0]}\n" in err
    assert session.takes() == []
