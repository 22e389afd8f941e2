"""Long lists as pages of groups: every entry is reached, in order, and in few gestures."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.showing.home.groups import MOST_ROWS, gestures, rows_of, walked_to


def leaves(size: int, path: tuple[int, ...] = ()) -> list[tuple[int, tuple[int, ...]]]:
    """Every entry and the rows that lead to it, by walking all pages."""
    here = walked_to(size, path)
    found = []
    for row, span in enumerate(rows_of(here.size)):
        one = (*path, row)
        if span.size == 1:
            found.append((walked_to(size, one).first, one))
        else:
            found += leaves(size, one)
    return found


@given(st.integers(1, 70))
def test_every_entry_of_a_list_is_reached_by_one_way_and_their_order_is_kept(size):
    assert [entry for entry, _ in leaves(size)] == list(range(size))
    assert [sum(row + 1 for row in path) for _, path in leaves(size)] == list(gestures(size))


@given(st.integers(1, 70))
def test_no_page_has_more_rows_than_can_be_read(size):
    assert 1 <= len(rows_of(size)) <= MOST_ROWS


def test_a_short_list_is_one_page():
    assert [span.size for span in rows_of(3)] == [1, 1, 1]


@pytest.mark.parametrize("size", [3, 5, 8, 12, 20, 40])
def test_groups_cost_hardly_more_than_the_best_code_without_pages_to_read(size):
    # The least total of n codes of taps and one choice a page, by the recurrence of Varn (1971, from memory):
    # each gesture parts what is left in what was chosen by it and what was not.
    @cache
    def best(left: int, page_begins: bool = True) -> float:
        if left == 0 or (left == 1 and page_begins):
            return 0.0
        return left + min(
            best(chosen) + best(left - chosen, False)
            for chosen in range(1, left if page_begins else left + 1)
        )

    least = best(size)
    total = sum(gestures(size))
    assert least <= total <= least * 1.03


def test_twelve_roots_and_forty_kinds_cost_less_than_ten_gestures_on_average():
    flat = [(size + 1) / 2 for size in (12, 40)]
    grouped = [sum(gestures(size)) / size for size in (12, 40)]
    assert sum(flat) == 27.0
    assert grouped == [pytest.approx(4.0), pytest.approx(5.825)]


def test_a_row_that_is_not_there_is_an_error():
    with pytest.raises(IndexError):
        walked_to(12, (9,))
