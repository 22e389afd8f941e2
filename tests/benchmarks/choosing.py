"""What it costs to choose a change by foot, in gestures, by walking the real pages of home.

python -m tests.benchmarks.choosing

For three players: one at their first start, one with the songs of the made-up band, one with these songs and
some days of practice. A gesture is a tap, a hold or a move of a pedal that scrolls. The cost runs from home's
first page until the session begins; that of a pair of chords is the sum of its parts, since the pages of the
second chord are those of the first.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import product
from pathlib import Path
from statistics import fmean

from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import page_of
from pedaltrainer.neck.chords.symbols import parse_chord
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.practice.coach.first_changes import common_changes
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.home import Errand, Leaf, Verb
from pedaltrainer.showing.home.choosing import KINDS, ROOTS, Picking, read_picking
from pedaltrainer.showing.home.pages import HOME

HOME_PAGE = Errand(Verb.TURN, HOME)
LISTS = frozenset({"first change", "changes", "common", "change"})
"""The pages that are walked beside home; those of a chord's picking are walked for themselves."""

TAP_S = 0.4
"""From one tap to the next: two or three taps a second (common practice, no published source)."""
HOLD_S = GestureSettings().hold_s + 0.2
MOVE_S = 0.8
"""To bring a pedal or a knob to a row and see it there (ours)."""

Price = Callable[[Leaf, int], float]
"""What it costs to choose a row of a page."""


def _taps(leaf: Leaf, row: int) -> int:
    return (row - leaf.marked) % len(leaf.rows)


def in_gestures(leaf: Leaf, row: int) -> float:
    """With one switch or two: a tap for every row on the way, and one gesture that chooses."""
    return _taps(leaf, row) + 1


def in_moves(leaf: Leaf, row: int) -> float:
    """With a pedal that scrolls: one move, unless the row is marked already, and one gesture that chooses."""
    return (_taps(leaf, row) > 0) + 1


def seconds_of_one_switch(leaf: Leaf, row: int) -> float:
    return _taps(leaf, row) * TAP_S + HOLD_S


def seconds_of_two_switches(leaf: Leaf, row: int) -> float:
    return (_taps(leaf, row) + 1) * TAP_S


def seconds_of_scrolling(leaf: Leaf, row: int) -> float:
    return (_taps(leaf, row) > 0) * MOVE_S + TAP_S


@dataclass(frozen=True, slots=True)
class Spread:
    """Of costs: the least, the mean and the most."""

    least: float
    mean: float
    most: float


def spread(costs: Sequence[float]) -> Spread:
    return Spread(min(costs), fmean(costs), max(costs))


@dataclass(frozen=True, slots=True)
class Costs:
    """needed: the changes that the page of changes offers first. common: the six easiest of the common ones.
    all_common: every one of them. pairs: any two of the 480 chords. by_use: pairs, a root or a kind the
    likelier the earlier it stands in the order of use, as 1/rank (G. K. Zipf's law, from memory)."""

    drills: dict[str, tuple[float, tuple[int, ...]]]
    next_up: float | None
    needed: Spread | None
    common: Spread
    all_common: Spread
    pairs: Spread
    by_use: float
    pages: float

    def of(self, words: str) -> float:
        return self.drills[parse_drill(words).key][0]

    def way_to(self, words: str) -> tuple[int, ...]:
        """The rows to choose, page by page."""
        return self.drills[parse_drill(words).key][1]


def costs(house: House, price: Price = in_gestures) -> Costs:
    """What the errands cost in this house."""
    drills, asked, pick = _walked(house, price)
    first, second = dict(_picked(house, "", price)), dict(_picked(house, "Am", price))
    begin = price(page_of(house, Errand(Verb.TURN, "change", "Am C")), 0)
    one, two = [cost for cost, _ in first.values()], [cost for cost, _ in second.values()]
    common = [drills[drill.key][0] for drill in common_changes(house.options.desk.shapes)]
    use = [1 / ((root + 1) * (kind + 1)) for root, kind in product(range(len(ROOTS)), range(len(KINDS)))]
    use_of = dict(zip(product(range(len(ROOTS)), range(len(KINDS))), use, strict=True))
    used = sum(use_of[chord] * (first[chord][0] + second[chord][0]) for chord in first) / sum(use)
    home_page = page_of(house, HOME_PAGE)
    nexts = [place for place, row in enumerate(home_page.rows) if row.words.startswith("Next")]
    return Costs(
        drills=drills,
        next_up=price(home_page, nexts[0]) if nexts else None,
        needed=spread(asked) if asked else None,
        common=spread(common[:6]),
        all_common=spread(common),
        pairs=Spread(
            pick + min(one) + min(two) + begin,
            pick + fmean(one) + fmean(two) + begin,
            pick + max(one) + max(two) + begin,
        ),
        by_use=pick + used + begin,
        pages=2 + sum(fmean(depth for _, depth in found.values()) for found in (first, second)) + 1,
    )


