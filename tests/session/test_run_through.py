"""A run-through on the stage: it never stops for a miss, and no press is lost."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.run_through import SAME_MISS_S
from pedaltrainer.session.events import (
    Due,
    Event,
    Given,
    InputBack,
    InputLost,
    Opened,
    Pressed,
    Shut,
    SoundLost,
    SoundStumbled,
)
from pedaltrainer.session.piece import KeepPiece, PiecePhase, PlayPiece, StopPiece
from pedaltrainer.session.replay import event_to_json
from pedaltrainer.session.run_through import (
    Review,
    RunEffect,
    RunSettings,
    RunState,
    review_to_json,
    reviews_in,
    run_replay,
    run_settings_from_json,
    run_settings_to_json,
    run_step,
)

CHART = "title: Slack\ntempo: 120\nmetre: 4/4\n\n[Verse]\n| C | G | Am | F |\n"
YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE


class Running:
    """A run-through under way; presses arrive at the same raw time plus 1000 s."""

    def __init__(self, **more: object) -> None:
        self.state = RunState(RunSettings(CHART, **more))  # type: ignore[arg-type]
        self.now_s = 0.0
        self.events: list[Event] = []
        self.effects: list[RunEffect] = []
        self.happen(Opened(0.0))

    def happen(self, event: Event) -> None:
        self.events.append(event)
        self.state, effects = run_step(self.state, event)
        self.effects += effects

    def at(self, song_s: float) -> None:
        """Let time come to a second of the song."""
        self.until(self.state.start_s + self.state.settings.one_pass.counted_in_s + song_s)

    def until(self, heard_s: float) -> None:
        while self.state.due_s is not None and self.state.due_s <= heard_s:
            self.happen(Due(self.state.due_s))
        self.now_s = heard_s

    def tap(self, control: Control = YES, held_s: float = 0.1) -> None:
        self.happen(Pressed(self.now_s, self.now_s + 1000, "foot"))
        down_s = self.now_s
        self.until(self.now_s + held_s)
        self.happen(Given(self.now_s, down_s, down_s + 1000, control, "foot"))


def begun(**more: object) -> Running:
    running = Running(**more)
    running.now_s = 1.0
    running.tap()
    assert running.state.phase is PiecePhase.PLAYING
    return running


def test_it_waits_until_the_foot_says_so_and_leads_back_when_it_says_no():
    running = Running()
    running.until(60.0)
    assert running.state.phase is PiecePhase.READY
    running.tap(NO)
    assert running.state.phase is PiecePhase.OVER
    assert running.effects == []


def test_a_press_flags_the_bar_at_once_and_the_song_goes_on():
    running = begun()
    running.at(2.25)
    running.tap()
    assert running.state.flags == {1}
    assert running.state.phase is PiecePhase.PLAYING
    running.at(6.3)
    running.tap(NO)
    assert running.state.flags == {1, 3}
    running.at(20)
    assert running.state.phase is PiecePhase.OVER
    (played,) = running.state.passes
    assert played.whole
    assert played.marks == pytest.approx((2.25, 6.3))
    assert [type(effect) for effect in running.effects] == [PlayPiece, KeepPiece]


def test_presses_in_the_count_in_and_the_second_half_of_a_double_tap_are_no_further_misses():
    running = begun()
    running.at(-1.0)
    running.tap()
    running.at(2.0)
    running.tap()
    running.at(2.0 + SAME_MISS_S / 2 + 0.15)
    running.tap(NO)
    assert running.state.marks == pytest.approx((2.0,))


def test_a_hold_stops_and_the_press_that_it_began_with_is_no_mark():
    running = begun()
    running.at(2.25)
    running.tap()
    running.at(4.0)
    running.tap(STOP, held_s=0.6)
    assert running.state.phase is PiecePhase.OVER
    (played,) = running.state.passes
    assert not played.whole
    assert played.marks == pytest.approx((2.25,))
    assert played.until_s == pytest.approx(4.6)
    assert [type(effect) for effect in running.effects] == [PlayPiece, StopPiece, KeepPiece]


def test_stopped_in_the_count_in_nothing_was_played():
    running = begun()
    running.at(-2.0)
    running.tap(STOP, held_s=0.6)
    assert running.state.passes == ()
    assert running.state.phase is PiecePhase.OVER


def test_a_loop_goes_on_until_it_is_stopped_and_every_pass_is_kept():
    running = begun(loop=True)
    for _ in range(3):
        running.at(2.25)
        running.tap()
        running.until(running.state.due_s or 0.0)
        assert running.state.phase is PiecePhase.PLAYING
        assert running.state.marks == ()
    running.at(1.0)
    running.tap(STOP, held_s=0.6)
    assert [played.whole for played in running.state.passes] == [True, True, True, False]
    assert sum(isinstance(effect, KeepPiece) for effect in running.effects) == 4


def test_troubles_a_pedal_that_goes_does_not_stop_the_song_and_sound_that_goes_does():
    running = begun()
    running.at(1.0)
    running.happen(InputLost(running.now_s, "pedal"))
    assert running.state.lost_input == "pedal"
    running.happen(InputBack(running.now_s, "pedal"))
    assert running.state.lost_input is None
    assert running.state.phase is PiecePhase.PLAYING
    running.happen(SoundStumbled(running.now_s, running.now_s - 0.2))
    assert (running.state.phase, running.state.stumbles) == (PiecePhase.PLAYING, 1)
    running.happen(SoundLost(running.now_s, "gone"))
    assert running.state.phase is PiecePhase.OVER
    assert running.state.notices == ("gone",)


@given(
    st.lists(
        st.tuples(
            st.floats(0.01, 3.0),
            st.sampled_from([YES, NO, Control.UNDO, Control.REPEAT]),
            st.floats(0.05, 0.4),
        ),
        max_size=30,
    )
)
@settings(max_examples=150, deadline=None)
def test_no_press_of_a_clumsy_foot_is_lost_and_none_ends_the_song(presses):
    running = begun()
    meant: list[float] = []
    for wait_s, control, held_s in presses:
        running.until(running.now_s + wait_s)
        if running.state.phase is not PiecePhase.PLAYING:
            return
        at_s = running.state.at_s(running.now_s)
        if at_s >= 0 and (not meant or at_s - meant[-1] >= SAME_MISS_S):
            meant.append(at_s)
        running.tap(control, held_s)
        played = running.state.passes[-1].marks if running.state.passes else running.state.marks
        assert played == pytest.approx(tuple(meant))


def test_it_replays_from_its_inputs_and_its_settings_are_read_back():
    running = begun(per_cent=80, first=1, end=3, loop=True)
    running.at(2.0)
    running.tap()
    running.until((running.state.due_s or 0.0) + 3)
    running.happen(Shut(running.now_s))
    plain = json.loads(json.dumps([event_to_json(event) for event in running.events]))
    kept = run_settings_from_json(
        json.loads(json.dumps(run_settings_to_json(RunSettings(CHART, 80, 1, 3, True))))
    )
    assert kept is not None
    *_, last = run_replay(kept, [*plain, review_to_json(0, Review((0,), True), 9.0)])
    assert last.passes == running.state.passes
    assert run_settings_from_json({"drills": []}) is None
    for broken in ({"chart": "nothing"}, {"chart": CHART, "first": 99}, {"chart": CHART, "odd": 1}, "x"):
        with pytest.raises(InputError, match="not those of a run-through"):
            run_settings_from_json({"run_through": broken})


def test_of_reviews_the_last_counts_and_broken_ones_are_passed_over():
    inputs = [
        review_to_json(0, Review((1,)), 1.0),
        review_to_json(0, Review((), True), 2.0),
        {"event": "RunReviewed", "heard_s": 3.0, "pass": "x", "dropped": 1},
    ]
    assert reviews_in(inputs) == {0: Review((), True)}
