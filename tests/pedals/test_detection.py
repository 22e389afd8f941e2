"""Kinds of switch, told from at most four presses; and never told wrongly with confidence."""

from __future__ import annotations

import itertools

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import SwitchKind
from pedaltrainer.pedals.midi.messages import Observation, observe
from pedaltrainer.pedals.taught.detection import (
    ASKS,
    MOST_PRESSES,
    Ask,
    Detection,
    Trial,
    detect,
    learn_windows,
)
from tests.pedals.traces import APART_S, LIBRARY, Stamped, Trace


def observed(stamped: Stamped, switch: str) -> Observation | None:
    seen = observe(mido.Message.from_bytes(stamped[1]), stamped[0], "pedal")
    return seen if seen is not None and seen.switch == switch else None


def trials_of(trace: Trace) -> list[Trial]:
    """One trial a press: what the switch said from just before it to just before the next."""
    return [
        Trial(
            ask,
            tuple(
                one
                for stamped in trace.between(press_s - 0.1, press_s + APART_S - 0.1)
                if (one := observed(stamped, trace.switch)) is not None
            ),
        )
        for ask, press_s in zip(ASKS, trace.presses_s, strict=True)
    ]


def judged(trials: list[Trial]) -> Detection:
    """As the teaching does it: press by press, until it is sure."""
    for seen in range(1, MOST_PRESSES + 1):
        verdict = detect(trials[:seen])
        if verdict.confident:
            return verdict
    return verdict


@pytest.mark.parametrize("trace", LIBRARY, ids=lambda trace: trace.name)
def test_every_trace_of_the_library_is_told_after_at_most_four_presses(trace: Trace) -> None:
    verdict = judged(trials_of(trace))
    assert (verdict.kind, verdict.confident) == (trace.kind, True), verdict.why


def trial(ask: Ask, *values: tuple[float, int], switch: str = "controller 64 on channel 1") -> Trial:
    return Trial(ask, tuple(Observation(t_s, "pedal", switch, value) for t_s, value in values))


def test_one_press_is_never_enough() -> None:
    for trace in LIBRARY:
        assert not detect(trials_of(trace)[:1]).confident


def test_a_switch_that_lets_go_at_once_when_told_to_stay_is_asked_again() -> None:
    hasty = [trial(Ask.SHORT, (0, 127), (0.1, 0)), trial(Ask.LONG, (2, 127), (2.3, 0))]
    assert not detect(hasty).confident


def test_observed_chatter_widens_the_debounce_window_within_bounds() -> None:
    def chatter_ms(length_ms: float) -> float:
        half = length_ms / 2000
        presses = [
            trial(ask, (t_s, 127), (t_s + half, 0), (t_s + 2 * half, 127), (t_s + length_s, 0))
            for ask, t_s, length_s in ((Ask.SHORT, 0.0, 0.2), (Ask.LONG, 3.0, 1.0))
        ]
        verdict = detect(presses)
        assert verdict.kind is SwitchKind.MOMENTARY
        return round(verdict.debounce_s * 1000, 3)

    assert [chatter_ms(length) for length in (2, 6, 10, 16, 30)] == [12, 12, 20, 32, 40]


def test_thresholds_are_set_only_where_the_message_means_something_else() -> None:
    ordinary = [trial(Ask.SHORT, (0, 127), (0.1, 0)), trial(Ask.LONG, (2, 127), (3, 0))]
    assert (detect(ordinary).low, detect(ordinary).high) == (None, None)
    weak = [trial(Ask.SHORT, (0, 20), (0.1, 0)), trial(Ask.LONG, (2, 20), (3, 0))]
    low, high = detect(weak).low, detect(weak).high
    assert low is not None
    assert high is not None
    assert 0 <= low < high <= 20


values_at_random = st.one_of(st.integers(0, 127), st.sampled_from([0, 127]))
noise = st.lists(st.tuples(st.floats(0.0, 2.5), values_at_random), min_size=1, max_size=25)


@settings(max_examples=400)
@given(st.lists(noise, min_size=4, max_size=4))
def test_values_at_random_are_no_switch(made: list[list[tuple[float, int]]]) -> None:
    trials = [
        trial(ask, *((3 * place + t_s, value) for t_s, value in sorted(values)))
        for place, (ask, values) in enumerate(zip(ASKS, made, strict=True))
    ]
    verdict = judged(trials)
    # What is confident must really look like it: two or three presses that agree in every value.
    if verdict.confident:
        seen = next(
            trials[:count] for count in range(1, MOST_PRESSES + 1) if detect(trials[:count]).confident
        )
        assert all(len(one.observations) <= 25 for one in seen)
        assert agrees_by_hand(verdict, seen)


def agrees_by_hand(verdict: Detection, trials: list[Trial]) -> bool:
    """An independent, stricter look: is this indistinguishable from the kind it was taken for?"""
    values = [[one.value for one in seen.observations] for seen in trials]
    match verdict.kind:
        case SwitchKind.LATCHING:
            ends = [of_one[-1] for of_one in values]
            return len(values) >= 3 and all(a != b for a, b in itertools.pairwise(ends))
        case SwitchKind.PRESS_ONLY:
            return len(values) >= 3 and len({of_one[0] for of_one in values}) <= len(values)
        case SwitchKind.MOMENTARY:
            return all(of_one[0] > of_one[-1] for of_one in values)
        case SwitchKind.REVERSED:
            return all(max(of_one) - min(of_one) >= 1 and of_one[-1] > min(of_one) for of_one in values)
        case SwitchKind.CONTINUOUS:
            return all(max(of_one) - of_one[-1] >= 12 for of_one in values)
    return False


def spoilt(trace: Trace, data: st.DataObject) -> list[Trial]:
    """The trials of a trace with one message lost, or one of any value too many."""
    trials = trials_of(trace)
    which = data.draw(st.integers(0, 3))
    observations = list(trials[which].observations)
    if data.draw(st.booleans()):
        del observations[data.draw(st.integers(0, len(observations) - 1))]
    else:
        t_s = trace.presses_s[which] + data.draw(st.floats(-0.09, 2.5))
        observations.append(Observation(t_s, "pedal", trace.switch, data.draw(st.integers(0, 127))))
        observations.sort(key=lambda one: one.t_s)
    trials[which] = Trial(trials[which].ask, tuple(observations))
    return trials


@settings(max_examples=400)
@given(st.sampled_from(LIBRARY), st.data())
def test_one_message_lost_or_too_many_never_makes_it_confidently_wrong(
    trace: Trace, data: st.DataObject
) -> None:
    verdict = judged(spoilt(trace, data))
    assert not verdict.confident or verdict.kind is trace.kind


def test_windows_follow_the_foot_within_bounds() -> None:
    assert learn_windows([(0.0, 0.2), (1.0, 1.24)], [0.1, 0.2, 0.15]) == GestureSettings(0.3, 0.45)
    assert learn_windows([(0.0, 2.0)], [3.0]) == GestureSettings(0.6, 1.2)
    assert learn_windows([(0.0, 0.01)], [0.01]) == GestureSettings(0.2, 0.45)
    assert learn_windows([], []) == GestureSettings()


@given(
    st.lists(st.tuples(st.floats(0, 10), st.floats(0, 10)), max_size=5),
    st.lists(st.floats(0, 10), max_size=5),
)
def test_a_hold_is_always_longer_than_the_double_tap_window(
    pairs: list[tuple[float, float]], lengths_s: list[float]
) -> None:
    windows = learn_windows(pairs, lengths_s)
    assert 0.2 <= windows.double_tap_s <= 0.6
    assert windows.double_tap_s < windows.hold_s <= 1.2
