"""Debounce: one press is one press, at once, and nothing sticks."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.pedals.events import SwitchEdge
from pedaltrainer.pedals.switch import Debounced

MS = 0.001


def edge(t_ms: float, down: bool) -> SwitchEdge:
    return SwitchEdge(t_ms * MS, "pedal", "switch", down)


def cleaned(*raw: tuple[float, bool], until_ms: float = 10_000) -> list[tuple[float, bool]]:
    """Clean edges as (ms, down), with time told only by the edges and once at the end."""
    switch = Debounced()
    clean: list[SwitchEdge] = []
    for t_ms, down in raw:
        switch, more = switch.step(edge(t_ms, down))
        clean += more
    while switch.due_s is not None and switch.due_s <= until_ms * MS:
        switch, more = switch.settle(until_ms * MS)
        clean += more
    return [(round(one.t_s / MS, 6), one.down) for one in clean]


def test_a_clean_press_passes_untouched_and_undelayed() -> None:
    switch, first = Debounced().step(edge(100, True))
    assert first == (edge(100, True),)
    assert switch.due_s is None
    assert cleaned((100, True), (180, False)) == [(100, True), (180, False)]


def test_a_chattering_contact_is_one_press_at_its_first_touch() -> None:
    chatter = [(100, True), (101, False), (102.5, True), (104, False), (107, True)]
    release = [(200, False), (202, True), (203, False)]
    assert cleaned(*chatter, *release) == [(100, True), (200, False)]


def test_a_switch_let_go_inside_the_window_is_up_when_the_window_ends() -> None:
    assert cleaned((100, True), (105, False)) == [(100, True), (112, False)]


def test_the_window_ends_at_12_ms() -> None:
    assert cleaned((100, True), (111.9, False)) == [(100, True), (112, False)]
    assert cleaned((100, True), (112.1, False)) == [(100, True), (112.1, False)]


def test_time_told_late_does_not_move_the_edge() -> None:
    switch, _ = Debounced().step(edge(100, True))
    switch, _ = switch.step(edge(105, False))
    assert switch.due_s is not None
    _, early = switch.settle(switch.due_s)
    _, late = switch.settle(99.0)
    assert early == late
    assert not early[0].down


def test_a_lost_way_up_does_not_swallow_the_next_press() -> None:
    assert cleaned((100, True), (900, True)) == [(100, True), (900, False), (900, True)]


def test_a_second_up_in_a_row_says_nothing() -> None:
    assert cleaned((100, False), (200, True), (300, False), (400, False)) == [(200, True), (300, False)]


gaps_ms = st.lists(st.floats(0.0, 40.0), max_size=40)


@given(gaps_ms)
def test_clean_edges_alternate_keep_their_order_and_end_where_the_contact_does(gaps: list[float]) -> None:
    t_ms, raw = 0.0, []
    for position, gap in enumerate(gaps):
        t_ms += gap
        raw.append((t_ms, position % 2 == 0))
    clean = cleaned(*raw)
    assert [down for _, down in clean] == [position % 2 == 0 for position in range(len(clean))]
    times = [t for t, _ in clean]
    assert all(later - earlier >= 12 - 1e-6 for earlier, later in itertools.pairwise(times))
    assert (clean[-1][1] if clean else False) == (raw[-1][1] if raw else False)
    assert len(clean) <= len(raw)


@given(st.lists(st.floats(13.0, 500.0), max_size=40))
def test_slow_edges_are_never_changed(gaps: list[float]) -> None:
    t_ms, raw = 0.0, []
    for position, gap in enumerate(gaps):
        t_ms += gap
        raw.append((round(t_ms, 6), position % 2 == 0))
    assert cleaned(*raw) == raw


@given(gaps_ms, st.lists(st.floats(0.0, 1600.0), max_size=40))
def test_how_often_time_is_told_changes_nothing(gaps: list[float], ticks_ms: list[float]) -> None:
    t_ms, raw = 0.0, []
    for position, gap in enumerate(gaps):
        t_ms += gap
        raw.append((t_ms, position % 2 == 0))
    switch = Debounced()
    clean: list[SwitchEdge] = []
    pending = sorted(ticks_ms)
    for at_ms, down in raw:
        while pending and pending[0] <= at_ms:
            switch, more = switch.settle(pending.pop(0) * MS)
            clean += more
        switch, more = switch.step(edge(at_ms, down))
        clean += more
    for tick in [*pending, 10_000.0]:
        switch, more = switch.settle(tick * MS)
        clean += more
    assert [(round(one.t_s / MS, 6), one.down) for one in clean] == cleaned(*raw)
