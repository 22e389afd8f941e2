"""Keep C libraries that print their troubles off the player's terminal: we say them in one sentence."""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

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


def hush_alsa() -> None:
    """Let no ALSA library that is loaded by now print its complaints, whenever and on whichever thread.

    Each wheel brings its own, and a library may go on complaining long after it was opened. Elsewhere than on
    Linux there is none.
    """
    if not sys.platform.startswith("linux"):
        return
    with contextlib.suppress(OSError, AttributeError):
        loaded = Path("/proc/self/maps").read_text(encoding="utf-8", errors="replace").splitlines()
        paths = {line.split(maxsplit=5)[-1] for line in loaded if "/libasound" in line}
        # In place of the library's printer any C function that does nothing with what it is given: no lock of
        # the interpreter is waited for on a thread of sound.
        nothing = ctypes.cast(ctypes.CDLL(None).abs, ctypes.c_void_p)
        for path in paths:
            ctypes.CDLL(path).snd_lib_error_set_handler(nothing)
