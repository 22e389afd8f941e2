"""Signals that end a session as closing its window does."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType

_NAMES = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
ENDING = tuple(getattr(signal, name) for name in _NAMES if hasattr(signal, name))


@dataclass(slots=True)
class EndRequest:
    """Whether a signal has asked for the end. Asked again it is no more than asked: nothing is cut short."""

    asked: bool = False

    def ask(self, number: int, frame: FrameType | None) -> None:
        # No lock, no event: a signal may come while another one is being handled.
        self.asked = True


@contextmanager
def by_signals() -> Iterator[EndRequest]:
    """While inside, signals only ask for the end. One that is ignored, as `nohup` has it, stays ignored.

    Outside the main thread nothing changes: signals are the main thread's.
    """
    ending = EndRequest()
    if threading.current_thread() is not threading.main_thread():
        yield ending
        return
    before = {number: signal.getsignal(number) for number in ENDING}
    try:
        for number, handler in before.items():
            if handler is not signal.SIG_IGN:
                signal.signal(number, ending.ask)
        yield ending
    finally:
        for number, handler in before.items():
            signal.signal(number, handler or signal.SIG_DFL)
