"""The cheapest single choice a name, where names cost something alone and in pairs: a song fingered once.

Names are put out one after another, each with the best it can do for every choice of its neighbours
(U. Bertele and F. Brioschi, "Nonserial Dynamic Programming", 1972). That is exact as long as no
table grows too large; a name that is tangled up with too many others is first settled by descent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np
import numpy.typing as npt

Table = npt.NDArray[np.float64]
Pair = tuple[str, str]
Scoped = tuple[tuple[str, ...], Table]
"""A table and the names of its axes."""

MOST_ENTRIES = 1 << 17
"""Of one table: six names of seven choices each."""


def cheapest_once(alone: Mapping[str, Table], together: Mapping[Pair, Table]) -> dict[str, int]:
    """The choice of each name that makes the sum least; never dearer than the first choice of every name.

    alone: the cost of each choice of a name. together: for a pair of two names, from the first one's choices
    (rows) to the second one's (columns).
    """
    beside = _beside(alone, together)
    return _settled(alone, beside, _descended(alone, beside, dict.fromkeys(alone, 0)))


def _beside(names: Iterable[str], together: Mapping[Pair, Table]) -> dict[str, dict[str, Table]]:
    """For each name its neighbours, with the cost from its choices (rows) to theirs, either way round."""
    beside: dict[str, dict[str, Table]] = {name: {} for name in names}
    for (here, there), table in together.items():
        for name, other, costs in ((here, there, table), (there, here, table.T)):
            beside[name][other] = beside[name].get(other, 0.0) + costs
    return beside


def _descended(
    alone: Mapping[str, Table], beside: Mapping[str, Mapping[str, Table]], picks: Mapping[str, int]
) -> dict[str, int]:
    """Choices that no name can better on its own."""
    best = dict(picks)
    moved = True
    while moved:
        moved = False
        for name, costs in alone.items():
            total = sum((table[:, best[other]] for other, table in beside[name].items()), costs)
            pick = int(total.argmin())
            if total[pick] < total[best[name]] - 1e-9:
                best[name], moved = pick, True
    return best


def _settled(
    alone: Mapping[str, Table], beside: Mapping[str, Mapping[str, Table]], guess: Mapping[str, int]
) -> dict[str, int]:
    tables: list[Scoped] = [((name,), costs) for name, costs in alone.items()]
    tables += [
        ((name, other), costs) for name in beside for other, costs in beside[name].items() if name < other
    ]
    sizes = {name: len(costs) for name, costs in alone.items()}
    scopes = {name: {name, *beside[name]} for name in alone}
    picks: dict[str, int] = {}
    put_out: list[tuple[str, tuple[str, ...], npt.NDArray[np.intp]]] = []

    def entries_of(name: str) -> int:
        return math.prod(sizes[each] for each in scopes[name])

    entries = {name: entries_of(name) for name in scopes}
    while scopes:
        name = min(entries, key=entries.__getitem__)
        tangled = entries[name] > MOST_ENTRIES
        if tangled:
            name = max(scopes, key=lambda each: len(scopes[each]))
            picks[name] = guess[name]
        others = tuple(sorted(scopes.pop(name) - {name}))
        mine = [(scope, table) for scope, table in tables if name in scope]
        tables = [(scope, table) for scope, table in tables if name not in scope]
        del entries[name]
        for other in others:
            scopes[other] -= {name}
            scopes[other] |= set() if tangled else set(others)
            entries[other] = entries_of(other)
        if tangled:
            for scope, table in mine:
                rest = tuple(each for each in scope if each != name)
                tables.append((rest, np.asarray(table.take(picks[name], axis=scope.index(name)))))
            continue
        total = _joined(mine, (name, *others))
        put_out.append((name, others, total.argmin(axis=0)))
        tables.append((others, np.asarray(total.min(axis=0))))
    for name, others, best in reversed(put_out):
        picks[name] = int(best[tuple(picks[other] for other in others)])
    return picks


def _joined(tables: Iterable[Scoped], names: tuple[str, ...]) -> Table:
    """The sum of tables as one over all of these names, in their order."""
    total = np.zeros(1)
    for scope, table in tables:
        order = sorted(range(len(scope)), key=lambda at: names.index(scope[at]))
        shape = [table.shape[scope.index(each)] if each in scope else 1 for each in names]
        total = total + table.transpose(order).reshape(shape)
    return total.reshape(total.shape[-len(names) :])
