"""MIDI ports through python-rtmidi.

Its callback runs in the MIDI system's own thread: what cannot matter is
dropped there, most of it before Python is even called (clock comes 24 times a
beat), the rest before a message object is made of it.

A JACK server can die under us. Its client library then goes on listing the
ports there were, so when nothing has changed for a while the lister opens a
port of its own: when that fails, the server is gone. It does so sparingly and
never as a device comes: every port that opens or closes makes the server order
its clients anew, and on a busy machine one that joins in the same moment can
be left out for good: connected, and never called (JACK 1.9.21 without -S).

A port that closes while one of its messages waits for the interpreter is a
trap: python-rtmidi (1.5.8) lets go of what it is about to call, which corrupts
memory, and ALSA then waits for a thread that waits for us. So what is called is
never freed, and a port is given time for its last call before it closes.
"""

from __future__ import annotations

import ctypes
import gc
import time
from typing import Any

import mido

from pedaltrainer.pedals.midi.ports import CLIENT_NAME, OnMessage, Output, Port, Statuses, output_of
from pedaltrainer.system.quiet import quiet_stderr

PROBE_S = 1.0
"""How often a JACK server is asked whether it still lives."""
JOIN_S = 0.05
"""How long a JACK server may take to carry what an output sends; what is sent before is swallowed."""
DRAIN_S = 0.1
"""How long an output that is to be closed may take to send what it was given."""
LAST_CALL_S = 0.02
"""How long a message that already waits for the interpreter may take to come through as its port closes."""
SYSEX, QUARTER_FRAME, CLOCK, SENSING = 0xF0, 0xF1, 0xF8, 0xFE

# What python-rtmidi calls, of ports that have closed: some hundred bytes each.
_called: list[Any] = []


def _drop(message: Any, t_s: float) -> None:
    """What comes to a port that is closing."""


def system_names() -> dict[int, str]:
    """RtMidi's numbers for the systems it knows, with their names."""
    import rtmidi

    return {
        value: name.removeprefix("API_") for name, value in vars(rtmidi).items() if name.startswith("API_")
    }


class _System:
    """The MIDI system that clients belong to, and whether it has died under them."""

    def __init__(self) -> None:
        self.gone = False

    def let_go(self, client: Any) -> None:
        """Delete a client; of a dead system's, let nothing touch it any more.

        JACK's library crashes the whole program when a client of a server
        that has gone is closed, by us or by the interpreter as it tidies up.
        So such a client is never freed: a few kilobytes for each dead server.
        """
        if self.gone:
            ctypes.pythonapi.Py_IncRef(ctypes.py_object(client))
            return
        with quiet_stderr():
            client.close_port()
            client.delete()


class RtMidiPorts:
    """One long-lived client lists the ports; each open port is a client of its own."""

    sees_changes = True

    def __init__(self, api: str | None) -> None:
        import rtmidi

        self._rtmidi = rtmidi
        self._system = _System()
        self._number = getattr(rtmidi, f"API_{api}") if api else rtmidi.API_UNSPECIFIED
        with quiet_stderr():
            self._lister = rtmidi.MidiIn(self._number, name=CLIENT_NAME)
        self._number = self._lister.get_current_api()
        self.api: str | None = system_names()[self._number]
        self._listed: list[str] = []
        self._alive_s = time.perf_counter()

    def names(self) -> list[str]:
        names = list(self._lister.get_ports())
        now_s = time.perf_counter()
        if names != self._listed:
            # News from a server is a sign of its life.
            self._listed, self._alive_s = names, now_s
        elif self.api == "UNIX_JACK" and now_s - self._alive_s >= PROBE_S:
            try:
                self._probe()
            except (OSError, RuntimeError):
                self._system.gone = True
                raise
            self._alive_s = now_s
        return names

    def open(self, name: str, on_message: OnMessage, statuses: Statuses = None) -> Port:
        with quiet_stderr():
            client = self._rtmidi.MidiIn(self._number, name=CLIENT_NAME)
            _open_by_name(client, name, "in")
        return _RtMidiPort(client, self._system, on_message, statuses)

    def open_output(self, device: str) -> Output:
        with quiet_stderr():
            client = self._rtmidi.MidiOut(self._number, name=CLIENT_NAME)
            name = output_of(device, client.get_ports(), self.api)
            if name is None:
                client.delete()
                raise OSError(f'"{device}" has no MIDI output')
        return self._output(client, name, "lights")

    def output_names(self) -> list[str]:
        with quiet_stderr():
            client = self._rtmidi.MidiOut(self._number, name=CLIENT_NAME)
            names = list(client.get_ports())
        self._system.let_go(client)
        return names

    def open_output_named(self, name: str | None) -> Output:
        with quiet_stderr():
            client = self._rtmidi.MidiOut(self._number, name=CLIENT_NAME)
        return self._output(client, name, "clock")

    def _output(self, client: Any, name: str | None, own_name: str) -> Output:
        with quiet_stderr():
            if name is not None:
                _open_by_name(client, name, own_name)
            else:
                _open_virtual(client, own_name)
        if self.api == "UNIX_JACK":
            time.sleep(JOIN_S)
        return _RtMidiOutput(client, self._system)

    def close(self) -> None:
        self._system.let_go(self._lister)

    def _probe(self) -> None:
        """Raise OSError when the server is gone: it takes no port of ours any more.

        Tried twice, for the port used may have been pulled out in between.
        With no port there is nothing to lose, and a new client is the probe.
        """
        with quiet_stderr():
            if not self._lister.get_ports():
                new = self._rtmidi.MidiIn(self._number, name=CLIENT_NAME)
                self._lister.delete()
                self._lister = new
                return
            if not (self._takes_a_port() or self._takes_a_port()):
                raise OSError("the JACK server has gone")

    def _takes_a_port(self) -> bool:
        try:
            self._lister.open_port(0, "watch")
        except (OSError, RuntimeError, ValueError, self._rtmidi.RtMidiError):
            return not self._lister.get_ports()
        self._lister.close_port()
        return True


