"""The cheapest way through a song, so that shapes and changes together cost least: each chord fingered once
(`once.py`) or, free, anew wherever it comes.

The free choice is a shortest path, by A. Viterbi's algorithm ("Error bounds for convolutional codes and an
asymptotically optimum decoding algorithm", IEEE Trans. Inf. Theory 13, 1967): its time grows linearly with
the song.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import sound_of
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.costs import ROUTE_COSTS
from pedaltrainer.neck.fingering import Fingering, fingerings
from pedaltrainer.neck.geometry import USUAL_NECK, NeckSize
from pedaltrainer.neck.lookup import Setup, shapes_of
from pedaltrainer.neck.moves import HandMove, check_same_tuning, move
from pedaltrainer.neck.once import cheapest_once
from pedaltrainer.neck.pairs import Floats, compare, read_hands
from pedaltrainer.neck.search import search
from pedaltrainer.neck.shapes import THUMB, Shape
from pedaltrainer.neck.taught import is_taught, listed

FINGERINGS_A_SHAPE = 3
CHANGES_AT_ONCE = 32
"""Few enough that their arrays stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One fingering that a chord may be played with, and what holding it costs."""

    shape: Shape
    cost: float


@dataclass(frozen=True, slots=True)
class PlannedChange:
    """One change of a planned route beside the same change in the textbook's shapes. The chords are given by
    their places in the song."""

    here: int
    there: int
    move: HandMove
    textbook: HandMove

    @property
    def saving(self) -> float:
        """What the route saves in this change; below 0 where it pays here to save more elsewhere."""
        return self.textbook.cost - self.move.cost


@dataclass(frozen=True, slots=True)
class Plan:
    """A route and what it saves. textbook: the usual shape of each chord where one was given, else the one
    that is easiest by itself, whatever comes before and after. The costs are of shapes and changes together.
    """

    symbols: tuple[str, ...]
    shapes: tuple[Shape, ...]
    cost: float
    textbook: tuple[Shape, ...]
    textbook_cost: float
    changes: tuple[PlannedChange, ...]

    @property
    def saving(self) -> float:
        """Never below 0: the textbook's route is among those searched."""
        return self.textbook_cost - self.cost


def plan_route(
    symbols: Sequence[str],
    tuning: Tuning = STANDARD_TUNING,
    *,
    choices: int = 12,
    shapes: Mapping[str, Sequence[Shape]] | None = None,
    usual: Mapping[str, Shape] | None = None,
    neck: NeckSize = USUAL_NECK,
    repeats: bool = False,
    free: bool = False,
) -> Plan:
    """The same as `neck.route`, with its cost, change by change, beside that of the textbook's shapes."""
    song = Trellis(symbols, tuning, choices, shapes or {}, usual or {}, neck)
    best, textbook = song.best(repeats, free), [0] * len(symbols)
    ours, theirs = song.shapes(best), song.shapes(textbook)
    moves: dict[tuple[Shape, Shape], HandMove] = {}

    def moved(pair: tuple[Shape, Shape]) -> HandMove:
        if pair not in moves:
            moves[pair] = move(*pair, neck)
        return moves[pair]

    changes = tuple(
        PlannedChange(here, there, moved((ours[here], ours[there])), moved((theirs[here], theirs[there])))
        for here, there in _changes(len(symbols), repeats)
    )
    return Plan(
        tuple(symbols),
        ours,
        song.cost(best, repeats),
        theirs,
        song.cost(textbook, repeats),
        changes,
    )


@lru_cache(maxsize=1 << 12)
def candidates(
    symbol: str,
    tuning: Tuning = STANDARD_TUNING,
    choices: int = 12,
    neck: NeckSize = USUAL_NECK,
    usual: Shape | None = None,
) -> tuple[Candidate, ...]:
    """The fingerings that a route considers for a chord: of its best shapes the best few each. The first is
    the textbook's, which is the usual shape when one is given; the others follow from the cheapest to hold.
    Frets chosen with the symbol, as in G[320033], are the only ones considered, and so are fingers.

    Raises InputError for what is no chord symbol, or has no shape in this tuning.
    """
    chord = parse_chosen(symbol)
    if chord.frets is None:
        return _found(symbol, tuning, choices, neck, usual)
    meant = shapes_of(chord, Setup(tuning, neck=neck), limit=1)[0]
    if chord.fingers is not None:
        return (_as_fingered(meant, neck),)
    return tuple(_held(chord.frets, tuning, neck)[:choices])