def _walked(
    house: House, price: Price
) -> tuple[dict[str, tuple[float, tuple[int, ...]]], list[float], float]:
    """The cheapest way to each drill that the lists offer, what the likely ones cost, and the cost to the
    first page of any two chords."""
    found: dict[str, tuple[float, tuple[int, ...]]] = {}
    likely: list[float] = []
    any_two = float("inf")
    waiting: list[tuple[float, tuple[int, ...], str, str, bool]] = [(0.0, (), HOME, "", False)]
    seen = set()
    while waiting:
        cost, way, to, value, is_likely = heappop(waiting)
        if (to, value) in seen:
            continue
        seen.add((to, value))
        leaf = page_of(house, Errand(Verb.TURN, to, value))
        for place, row in enumerate(leaf.rows):
            here, errand = cost + price(leaf, place), row.errand
            if to == "change" and errand.verb is Verb.PLAY:
                found.setdefault(parse_drill(errand.value).key, (here, (*way, place)))
                if is_likely and place == 0:
                    likely.append(here)
            elif errand.to == "chord" and read_picking(errand.value) == Picking(2):
                any_two = min(any_two, here)
            elif errand.verb is Verb.TURN and errand.to in LISTS:
                heappush(waiting, (here, (*way, place), errand.to, errand.value, to == "changes"))
    return found, likely, any_two


def _picked(house: House, before: str, price: Price) -> Iterator[tuple[tuple[int, int], tuple[float, int]]]:
    """Every root and kind, by their places, with what picking them costs and how many pages it takes."""
    waiting = [(0.0, 0, Picking(2, before))]
    while waiting:
        cost, depth, picking = waiting.pop()
        leaf = page_of(house, Errand(Verb.TURN, "chord", picking.value))
        for place, row in enumerate(leaf.rows):
            here = cost + price(leaf, place)
            there = read_picking(row.errand.value) if row.errand.to == "chord" else None
            if there is not None and there.before == before and not there.over:
                waiting.append((here, depth + 1, there))
            elif row.errand.to == "change" or (there is not None and there.before != before):
                assert picking.root is not None
                yield (picking.root, _kind_of(row.words)), (here, depth + 1)


def _kind_of(symbol: str) -> int:
    return KINDS.index(parse_chord(symbol).quality)


def main() -> None:
    from tests.live.test_home import a_house

    players = {"first start": (False, 0), "songs": (True, 0), "songs and practice": (True, 3)}
    prices = {
        "gestures, one switch": in_gestures,
        "gestures, two switches": in_gestures,
        "gestures, scrolling": in_moves,
        "seconds, one switch": seconds_of_one_switch,
        "seconds, two switches": seconds_of_two_switches,
        "seconds, scrolling": seconds_of_scrolling,
    }
    print("| player | counted in | next | needed | common, six | common, all | any pair | by use |")
    print("|---|---|---|---|---|---|---|---|")
    for player, (songs, days) in players.items():
        with tempfile.TemporaryDirectory() as folder:
            house = a_house(Path(folder), songs=songs, days=days)
            for counted, price in prices.items():
                one = costs(house, price)
                figures = [
                    "–" if one.next_up is None else f"{one.next_up:g}",
                    *(_told(each) for each in (one.needed, one.common, one.all_common, one.pairs)),
                    f"{one.by_use:.1f}",
                ]
                print(f"| {player} | {counted} | {' | '.join(figures)} |")
            print(f"(pages turned for a pair: {one.pages:.1f})")


def _told(one: Spread | None) -> str:
    return "–" if one is None else f"{one.mean:.1f} ({one.least:.3g} to {one.most:.3g})"


if __name__ == "__main__":
    main()
