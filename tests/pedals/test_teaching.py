"""Teaching by pressing: any switch of the trace library, by a made-up foot that does as it is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind
from pedaltrainer.pedals.midi.messages import Observation, observe
from pedaltrainer.pedals.taught.detection import Ask
from pedaltrainer.pedals.taught.form import DeviceBinding, as_toml, parse_binding
from pedaltrainer.pedals.taught.lesson import step
from pedaltrainer.pedals.taught.teach_state import WAIT_S, Station, TeachState
from tests.pedals import traces
from tests.pedals.traces import Moves, Stamped

TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD
TICK_S = 0.05


@dataclass
class Lesson:
    """A player in front of the program; its feet make messages, its clock ticks."""

    state: TeachState = field(default_factory=TeachState)
    t_s: float = 10.0
    background: Callable[[float, float], Sequence[Stamped]] = lambda start_s, end_s: ()
    saved: list[DeviceBinding] = field(default_factory=list)
    counts: dict[int, int] = field(default_factory=dict)

    def pass_time(self, length_s: float, messages: Sequence[Stamped] = (), device: str = "Board") -> None:
        """Let time pass with these messages in it, ticking all along."""
        end_s = self.t_s + length_s
        events: list[tuple[float, Observation | float]] = []
        for t_s, data in [*messages, *self.background(self.t_s, end_s)]:
            seen = observe(mido.Message.from_bytes(data), t_s, device)
            if seen is not None:
                events.append((t_s, seen))
        ticks = int(length_s / TICK_S)
        events += [(self.t_s + place * TICK_S,) * 2 for place in range(ticks)]
        for _, event in sorted(events, key=lambda pair: pair[0]):
            self.state, binding = step(self.state, event)
            if binding is not None:
                self.saved.append(binding)
        self.t_s = end_s

    def press(
        self,
        say: Callable[[int], bytes],
        moves: Moves,
        length_s: float,
        rest_s: float = 3.5,
        lead_s: float = 0.3,
    ) -> None:
        number = self.counts.get(id(say), 0)
        self.counts[id(say)] = number + 1
        down_s = self.t_s + lead_s
        messages: list[Stamped] = []
        for t_s, value in moves(number, down_s, down_s + length_s):
            data = say(value)
            parts = [data[:3], data[3:]] if len(data) == 6 else [data]
            messages += [(t_s, part) for part in parts]
        self.pass_time(lead_s + length_s + rest_s, messages)

    def obey(self, say: Callable[[int], bytes], moves: Moves) -> None:
        """Press as asked until this switch is confirmed."""
        place = self.state.place
        for _ in range(6):
            long_asked = self.state.station is Station.PRESSING and self.state.ask is Ask.LONG
            self.press(say, moves, 1.0 if long_asked else 0.12)
            if self.state.place != place or self.state.station in (Station.RHYTHM, Station.DONE):
                return
        raise AssertionError(f"not taught: {self.state.lines}")

    def double_tap(self, say: Callable[[int], bytes], moves: Moves, gap_s: float) -> None:
        self.press(say, moves, 0.08, gap_s - 0.08)
        self.press(say, moves, 0.08, 2.0, lead_s=0.0)


def quiet_lesson() -> Lesson:
    lesson = Lesson()
    lesson.pass_time(2.0)
    assert lesson.state.station is Station.PRESSING
    return lesson


SWITCHES: dict[str, tuple[SwitchKind, Callable[[int], bytes], Moves]] = {
    "momentary": (SwitchKind.MOMENTARY, traces.controller(64), traces.momentary()),
    "momentary, bouncing": (
        SwitchKind.MOMENTARY,
        traces.controller(64),
        traces.chattering(traces.momentary()),
    ),
    "reversed": (SwitchKind.REVERSED, traces.controller(64), traces.momentary(0, 127)),
    "latching": (SwitchKind.LATCHING, traces.controller(80), traces.latching()),
    "latching from off": (SwitchKind.LATCHING, traces.controller(80), traces.latching(0, 127)),
    "press-only": (SwitchKind.PRESS_ONLY, traces.controller(80), traces.press_only()),
    "program": (SwitchKind.PRESS_ONLY, traces.program(5), traces.press_only()),
    "note": (SwitchKind.MOMENTARY, traces.note(60), traces.momentary()),
    "pulse": (SwitchKind.PRESS_ONLY, traces.note(60), traces.pulse(0.003)),
    "expression": (SwitchKind.CONTINUOUS, traces.controller(11), traces.travel(0, 127)),
    "14 bits": (SwitchKind.CONTINUOUS, traces.fourteen_bits(4), traces.travel(0, 127)),
}


@pytest.mark.parametrize(("kind", "say", "moves"), SWITCHES.values(), ids=SWITCHES)
def test_one_switch_of_any_kind_is_taught_with_double_taps_at_the_end(
    kind: SwitchKind, say: Callable[[int], bytes], moves: Moves
) -> None:
    lesson = quiet_lesson()
    lesson.obey(say, moves)
    assert lesson.state.title == "The switch for “missed”"
    lesson.press(say, moves, 0.12)
    assert lesson.state.station is Station.RHYTHM
    for _ in range(2):
        lesson.double_tap(say, moves, 0.36)
    assert lesson.state.station is Station.DONE
    (binding,) = lesson.saved
    (row,) = binding.switches
    assert row.profile.kind is kind
    held = {HOLD: Control.PAUSE} if row.profile.offers_hold else {}
    assert row.controls == {TAP: Control.PASS_, DOUBLE: Control.FAIL, **held}
    assert binding.windows is not None
    # A quarter more than the slowest pair; a travelling pedal passes its middle a little later.
    assert binding.windows.double_tap_s == pytest.approx(0.45, abs=0.02)
    assert parse_binding(as_toml(binding)) == binding


@pytest.mark.parametrize(("kind", "say", "moves"), SWITCHES.values(), ids=SWITCHES)
def test_a_first_lesson_knows_any_kind_of_switch_from_three_presses(
    kind: SwitchKind, say: Callable[[int], bytes], moves: Moves
) -> None:
    lesson = Lesson(TeachState(first=True))
    lesson.pass_time(2.0)
    for length_s in (0.12, 1.0, 0.12):
        assert lesson.state.title == "Press your pedal three times"
        assert lesson.saved == []
        lesson.press(say, moves, length_s)
    (binding,) = lesson.saved
    (row,) = binding.switches
    assert (row.profile.kind, row.controls[TAP]) == (kind, Control.PASS_)
    assert lesson.state.title == "The pedal is known"


def test_a_bouncing_contact_is_waited_for_after_a_first_lesson() -> None:
    lesson = Lesson(TeachState(first=True))
    lesson.pass_time(2.0)
    for length_s in (0.12, 1.0, 0.12):
        lesson.press(traces.controller(64), traces.chattering(traces.momentary()), length_s)
    assert lesson.saved[0].switches[0].profile.debounce_s > 0.0


def test_a_first_lesson_without_a_press_ends_after_ten_seconds_and_it_is_the_keys() -> None:
    lesson = Lesson(TeachState(first=True))
    lesson.pass_time(2.0)
    assert "10 seconds" in lesson.state.hint
    lesson.pass_time(WAIT_S)
    assert lesson.state.station is Station.DONE
    assert (lesson.state.title, lesson.saved) == ("The keys it is", [])


def test_two_switches_get_one_control_each_and_the_rest_by_holding() -> None:
    lesson = quiet_lesson()
    first, second = traces.controller(80), traces.controller(81)
    lesson.obey(first, traces.momentary())
    lesson.obey(second, traces.momentary())
    lesson.pass_time(WAIT_S + 1)
    (binding,) = lesson.saved
    assert [(row.name, dict(row.controls)) for row in binding.switches] == [
        ("controller 80 on channel 1", {TAP: Control.PASS_, HOLD: Control.NEXT}),
        ("controller 81 on channel 1", {TAP: Control.FAIL, HOLD: Control.PAUSE}),
    ]
    assert binding.windows is None


def test_a_control_is_skipped_by_the_switch_for_pass() -> None:
    lesson = quiet_lesson()
    says = [traces.program(number) for number in range(3)]
    lesson.obey(says[0], traces.press_only())
    lesson.obey(says[1], traces.press_only())
    lesson.press(says[0], traces.press_only(), 0.1)  # no switch for next
    assert lesson.state.title == "The switch for “pause”"
    lesson.obey(says[2], traces.press_only())
    lesson.pass_time(WAIT_S + 1)
    (binding,) = lesson.saved
    assert [dict(row.controls) for row in binding.switches] == [
        {TAP: Control.PASS_, DOUBLE: Control.NEXT},
        {TAP: Control.FAIL},
        {TAP: Control.PAUSE},
    ]


def test_the_same_switch_cannot_be_two_controls() -> None:
    lesson = quiet_lesson()
    first, second = traces.note(60), traces.note(62)
    lesson.obey(first, traces.momentary())
    lesson.obey(second, traces.momentary())
    lesson.press(second, traces.momentary(), 0.1)
    assert lesson.state.lines[0] == "That switch is “missed” already."
    assert len(lesson.state.taught) == 2


def test_a_flood_is_no_switch() -> None:
    lesson = Lesson(background=lambda start_s, end_s: [
        (start_s + t_s, data) for t_s, data in traces.flood(0.0, end_s - start_s)
    ])  # fmt: skip
    lesson.pass_time(2.0)
    lesson.obey(traces.controller(64), traces.momentary())
    assert [taught.switch for taught in lesson.state.taught] == ["controller 64 on channel 1"]


def test_a_board_that_sends_a_bank_and_a_program_is_taught_by_its_program() -> None:
    lesson = quiet_lesson()

    def press() -> None:
        at_s = lesson.t_s + 0.2
        sent = [bytes((0xB0, 0, 0)), bytes((0xB0, 32, 1)), bytes((0xC0, 7))]
        lesson.pass_time(3.5, [(at_s + place * 0.001, data) for place, data in enumerate(sent)])

    for _ in range(3):
        press()
    assert [taught.switch for taught in lesson.state.taught] == ["program 7 on channel 1"]


def test_a_hasty_foot_is_told_what_was_odd_and_asked_again() -> None:
    lesson = quiet_lesson()
    for _ in range(4):
        lesson.press(traces.controller(64), traces.momentary(), 0.9)
    assert lesson.state.station is Station.PRESSING
    assert lesson.state.taught == ()
    assert "again" in lesson.state.lines[0]
    lesson.obey(traces.controller(64), traces.momentary())
    assert len(lesson.state.taught) == 1


def test_a_press_that_does_not_confirm_begins_the_switch_again() -> None:
    lesson = quiet_lesson()
    say = traces.controller(64)
    lesson.press(say, traces.momentary(), 0.12)
    lesson.press(say, traces.momentary(), 1.0)
    assert lesson.state.station is Station.CONFIRMING
    assert "momentary" in " ".join(lesson.state.lines)
    lesson.press(say, traces.momentary(), 0.1, 0.1)
    lesson.press(say, traces.momentary(), 0.1, 2.0)
    assert lesson.state.station is Station.PRESSING
    assert lesson.state.lines[0] == "That looked like 2 presses instead of one; once more."


def test_with_no_pedal_at_all_it_asks_again_then_ends_by_itself_and_saves_nothing() -> None:
    lesson = quiet_lesson()
    lesson.pass_time(25.0)
    assert lesson.state.station is Station.PRESSING
    assert "plugged in" in lesson.state.lines[0]
    lesson.pass_time(10.0)
    assert lesson.state.title == "Nothing was learnt"
    assert lesson.saved == []


def test_another_device_is_not_mixed_into_the_first() -> None:
    lesson = quiet_lesson()
    lesson.obey(traces.controller(64), traces.momentary())
    lesson.pass_time(3.0, [(lesson.t_s + 0.1, bytes((0xB0, 64, 127)))], device="Other")
    assert lesson.state.station is Station.PRESSING
    assert lesson.state.trials == ()


events = st.lists(
    st.tuples(
        st.floats(0.0, 1.5),
        st.one_of(
            st.none(),
            st.tuples(
                st.sampled_from(["Board", "Other"]),
                st.sampled_from(
                    ["controller 64 on channel 1", "note 60 on channel 1", "program 1 on channel 1"]
                ),
                st.sampled_from([0, 64, 127]),
            ),
        ),
    ),
    max_size=120,
)


@settings(max_examples=150)
@given(events)
def test_whatever_is_pressed_it_has_words_and_saves_at_most_once(
    happened: list[tuple[float, tuple[str, str, int] | None]],
) -> None:
    state, t_s, saved = TeachState(), 0.0, []
    for gap_s, what in happened:
        t_s += gap_s
        state, binding = step(state, t_s if what is None else Observation(t_s, *what))
        if binding is not None:
            saved.append(binding)
        assert state.title
        assert state.lines
    assert len(saved) <= 1
    if saved:
        assert state.station is Station.DONE
        names = [row.name for row in saved[0].switches]
        assert len(names) == len(set(names))
        assert parse_binding(as_toml(saved[0])) == saved[0]
