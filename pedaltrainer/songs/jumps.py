"""Jumps in a song: D.C. and D.S., to the end, to *Fine* or by way of a coda. Pure.

After the jump repeats are not taken again and of endings only the last is played (common practice, no
published source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from enum import StrEnum


class Sign(StrEnum):
    """What stands at a bar. From FINE on they hold at its end, the others at its beginning."""

    SEGNO = "segno"
    CODA = "coda"
    FINE = "fine"
    TO_CODA = "to coda"
    DA_CAPO = "da capo"
    DAL_SEGNO = "dal segno"


JUMPS = frozenset({Sign.DA_CAPO, Sign.DAL_SEGNO})
AT_THE_BEGINNING = frozenset({Sign.SEGNO, Sign.CODA})


def followed(
    order: Sequence[int], written: int, signs: Mapping[int, Set[Sign]], passed_over: Set[int]
) -> list[int]:
    """The bars as they are played, with the first jump followed once.

    order: the written bars as played without jumps; written: how many there are; passed_over: those of
    endings but the last. A jump is taken when its bar is played for the last time.
    """
    jumps = [place for place, bar in enumerate(order) if signs.get(bar, frozenset()) & JUMPS]
    if not jumps:
        return list(order)
    bar = order[jumps[0]]
    place = max(at for at in jumps if order[at] == bar)
    return [*order[: place + 1], *_after(bar, written, signs, passed_over)]


def _after(jump: int, written: int, signs: Mapping[int, Set[Sign]], passed_over: Set[int]) -> list[int]:
    begin = 0
    if Sign.DAL_SEGNO in signs[jump]:
        begin = next((bar for bar in range(written) if Sign.SEGNO in signs.get(bar, ())), 0)
    coda = next((bar for bar in range(written) if Sign.CODA in signs.get(bar, ())), None)
    found, bar = [], begin
    while bar < written:
        here = signs.get(bar, frozenset())
        if bar not in passed_over:
            found.append(bar)
            if Sign.FINE in here:
                break
            if coda is not None and Sign.TO_CODA in here and bar < coda:
                bar = coda
                continue
        bar += 1
    return found
