"""MIDI outputs by name, for the clock that others follow: also those that are no inputs (a looper)."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.midi.backend import choose_backend, open_ports
from pedaltrainer.pedals.midi.ports import Output, Ports, plain_name

VIRTUAL = "virtual"
"""A port of our own, which other programs may connect to, where the system has such ports."""


def output_names() -> list[str]:
    """The MIDI outputs there are now, without the system's numbering; none where there is no MIDI."""
    choice = choose_backend()
    if choice.module is None:
        return []
    try:
        ports = open_ports(choice)
    except (ImportError, ValueError, OSError, RuntimeError):
        return []
    try:
        return sorted({plain_name(name, ports.api) for name in ports.output_names()})
    except (OSError, RuntimeError):
        return []
    finally:
        ports.close()


class ClockPort:
    """An open output. name: its plain name."""

    def __init__(self, ports: Ports, output: Output, name: str) -> None:
        self._ports, self._output, self.name = ports, output, name

    def send(self, data: bytes) -> None:
        """Send the bytes of one message. Raises whatever the MIDI library does when the port has gone."""
        self._output.send_bytes(data)

    def close(self) -> None:
        self._output.close()
        self._ports.close()


def open_clock_port(wanted: str) -> ClockPort:
    """The output whose name is, or has in it, `wanted`, in any case; VIRTUAL for one of our own.

    Raises InputError naming the outputs there are, when there is none, more than one, or it cannot be opened.
    """
    choice = choose_backend()
    if choice.module is None:
        raise InputError(f"No MIDI clock can be sent: {choice.reason[:1].lower()}{choice.reason[1:]}")
    try:
        ports = open_ports(choice)
        names = {name: plain_name(name, ports.api) for name in ports.output_names()}
        name = None if wanted == VIRTUAL else _only(names, wanted)
        output = ports.open_output_named(name)
    except (ImportError, ValueError, OSError, RuntimeError) as trouble:
        raise InputError(f"No MIDI clock can be sent to “{wanted}”: {str(trouble).rstrip('.')}.") from trouble
    return ClockPort(ports, output, VIRTUAL if name is None else names[name])


def _only(names: dict[str, str], wanted: str) -> str:
    plain = wanted.casefold()
    exact = [name for name, shown in names.items() if plain in {shown.casefold(), name.casefold()}]
    found = exact or [name for name, shown in names.items() if plain in shown.casefold()]
    if len(found) == 1:
        return found[0]
    there = ", ".join(f"“{shown}”" for shown in sorted(set(names.values()))) or "none"
    what = "could be several" if found else "is not there"
    raise InputError(
        f"The MIDI output “{wanted}” {what}; there are: {there}. “{VIRTUAL}” makes one of our own."
    )