def _found(
    symbol: str, tuning: Tuning, choices: int, neck: NeckSize, usual: Shape | None
) -> tuple[Candidate, ...]:
    found = search(symbol, tuning, neck=neck)
    against = {one.shape.frets: one.cost - found[0].cost for one in found}
    if usual is not None:
        against[usual.frets] = 0.0  # what most players know needs no other recommendation
    every = [
        candidate if usual is None else _not_usual(candidate)
        for frets, cost in against.items()
        for candidate in _held(frets, tuning, neck, ROUTE_COSTS["shape"].weight * cost)
        if candidate.shape != usual
    ]
    every.sort(key=lambda candidate: candidate.cost)
    first = [] if usual is None else [_as_fingered(usual, neck)]
    return tuple([*first, *every][:choices])


def _held(
    frets: tuple[int | None, ...], tuning: Tuning, neck: NeckSize, search_cost: float = 0.0
) -> list[Candidate]:
    """The fingerings of some frets that are taught and the best few others, the textbook one first."""
    found = fingerings(frets, tuning, neck)
    # The thumb over the neck is a habit some players have: a route does not ask it of anybody.
    ways = [way for way in found if THUMB not in way.fingers] or list(found)
    known = listed(frets)
    taught = sorted((way for way in ways if way.fingers in known), key=lambda way: known.index(way.fingers))
    ways = list(dict.fromkeys([*taught, *ways[:FINGERINGS_A_SHAPE]]))
    every = [
        Candidate(Shape(frets, way.fingers, tuning), search_cost + _song_cost(frets, found[0], way.cost))
        for way in ways
    ]
    return every[:1] + [_not_usual(_taught_or_dear(candidate, neck)) for candidate in every[1:]]


def _allowed(shapes: Sequence[Shape], neck: NeckSize) -> tuple[Candidate, ...]:
    """The only shapes that a route may take, the usual one first; the thumb only where there is no other."""
    usual, *others = [_as_fingered(shape, neck) for shape in shapes]
    others = [one for one in others if THUMB not in one.shape.fingers]
    return (usual, *(_not_usual(_taught_or_dear(one, neck)) for one in others))


def _as_fingered(shape: Shape, neck: NeckSize) -> Candidate:
    """A chosen shape and its cost; one that is held in no way we know costs as much as the dearest we do."""
    ways = fingerings(shape.frets, shape.tuning, neck)
    if not ways:
        return Candidate(shape, 0.0)
    hold_cost = next((way.cost for way in ways if way.fingers == shape.fingers), ways[-1].cost)
    return Candidate(shape, _song_cost(shape.frets, ways[0], hold_cost))


def _song_cost(frets: tuple[int | None, ...], best: Fingering, hold_cost: float) -> float:
    """What a shape costs in a song, beside what the search has against it. best: its best fingering."""
    counted = {
        "hold": hold_cost,
        "finger": len({finger for finger in best.fingers if finger}),
        "fret up the neck": min((fret for fret in frets if fret), default=1) - 1,
        "string not played": frets.count(None),
        "nothing rings on": 0 not in frets,
    }
    return sum(ROUTE_COSTS[name].weight * amount for name, amount in counted.items())


def _not_usual(candidate: Candidate) -> Candidate:
    return replace(candidate, cost=candidate.cost + ROUTE_COSTS["unusual"].weight)


def _taught_or_dear(candidate: Candidate, neck: NeckSize) -> Candidate:
    shape = candidate.shape
    ways = fingerings(shape.frets, shape.tuning, neck)
    if not ways or is_taught(shape.frets, shape.fingers, ways[0].fingers):
        return candidate
    return replace(candidate, cost=candidate.cost + ROUTE_COSTS["untaught"].weight)


