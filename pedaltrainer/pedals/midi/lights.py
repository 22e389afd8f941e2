"""The lights of a pedalboard: which message lights what, and none left burning.

A row says which light stands for which moment. The message goes to the MIDI
output of the device of the same name. What "off" is differs: most lights go
out with the value 0, which is what is sent unless the row says otherwise.

Many controllers remember a light after their program has ended. So every light
of every row is put out at the end: on `close`, on an exception (context
manager), at the interpreter's exit, and on SIGTERM. Only SIGKILL leaves one on.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import FrameType
from typing import Any

import mido

from pedaltrainer.pedals.bindings import fits
from pedaltrainer.pedals.events import InputChange, InputStatus
from pedaltrainer.pedals.midi.ports import Output


class Moment(StrEnum):
    """What a light can stand for."""

    PASS_ = "pass"
    FAIL = "fail"
    LISTENING = "listening"


MESSAGES: Mapping[str, Callable[[int, int, int], Any]] = {
    "note": lambda number, channel, value: mido.Message(
        "note_on", note=number, channel=channel - 1, velocity=value
    ),
    "controller": lambda number, channel, value: mido.Message(
        "control_change", control=number, channel=channel - 1, value=value
    ),
}
"""Kind of light -> the message that gives it a value (number 0-127, channel 1-16, value 0-127)."""


@dataclass(frozen=True, slots=True)
class LightRow:
    """One light for one moment. device may hold "*", as in bindings.

    kind is a row of MESSAGES. Raises ValueError, naming the value, when a
    number cannot be sent.
    """

    device: str
    moment: Moment
    kind: str
    number: int
    channel: int = 1
    value: int = 127
    off_value: int = 0

    def __post_init__(self) -> None:
        if self.kind not in MESSAGES:
            raise ValueError(f'a light is a {" or a ".join(MESSAGES)}, not a "{self.kind}"')
        if not 1 <= self.channel <= 16:
            raise ValueError(f"the channel of a light is 1 to 16, not {self.channel}")
        for name in ("number", "value", "off_value"):
            if not 0 <= getattr(self, name) <= 127:
                raise ValueError(f"{name} of a light is 0 to 127, not {getattr(self, name)}")

    @property
    def lamp(self) -> tuple[str, int, int]:
        """What is the same for every row that uses the same light."""
        return self.kind, self.number, self.channel

    def on(self) -> Any:
        return MESSAGES[self.kind](self.number, self.channel, self.value)

    def off(self) -> Any:
        return MESSAGES[self.kind](self.number, self.channel, self.off_value)


class Lights:
    """Shows one moment at a time on every device that has lights. For use from any thread.

    open_output opens a device's MIDI output by its name, raising OSError or
    RuntimeError when it has none. Tell `input_changed` what comes and goes.
    """

    def __init__(self, rows: Iterable[LightRow], open_output: Callable[[str], Output]) -> None:
        self._rows = tuple(rows)
        self._open_output = open_output
        self._outputs: dict[str, Output] = {}
        self._moment: Moment | None = None
        self._closed = False
        # A signal may come to the thread that is just in here.
        self._lock = threading.RLock()
        self._before: Any = None
        self._catches_sigterm = False
        atexit.register(self.close)
        self._catch_sigterm()

    def input_changed(self, change: InputStatus) -> None:
        """A device came, went or came back; one that came shows the present moment."""
        rows = self._rows_of(change.device)
        if not rows:
            return
        with self._lock:
            old = self._outputs.pop(change.device, None)
            if old is not None:
                _close(old)
            if self._closed or change.change not in (InputChange.FOUND, InputChange.BACK):
                return
            try:
                self._outputs[change.device] = self._open_output(change.device)
            except (OSError, RuntimeError):
                return
            self._send(change.device, _put_out(rows, frozenset()))
            self._send(change.device, [row.on() for row in rows if row.moment is self._moment])

    def show(self, moment: Moment | None) -> None:
        """Light what stands for this moment and put out all else; None puts all out."""
        with self._lock:
            if self._closed or moment is self._moment:
                return
            before, self._moment = self._moment, moment
            for device in tuple(self._outputs):
                rows = self._rows_of(device)
                now = [row for row in rows if row.moment is moment]
                was = [row for row in rows if row.moment is before]
                self._send(device, _put_out(was, frozenset(row.lamp for row in now)))
                self._send(device, [row.on() for row in now])

    def close(self) -> None:
        """Put out every light and let go of the outputs. Safe to call twice."""
        with self._lock:
            if self._closed:
                return
            self._closed = True
            for device in tuple(self._outputs):
                self._send(device, _put_out(self._rows_of(device), frozenset()))
            for output in self._outputs.values():
                _close(output)
            self._outputs.clear()
        atexit.unregister(self.close)
        self._let_sigterm_go()

    def _rows_of(self, device: str) -> list[LightRow]:
        return [row for row in self._rows if device and fits(row.device, device)]

    def _send(self, device: str, messages: Iterable[Any]) -> None:
        output = self._outputs.get(device)
        if output is None:
            return
        try:
            for message in messages:
                output.send(message)
        except (OSError, RuntimeError):
            # Pulled out just now: its return opens it anew.
            del self._outputs[device]
            _close(output)

    def _catch_sigterm(self) -> None:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGTERM, self._terminated)
            self._catches_sigterm = True

    def _let_sigterm_go(self) -> None:
        """Put back what SIGTERM did before, unless others have set it since or this is no place to."""
        if not self._catches_sigterm or threading.current_thread() is not threading.main_thread():
            return
        self._catches_sigterm = False
        if signal.getsignal(signal.SIGTERM) == self._terminated:
            signal.signal(signal.SIGTERM, signal.SIG_DFL if self._before is None else self._before)

    def _terminated(self, number: int, frame: FrameType | None) -> None:
        before = self._before
        self.close()
        if callable(before):
            before(number, frame)
        elif before is not signal.SIG_IGN:
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            os.kill(os.getpid(), signal.SIGTERM)


def _put_out(rows: Iterable[LightRow], but: frozenset[tuple[str, int, int]]) -> list[Any]:
    """The messages that put out the lights of these rows, each once, save those in `but`."""
    offs = {row.lamp: row.off() for row in rows if row.lamp not in but}
    return list(offs.values())


def _close(output: Output) -> None:
    with contextlib.suppress(OSError, RuntimeError):
        output.close()
