"""The thread that sends a MIDI clock: every message at the instant at which its sample is heard.

That instant is asked of the stream anew for each message, since the device's clock drifts from the
computer's; nothing adds up. The last of the wait is slept in short naps: a loop that held the interpreter
would keep a press waiting.
"""

from __future__ import annotations

import os
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from pedaltrainer.timing.midi_clock import CONTINUE, START, STOP, ClockMessage

REMEMBERED = 20_000
"""How many messages' lateness is kept."""
NAP_S = 0.02
"""The longest sleep: a break-off is obeyed within it."""
CLOSE_S = 0.0003
"""So near to its time a message is waited for in naps of NEAR_S."""
NEAR_S = 0.00005
REAL_TIME_PRIORITY = 10


class Heard(Protocol):
    """What a stream tells: the instant at which a second of it is heard."""

    def t_s(self, heard_s: float) -> float: ...


@dataclass(frozen=True, slots=True)
class SendingDelay:
    """How late messages were sent, in ms after the instant of their sample. messages: how many in all."""

    messages: int = 0
    median_ms: float = 0.0
    p99_ms: float = 0.0
    worst_ms: float = 0.0


@dataclass(slots=True, eq=False)
class _Following:
    """Messages to send. from_s: the heard second of sample 0."""

    messages: Sequence[ClockMessage]
    from_s: float
    rate: int
    stream: Heard


class ClockOut:
    """Sends a clock through `send`, from a thread of its own, until it is closed.

    offset_s is added to every instant: below 0 the clock is early, for a follower that is slow. trouble: why
    the last message could not be sent, in the words of what failed; "" when it was.
    """

    def __init__(self, send: Callable[[bytes], None], offset_s: float = 0.0) -> None:
        self._send, self._offset_s = send, offset_s
        self._wanted: _Following | None = None
        self._changed = threading.Condition()
        self._closing = False
        self._runs = False
        self._late_s: deque[float] = deque(maxlen=REMEMBERED)
        self._sent = 0
        self.trouble = ""
        self._thread = threading.Thread(target=self._run, name="clock out", daemon=True)
        self._thread.start()

    def follow(self, messages: Sequence[ClockMessage], from_s: float, rate: int, stream: Heard) -> None:
        """Send these in place of those before: sample 0 is at the heard second from_s of the stream."""
        self._want(_Following(messages, from_s, rate, stream))

    def stop(self) -> None:
        """Send no more; what follows is told to stop, if it runs."""
        self._want(None)

    def lateness(self) -> SendingDelay:
        # Copied at once: messages are sent meanwhile.
        late_ms = sorted(1000 * late_s for late_s in list(self._late_s))
        if not late_ms:
            return SendingDelay()
        median_ms, p99_ms = (late_ms[int(share * (len(late_ms) - 1))] for share in (0.5, 0.99))
        return SendingDelay(self._sent, round(median_ms, 3), round(p99_ms, 3), round(late_ms[-1], 3))

    def close(self) -> None:
        """Stop, and end the thread; may be called twice."""
        with self._changed:
            self._closing, self._wanted = True, None
            self._changed.notify()
        self._thread.join(timeout=1)

    def _want(self, following: _Following | None) -> None:
        with self._changed:
            self._wanted = following
            self._changed.notify()

    def _run(self) -> None:
        _in_real_time()
        followed: _Following | None = None
        while True:
            with self._changed:
                while self._wanted is followed and not self._closing:
                    self._changed.wait()
                closing, followed = self._closing, self._wanted
            if self._runs:
                self._give(STOP)
            if closing:
                return
            if followed is not None:
                self._send_all(followed)

    def _send_all(self, followed: _Following) -> None:
        for message in followed.messages:
            if not self._wait(followed, followed.from_s + message.sample / followed.rate):
                return
            self._give(message.data)

    def _wait(self, followed: _Following, heard_s: float) -> bool:
        """Until that second is heard; False when something else is wanted by then."""
        while self._wanted is followed and not self._closing:
            due_s = followed.stream.t_s(heard_s) + self._offset_s
            left_s = due_s - time.perf_counter()
            if left_s <= 0:
                self._late_s.append(-left_s)
                return True
            time.sleep(NEAR_S if left_s <= CLOSE_S else min(NAP_S, left_s - CLOSE_S))
        return False

    def _give(self, data: bytes) -> None:
        try:
            self._send(data)
        except Exception as trouble:  # whatever a MIDI library raises when its port is gone
            self.trouble = f"{type(trouble).__name__}: {trouble}"
            return
        self.trouble = ""
        self._sent += 1
        self._runs = data != STOP if data in (START, CONTINUE, STOP) else self._runs


def _in_real_time() -> None:
    """Ask the system to run this thread before others; it is content to be refused."""
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(REAL_TIME_PRIORITY))
    except (AttributeError, OSError):
        return
