"""Jumps in a song: D.C. and D.S., to the end, to *Fine* or by way of a coda. Pure.

After the jump repeats are not taken again and of endings only the last is played (common practice, no
published source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple


class Sign(StrEnum):
    """What stands at a bar. From FINE on they hold at its end, the others at its beginning."""

    SEGNO = "segno"
    CODA = "coda"
    FINE = "fine"
    TO_CODA = "to coda"
    DA_CAPO = "da capo"
    DAL_SEGNO = "dal segno"
    CODA_SIGN = "coda sign"
    """Drawn, not in words: the way to the coda before a jump, and the coda after it."""


JUMPS = frozenset({Sign.DA_CAPO, Sign.DAL_SEGNO})
AT_THE_BEGINNING = frozenset({Sign.SEGNO, Sign.CODA})
SIGN_WORDS = {
    Sign.SEGNO: "Segno",
    Sign.CODA: "Coda",
    Sign.FINE: "Fine",
    Sign.TO_CODA: "To Coda",
    Sign.DA_CAPO: "D.C.",
    Sign.DAL_SEGNO: "D.S.",
    Sign.CODA_SIGN: "coda sign",
}


class Followed(NamedTuple):
    """The bars as they are played, and the signs by which they are, each with its bar."""

    order: list[int]
    used: frozenset[tuple[int, Sign]] = frozenset()


def followed(
    order: Sequence[int],
    written: int,
    signs: Mapping[int, Set[Sign]],
    passed_over: Set[int],
    targets: Mapping[int, int] = MappingProxyType({}),
) -> Followed:
    """The bars as they are played, with the first jump followed once.

    order: the written bars as played without jumps; written: how many there are; passed_over: those of
    endings but the last; targets: the bars that the D.S. and the To Coda of a bar name, where they name one.
    A jump is taken when its bar is played for the last time.
    """
    jumps = [place for place, bar in enumerate(order) if signs.get(bar, frozenset()) & JUMPS]
    if not jumps:
        return Followed(list(order))
    jump = order[jumps[0]]
    place = max(at for at in jumps if order[at] == jump)
    after, used = _after(jump, written, signs, passed_over, targets)
    return Followed([*order[: place + 1], *after], used)


def _after(
    jump: int,
    written: int,
    signs: Mapping[int, Set[Sign]],
    passed_over: Set[int],
    targets: Mapping[int, int],
) -> Followed:
    found, bar = list[int](), 0
    used = {(jump, Sign.DA_CAPO)} & {(jump, sign) for sign in signs[jump]}
    if Sign.DAL_SEGNO in signs[jump]:
        segno = targets.get(jump, _first(Sign.SEGNO, signs))
        used = {(jump, Sign.DAL_SEGNO), (segno, Sign.SEGNO)}
        bar = max(segno, 0)
    while bar < written:
        here = signs.get(bar, frozenset())
        if bar not in passed_over:
            found.append(bar)
            if Sign.FINE in here:
                used.add((bar, Sign.FINE))
                break
            coda = targets.get(bar, _first(Sign.CODA, signs))
            if Sign.TO_CODA in here and bar < coda:
                used |= {(bar, Sign.TO_CODA), (coda, Sign.CODA)}
                bar = coda
                continue
        bar += 1
    return Followed(found, frozenset(used))


def _first(sign: Sign, signs: Mapping[int, Set[Sign]]) -> int:
    """The first bar with it, -1 for none."""
    return min((bar for bar, those in signs.items() if sign in those), default=-1)


def unused(signs: Mapping[int, Set[Sign]], used: Set[tuple[int, Sign]]) -> list[tuple[int, Sign]]:
    """The signs that nothing came of, in the order of their bars."""
    return sorted({(bar, sign) for bar, those in signs.items() for sign in those} - used)
