"""A pedal or a knob that travels moves the marker in a list, and nothing else does so by itself."""

from __future__ import annotations

from collections.abc import Callable

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.pedals.bindings import Binding, Bindings, default_bindings
from pedaltrainer.pedals.events import Control, GestureKind, Slid
from pedaltrainer.pedals.midi.input import Listener
from pedaltrainer.pedals.scrolling import TREMBLE, Scroll, scroll


def moved(places: list[float], rows: int, marker: int, before: Scroll | None = None) -> int:
    """The marker after a pedal has stood at these places of its way."""
    state = before or Scroll()
    for place in places:
        state = scroll(state, place, rows, marker)
        marker = marker if state.row is None else state.row
    return marker


def test_from_heel_to_toe_it_comes_to_every_row():
    ways = [step / 127 for step in range(128)]
    assert moved([0.5, 0.0], 7, 0) == 0
    assert moved(ways, 7, 0) == 6
    assert sorted({moved(ways[: upto + 1], 7, 0) for upto in range(128)}) == list(range(7))


def test_where_it_lies_when_a_page_comes_the_marker_stays_on_the_likeliest_row():
    assert moved([0.9], 5, 0) == 0
    assert moved([0.9, 0.9 - TREMBLE / 2, 0.9 + TREMBLE / 2], 5, 0) == 0
    assert moved([0.9, 0.7], 5, 0) == 3


def test_a_marker_that_a_switch_has_moved_is_its_own_again_only_when_it_is_moved():
    state = scroll(scroll(Scroll(), 0.0, 5, 0), 0.5, 5, 0)
    assert state.row == 2
    assert scroll(state, 0.51, 5, 3).row is None
    assert scroll(scroll(state, 0.51, 5, 3), 0.6, 5, 3).row == 3
    assert scroll(scroll(state, 0.51, 5, 3), 0.9, 5, 3).row == 4


def test_what_it_did_while_no_list_was_shown_does_not_count():
    state = scroll(scroll(Scroll(), 0.1, 5, 0), 0.9, 0, 0)
    assert scroll(state, 0.9 + TREMBLE / 2, 5, 0).row is None


def test_it_does_not_flutter_at_the_edge_between_two_rows():
    edge = 2 / 5
    state, marker, rows = scroll(Scroll(), 0.0, 5, 0), 0, []
    for step in range(40):
        state = scroll(state, edge + (-1) ** step * TREMBLE / 2, 5, marker)
        assert state.row is not None
        marker = state.row
        rows.append(marker)
    assert len(set(rows)) == 1


@given(st.lists(st.floats(0, 1), max_size=20), st.integers(1, 50), st.data())
def test_the_marker_is_always_on_a_row(places, rows, data):
    assert 0 <= moved(places, rows, data.draw(st.integers(0, rows - 1))) < rows


UNTAUGHT = default_bindings()


class Heard:
    """A listener, and what came of its messages."""

    def __init__(self, rule_of: Callable[[str, str], Binding | None] = UNTAUGHT.find) -> None:
        self.edges: list[object] = []
        self.slides: list[Slid] = []
        self.listener = Listener("Board", rule_of, self.edges.append, None, self.slides.append)

    def hears(self, number: int, *values: int) -> None:
        for value in values:
            self.listener(mido.Message("control_change", control=number, value=value), 1.0)

    @property
    def places(self) -> list[float]:
        return [slid.place for slid in self.slides]


@pytest.mark.parametrize("number", [4, 11, 16, 19])
def test_an_untaught_expression_pedal_or_knob_scrolls_and_presses_nothing(number):
    heard = Heard()
    heard.hears(number, 0, 64, 127)
    assert heard.places == [0.0, 64 / 127, 1.0]
    assert heard.edges == []
    assert heard.slides[0].switch == f"controller {number} on channel 1"


def test_it_says_nothing_by_repeating_itself():
    heard = Heard()
    heard.hears(11, 5, 5, 5, 6, 5)
    assert [round(place * 127) for place in heard.places] == [5, 6, 5]


@pytest.mark.parametrize("number", [1, 7, 10, 43, 64])
def test_no_other_controller_scrolls(number):
    heard = Heard()
    heard.hears(number, 10, 100)
    assert heard.slides == []


def test_one_that_was_taught_as_a_switch_is_a_switch():
    taught = Binding("Board", "controller 11 on channel 1", {GestureKind.TAP: Control.PASS_})
    heard = Heard(Bindings((taught, *UNTAUGHT.rules)).find)
    heard.hears(11, 0, 127)
    assert heard.slides == []
    assert len(heard.edges) == 1
