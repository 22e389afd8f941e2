"""In which order the measures of a score are played: repeats and voltas followed. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Signs:
    """The signs on one measure. backward: how often what it closes is played in all, 0 for no sign there.

    endings: the rounds in which it is played, empty for all.
    """

    forward: bool = False
    backward: int = 0
    endings: frozenset[int] = frozenset()


def play_order(signs: Sequence[Signs], most: int) -> list[int] | None:
    """The 0-based measures in the order they are played; None when they are more than `most`.

    A closing sign goes back to the last opening one, or to the end of the repeat before. Endings are played
    in their own rounds; after the last of them counting begins anew.
    """
    order: list[int] = []
    index, begin, turn = 0, 0, 1
    rounds = _rounds(signs)
    while index < len(signs):
        sign = signs[index]
        leaves_endings = index > begin and signs[index - 1].endings and not sign.endings
        if (sign.forward and index != begin) or leaves_endings:
            begin, turn = index, 1
        if sign.endings and turn not in sign.endings:
            index += 1
            continue
        order.append(index)
        if len(order) > most:
            return None
        if sign.backward and turn < max(
            rounds[index], 0 if sign.endings else sign.backward, 2 * bool(sign.endings)
        ):
            index, turn = begin, turn + 1
            continue
        index += 1
        if sign.backward and not sign.endings:
            begin, turn = index, 1
    return order


def _rounds(signs: Sequence[Signs]) -> list[int]:
    """For each measure in a row of endings the last round of that row; 0 for the others."""
    rounds = [0] * len(signs)
    start = 0
    for index in range(len(signs) + 1):
        if index < len(signs) and signs[index].endings:
            continue
        row = signs[start:index]
        rounds[start:index] = [max(max(sign.endings) for sign in row)] * len(row) if row else []
        start = index + 1
    return rounds
