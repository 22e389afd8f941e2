"""Long lists as pages of groups, so that a foot comes to any entry in few gestures. Pure.

A list is walked by *yes* from row to row and chosen from by *stop*: row i of a page costs i gestures and one
to choose. A group is a row that leads to a page of its own. Which groups make the mean cost least is the code
with letters of unequal cost for entries of equal chance (B. Varn, "Optimal variable length codes (arbitrary
symbol cost and equal code word probability)", Information and Control 19, 1971), here with the order kept, no
more rows on a page than can be read, and a little for every page that is turned. Groups before entries is
the group scanning of switch access (M. Baljko and A. Tam, "Indirect text entry using one or two keys", ASSETS
2006; B. Roark and others, "Scanning methods and language modeling for binary switch typing", SLPAT 2010). All
three from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

MOST_ROWS = 5
"""On a page, the way back aside."""
A_PAGE_COSTS = 0.25
"""In gestures: a page that comes must be looked at."""


class Bundle(NamedTuple):
    """The entries from `first` on, `size` of them, that a row stands for."""

    first: int
    size: int


@lru_cache(maxsize=256)
def rows_of(size: int, most_rows: int = MOST_ROWS) -> tuple[Bundle, ...]:
    """How a list of so many entries is laid on one page: a row of size 1 is an entry, a larger one a group,
    laid out in its turn by the same rule."""
    sizes = _page(size, most_rows, most_rows, True)[1]
    return tuple(Bundle(sum(sizes[:place]), one) for place, one in enumerate(sizes))


def gestures(size: int, most_rows: int = MOST_ROWS) -> Iterator[int]:
    """What each entry of a list costs, in its order: the taps to its row and the one that chooses, page by
    page."""
    for taps, row in enumerate(rows_of(size, most_rows)):
        inner = gestures(row.size, most_rows) if row.size > 1 else (0,)
        yield from (taps + 1 + one for one in inner)


def walked_to(size: int, path: Sequence[int], most_rows: int = MOST_ROWS) -> Bundle:
    """The entries that are left after these rows were chosen, page by page.

    Raises IndexError for rows that are not there.
    """
    here = Bundle(0, size)
    for row in path:
        inner = rows_of(here.size, most_rows)[row]
        here = Bundle(here.first + inner.first, inner.size)
    return here


@lru_cache(maxsize=16384)
def _page(size: int, left: int, most_rows: int, whole: bool) -> tuple[float, tuple[int, ...]]:
    """The least cost of so many entries on the `left` last rows of a page, all together, and the sizes of
    the rows. whole: nothing of the page stands before them, so that one row for all would be no page."""
    if size == 0:
        return 0.0, ()
    if left == 0:
        return float("inf"), ()
    # A tap or a choice for every entry that is not reached yet.
    return min(
        (size + _group(row, most_rows) + rest, (row, *sizes))
        for row in range(1, size + (not whole or size == 1))
        for rest, sizes in [_page(size - row, left - 1, most_rows, False)]
    )


@lru_cache(maxsize=1024)
def _group(size: int, most_rows: int) -> float:
    return 0.0 if size == 1 else _page(size, most_rows, most_rows, True)[0] + A_PAGE_COSTS * size