def _open_by_name(client: Any, name: str, own_name: str) -> None:
    """Open the port of this name. Raises OSError, with the client deleted, when that cannot be."""
    try:
        client.open_port(client.get_ports().index(name), own_name)
    except Exception as error:
        # Which of its many errors RtMidi raises differs from system to system.
        client.delete()
        raise OSError(f'"{name}" cannot be opened: {error}') from error


def _open_virtual(client: Any, own_name: str) -> None:
    """Raises OSError, with the client deleted, where the system has no virtual ports."""
    try:
        client.open_virtual_port(own_name)
    except Exception as error:
        client.delete()
        raise OSError("this system has no virtual MIDI ports") from error


class _RtMidiPort:
    def __init__(self, client: Any, system: _System, on_message: OnMessage, statuses: Statuses) -> None:
        self._client = client
        self._system = system
        self._on_message = on_message
        self._statuses: Statuses = None
        self.want(statuses)
        client.set_callback(self._hear)

    def want(self, statuses: Statuses) -> None:
        everything = statuses is None
        wanted = statuses or frozenset()
        self._statuses = statuses
        self._client.ignore_types(
            sysex=not everything and SYSEX not in wanted,
            timing=not everything and wanted.isdisjoint({CLOCK, QUARTER_FRAME}),
            active_sense=not everything and SENSING not in wanted,
        )

    def _hear(self, event: tuple[list[int], float], _: object) -> None:
        """RtMidi's callback: the time first, then nothing for messages that are not wanted."""
        t_s = time.perf_counter()
        data, statuses = event[0], self._statuses
        status = data[0]
        if statuses is not None and (status if status >= SYSEX else status & 0xF0) not in statuses:
            return
        try:
            message = mido.Message.from_bytes(data)
        except ValueError:
            # Not a message of the MIDI specification: a pedal with a fault, or one cut off by a replug.
            return
        self._on_message(message, t_s)

    def close(self) -> None:
        client, self._client = self._client, None
        if client is not None:
            self._on_message = _drop
            _called.append(gc.get_referents(client))
            # First, so that no message finds a half closed port.
            client.cancel_callback()
            time.sleep(LAST_CALL_S)
            self._system.let_go(client)


class _RtMidiOutput:
    def __init__(self, client: Any, system: _System) -> None:
        self._client = client
        self._system = system

    def send(self, message: Any) -> None:
        self._client.send_message(message.bytes())

    def send_bytes(self, data: bytes) -> None:
        self._client.send_message(data)

    def close(self) -> None:
        client, self._client = self._client, None
        if client is not None:
            # JACK takes what was sent in its next cycle; a port closed before that swallows it.
            time.sleep(DRAIN_S)
            self._system.let_go(client)
