"""How what takes longer than a second says how far it is, without knowing to whom."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

T = TypeVar("T")


class Waiting(Protocol):
    """Gives the items in turn, and may say on the way what is being done and how far it is."""

    def __call__(self, items: Sequence[T], doing: str, /) -> Iterable[T]: ...


def in_silence(items: Sequence[T], doing: str) -> Iterable[T]:
    """The items in turn, without a word."""
    return items