class Trellis:
    """The candidates of each chord of a song, and the cost of each change between them: A. Viterbi's trellis.

    Each distinct chord is looked up once, and each distinct change of chords is computed once, all changes
    together.
    """

    def __init__(
        self,
        symbols: Sequence[str],
        tuning: Tuning,
        choices: int,
        chosen: Mapping[str, Sequence[Shape]],
        usual: Mapping[str, Shape],
        neck: NeckSize,
    ) -> None:
        if not symbols:
            raise InputError("There is no chord to plan a route for; give at least one.")
        self._symbols = symbols = _named_once(symbols, chosen)
        self._choices = {
            symbol: _allowed(chosen[symbol], neck)
            if chosen.get(symbol)
            else candidates(symbol, tuning, choices, neck, usual.get(symbol))
            for symbol in dict.fromkeys(symbols)
        }
        first = self._choices[symbols[0]][0].shape
        for choice in self._choices.values():
            for candidate in choice:
                check_same_tuning(first, candidate.shape)
        self._holding = {
            symbol: np.array([candidate.cost for candidate in choice])
            for symbol, choice in self._choices.items()
        }
        self._changing = _change_costs(self._choices, _pairs(symbols), neck)

    def shapes(self, picks: Sequence[int]) -> tuple[Shape, ...]:
        return tuple(
            self._choices[symbol][pick].shape for symbol, pick in zip(self._symbols, picks, strict=True)
        )

    def cost(self, picks: Sequence[int], repeats: bool) -> float:
        """Of one candidate a chord: shapes and changes together."""
        names = self._symbols
        holding = sum(self._holding[name][pick] for name, pick in zip(names, picks, strict=True))
        changing = sum(
            self._changing[names[here], names[there]][picks[here], picks[there]]
            for here, there in _changes(len(names), repeats)
        )
        return float(holding + changing)

    def best(self, repeats: bool, free: bool) -> list[int]:
        """The cheapest candidates; free: a chord may be played now with one, now with another."""
        return self._shortest_path(repeats) if free else self._one_a_chord(repeats)

    def _one_a_chord(self, repeats: bool) -> list[int]:
        names = self._symbols
        times = Counter(names)
        changes = Counter((names[here], names[there]) for here, there in _changes(len(names), repeats))
        picks = cheapest_once(
            {name: costs * times[name] for name, costs in self._holding.items()},
            {pair: self._changing[pair] * often for pair, often in changes.items() if pair[0] != pair[1]},
        )
        return [picks[name] for name in names]

    def _shortest_path(self, repeats: bool) -> list[int]:
        """When the song repeats, a path is kept for each first candidate."""
        names = self._symbols
        holding = self._holding[names[0]]
        paths = np.where(np.eye(len(holding), dtype=bool), holding, np.inf) if repeats else holding[None]
        came_from = []
        for here, there in pairwise(names):
            tried = paths[:, :, None] + self._changing[here, there]
            came_from.append(tried.argmin(axis=1))
            paths = tried.min(axis=1) + self._holding[there]
        if repeats and len(names) > 1:
            paths = paths + self._changing[names[-1], names[0]].T
        start, pick = np.unravel_index(int(paths.argmin()), paths.shape)
        picks = [int(pick)]
        for back in reversed(came_from):
            picks.append(int(back[start, picks[-1]]))
        return picks[::-1]


def _named_once(symbols: Sequence[str], chosen: Mapping[str, object]) -> tuple[str, ...]:
    """Chords that sound alike by the name that comes first, so that C#m and Dbm are fingered alike; but for
    those whose frets are named."""
    first: dict[object, str] = {}
    return tuple(
        symbol
        if symbol in chosen or parse_chosen(symbol).frets
        else first.setdefault(sound_of(parse_chosen(symbol).symbol), symbol)
        for symbol in symbols
    )


def _changes(length: int, repeats: bool) -> list[tuple[int, int]]:
    """The places of the chords of each change."""
    last = [(length - 1, 0)] if repeats and length > 1 else []
    return [*pairwise(range(length)), *last]


def _pairs(symbols: Sequence[str]) -> list[tuple[str, str]]:
    """The distinct changes of chords, that from the last to the first among them."""
    return list(
        dict.fromkeys((symbols[here], symbols[there]) for here, there in _changes(len(symbols), True))
    )


def _change_costs(
    choices: Mapping[str, Sequence[Candidate]], pairs: Sequence[tuple[str, str]], neck: NeckSize
) -> dict[tuple[str, str], Floats]:
    """For each change of chords the cost from every candidate (row) to every candidate (column)."""
    shapes = [candidate.shape for choice in choices.values() for candidate in choice]
    counts = [len(choice) for choice in choices.values()]
    starts = np.cumsum([0, *counts[:-1]])
    rows = {
        symbol: np.arange(start, start + count)
        for symbol, start, count in zip(choices, starts, counts, strict=True)
    }
    hands = read_hands(shapes, neck)
    costs: dict[tuple[str, str], Floats] = {}
    for start in range(0, len(pairs), CHANGES_AT_ONCE):
        batch = pairs[start : start + CHANGES_AT_ONCE]
        grids = [np.meshgrid(rows[here], rows[there], indexing="ij") for here, there in batch]
        here_rows = np.concatenate([here.ravel() for here, _ in grids])
        there_rows = np.concatenate([there.ravel() for _, there in grids])
        every = compare(hands.take(here_rows), hands.take(there_rows)).cost
        parts = np.split(every, np.cumsum([here.size for here, _ in grids])[:-1])
        costs |= {
            pair: part.reshape(here.shape) for pair, part, (here, _) in zip(batch, parts, grids, strict=True)
        }
    return costs
