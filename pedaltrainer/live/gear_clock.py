"""The MIDI clock of the stage: to which output it goes, opened anew when another is chosen."""

from __future__ import annotations

from pedaltrainer.pedals.midi.clock_port import ClockPort, open_clock_port
from pedaltrainer.timing.clock_out import ClockOut


class GearClock:
    """clock: sends to what follows; None while nothing does."""

    def __init__(self) -> None:
        self.clock: ClockOut | None = None
        self._port: ClockPort | None = None
        self._wanted = ""

    def by(self, output: str, offset_s: float) -> None:
        """Send to this output from now on; "" for none. Raises InputError when it cannot be opened; it is not
        tried again until another is asked for."""
        if output == self._wanted:
            return
        self.close()
        self._wanted = output
        if output:
            self._port = open_clock_port(output)
            self.clock = ClockOut(self._port.send, offset_s)

    def close(self) -> None:
        if self.clock is not None:
            self.clock.close()
        if self._port is not None:
            self._port.close()
        self.clock = self._port = None
        self._wanted = ""
