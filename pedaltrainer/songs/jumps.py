"""Jumps in a song: D.C. and D.S., to the end, to *Fine* or by way of a coda. Pure.

After the jump repeats are not taken again and of endings only the last is played, until new bars come (common
practice, no published source).
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
    AL_FINE = "al fine"
    AL_CODA = "al coda"
    CODA_SIGN = "coda sign"
    """Drawn, not in words: the way to the coda before a jump, and the coda after it."""


JUMPS = frozenset({Sign.DA_CAPO, Sign.DAL_SEGNO})
AT_THE_BEGINNING = frozenset({Sign.SEGNO, Sign.CODA})
_WITH_A_JUMP = frozenset({Sign.AL_FINE, Sign.AL_CODA})
SIGN_WORDS = {
    Sign.SEGNO: "Segno",
    Sign.CODA: "Coda",
    Sign.FINE: "Fine",
    Sign.TO_CODA: "To Coda",
    Sign.DA_CAPO: "D.C.",
    Sign.DAL_SEGNO: "D.S.",
    Sign.AL_FINE: "al Fine",
    Sign.AL_CODA: "al Coda",
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
    used = {(jump, sign) for sign in signs[jump] & JUMPS}
    begin = 0
    if Sign.DAL_SEGNO in signs[jump]:
        segno = targets.get(jump, _first(Sign.SEGNO, signs))
        used.add((segno, Sign.SEGNO))
        begin = max(segno, 0)
    again = [bar for bar in range(begin, jump + 1) if bar not in passed_over]
    coming = [*again, *order[place + 1 :]]
    found: list[int] = []
    while coming:
        bar, *coming = coming
        found.append(bar)
        here = signs.get(bar, frozenset()) if bar not in coming else frozenset()
        if Sign.FINE in here:
            used |= {(bar, Sign.FINE), (jump, Sign.AL_FINE)}
            break
        coda = targets.get(bar, _first(Sign.CODA, signs))
        if Sign.TO_CODA in here and coda in coming:
            used |= {(bar, Sign.TO_CODA), (coda, Sign.CODA), (jump, Sign.AL_CODA)}
            coming = coming[coming.index(coda) :]
    return Followed([*order[: place + 1], *found], frozenset(used))


def _first(sign: Sign, signs: Mapping[int, Set[Sign]]) -> int:
    """The first bar with it, -1 for none."""
    return min((bar for bar, those in signs.items() if sign in those), default=-1)


def unused(signs: Mapping[int, Set[Sign]], used: Set[tuple[int, Sign]]) -> list[tuple[int, Sign]]:
    """The signs that nothing came of, by their bars; of a jump that is not taken itself alone."""
    taken = {bar for bar, sign in used if sign in JUMPS}
    return sorted(
        (bar, sign)
        for bar, those in signs.items()
        for sign in those
        if (bar, sign) not in used and (bar in taken or sign not in _WITH_A_JUMP)
    )
