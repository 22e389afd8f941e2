"""Keep C libraries that print their troubles off the player's terminal: we say them in one sentence."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Iterator

_lock = threading.Lock()


@contextlib.contextmanager
def quiet_stderr() -> Iterator[None]:
    """While inside, whatever is written to file descriptor 2 goes nowhere."""
    with _lock:
        sys.stderr.flush()
        try:
            kept = os.dup(2)
        except OSError:
            # There is no standard error to keep quiet, as under a windowed Python.
            yield
            return
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 2)
            os.close(nowhere)
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
