"""A bar on the terminal for what takes longer than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TextIO, TypeVar

from pedaltrainer.system.terminal import harmless

T = TypeVar("T")

PATIENCE_S = 1.0
CELLS = 30


def with_bar(
    items: Sequence[T],
    doing: str,
    out: TextIO | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Iterator[T]:
    """The items in turn; after a second, a bar says how many are done. It is wiped away at the end.

    out: where (the standard error); nothing is drawn when that is not a terminal.
    """
    out, doing = sys.stderr if out is None else out, harmless(doing)
    began_s, drawn = clock(), False
    try:
        for done, item in enumerate(items):
            if out.isatty() and clock() - began_s > PATIENCE_S:
                full = CELLS * done // len(items)
                out.write(f"\r{doing} {'█' * full}{'·' * (CELLS - full)} {done} of {len(items)}")
                out.flush()
                drawn = True
            yield item
    finally:
        if drawn:
            out.write("\r\x1b[K")
            out.flush()
