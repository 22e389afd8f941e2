"""Which MIDI library is used, and its ports behind one small interface.

MIDO_BACKEND in the environment wins. Otherwise python-rtmidi, on the first
system it can open (ALSA before JACK on Linux); where it is missing, PortMidi
in pygame's wheel, through mido's own backend for it; else none, with a reason.

RtMidi delivers by callback (see `rtmidi`).
PortMidi must be asked, so a thread asks it every millisecond; and it reads the
list of devices only when it starts, so it is started afresh while no port is
open. While one is open it cannot see that another was plugged in, nor (unless
reading fails) that its own was pulled out.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mido
from mido.backends.backend import Backend

from pedaltrainer.pedals.midi.ports import OnMessage, Output, Port, Ports, Statuses, output_of
from pedaltrainer.system.quiet import hush_alsa, quiet_stderr

RTMIDI, PORTMIDI = "mido.backends.rtmidi", "mido.backends.pygame"
ASK_S = 0.001
RESTART_S = 1.0
"""How often PortMidi may be started afresh to look for new devices."""
ALSA_SEQUENCER = Path("/dev/snd/seq")


@dataclass(frozen=True, slots=True)
class BackendChoice:
    """module is mido's name for the backend, None when there is none; api is RtMidi's system.

    reason is one sentence: why there is none, or what was chosen.
    """

    module: str | None
    api: str | None
    reason: str


def choose_backend() -> BackendChoice:
    """Find a MIDI library that works here. Never raises and prints nothing."""
    try:
        return _first_that_works()
    finally:
        hush_alsa()


def _first_that_works() -> BackendChoice:
    wished = os.environ.get("MIDO_BACKEND")
    reasons = []
    for module, api in [_parsed(wished)] if wished else _candidates():
        where = module.rpartition(".")[2] + (f" on {api}" if api else "")
        try:
            open_ports(BackendChoice(module, api, "")).close()
        except (ImportError, AttributeError, ValueError, OSError, RuntimeError) as error:
            reasons.append(f"{where}: {str(error).rstrip('.?')}")
        else:
            chosen = " (set by MIDO_BACKEND)" if wished else ""
            return BackendChoice(module, api, f"MIDI through {where}{chosen}.")
    return BackendChoice(None, None, f"There is no MIDI here ({'; '.join(reasons)}).")


def _parsed(wished: str) -> tuple[str, str | None]:
    """mido's own notation: the module, and after a slash the system."""
    module, _, api = wished.partition("/")
    return module, api or None


def _candidates() -> list[tuple[str, str | None]]:
    return [*((RTMIDI, api) for api in _rtmidi_systems()), (PORTMIDI, None)]


def open_ports(choice: BackendChoice) -> Ports:
    """The chosen backend's ports. Raises ImportError, ValueError, OSError or RuntimeError."""
    if choice.module is None:
        raise OSError(choice.reason)
    if choice.module == RTMIDI:
        from pedaltrainer.pedals.midi.rtmidi import RtMidiPorts

        return RtMidiPorts(choice.api)
    return _AskedPorts(choice.module, choice.api)


def _rtmidi_systems() -> list[str | None]:
    """The systems python-rtmidi was built for, best first; [None] when it is not installed."""
    try:
        import rtmidi
    except ImportError:
        return [None]
    from pedaltrainer.pedals.midi.rtmidi import system_names

    names = system_names()
    compiled = [names[number] for number in rtmidi.get_compiled_api()]
    return [name for name in compiled if name != "RTMIDI_DUMMY"]


class _AskedPorts:
    """A backend without callbacks: one thread per open port asks it."""

    def __init__(self, module: str, api: str | None) -> None:
        self.api = api
        self._restarts = module == PORTMIDI
        self.sees_changes = not self._restarts
        self._restarted_s = float("-inf")
        self._lock = threading.Lock()
        self._open: list[_AskedPort] = []
        self._outputs: list[Any] = []
        self._backend = Backend(module, api=api, use_environ=False)
        if self._restarts:
            os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
            if sys.platform == "linux" and not ALSA_SEQUENCER.exists():
                # PortMidi would start all the same, and never see a device.
                raise OSError("the ALSA sequencer is missing (kernel module snd-seq)")
        with quiet_stderr():
            self._backend.load()
            self._backend.get_input_names()

    def names(self) -> list[str]:
        with self._lock, quiet_stderr():
            self._open = [port for port in self._open if not port.closed]
            self._outputs = [port for port in self._outputs if not port.closed]
            if self._restarts and not (self._open or self._outputs):
                self._restart()
            failed = {port.name for port in self._open if port.failed}
            return [name for name in self._backend.get_input_names() if name not in failed]

    def _restart(self) -> None:
        now_s = time.perf_counter()
        if now_s - self._restarted_s >= RESTART_S:
            import pygame.midi

            pygame.midi.quit()
            self._restarted_s = now_s

    def open(self, name: str, on_message: OnMessage, statuses: Statuses = None) -> Port:
        with self._lock, quiet_stderr():
            port = _AskedPort(self._backend.open_input(name), name, on_message)
            self._open.append(port)
            return port

    def open_output(self, device: str) -> Output:
        with self._lock, quiet_stderr():
            name = output_of(device, self._backend.get_output_names(), self.api)
            if name is None:
                raise OSError(f'"{device}" has no MIDI output')
            return self._opened(name)

    def _opened(self, name: str) -> Output:
        port = _SentPort(self._backend.open_output(name))
        self._outputs.append(port)
        return port

    def output_names(self) -> list[str]:
        with self._lock, quiet_stderr():
            return list(self._backend.get_output_names())

    def open_output_named(self, name: str | None) -> Output:
        with self._lock, quiet_stderr():
            if name is None:
                raise OSError("this MIDI library has no virtual ports")
            return self._opened(name)

    def close(self) -> None:
        for port in self._open:
            port.close()


class _SentPort:
    """An output that takes bytes too."""

    def __init__(self, port: mido.ports.BaseOutput) -> None:
        self._port = port

    @property
    def closed(self) -> bool:
        return bool(self._port.closed)

    def send(self, message: Any) -> None:
        self._port.send(message)

    def send_bytes(self, data: bytes) -> None:
        self._port.send(mido.Message.from_bytes(data))

    def close(self) -> None:
        self._port.close()


class _AskedPort:
    def __init__(self, port: mido.ports.BaseInput, name: str, on_message: OnMessage) -> None:
        self.name = name
        self.failed = False
        self._port = port
        self._on_message = on_message
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._ask, name="midi reader", daemon=True)
        self._thread.start()

    @property
    def closed(self) -> bool:
        return self._stop.is_set()

    def want(self, statuses: Statuses) -> None:
        """PortMidi hands over what it likes: nothing costs less for not being wanted."""

    def close(self) -> None:
        if self._stop.is_set():
            return
        self._stop.set()
        self._thread.join()
        self._port.close()

    def _ask(self) -> None:
        while not self._stop.wait(ASK_S):
            try:
                messages = list(self._port.iter_pending())
            except Exception:
                # PortMidi says so in words of each system: the device was pulled out.
                self.failed = True
                return
            t_s = time.perf_counter()
            for message in messages:
                self._on_message(message, t_s)
