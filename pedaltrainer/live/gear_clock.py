"""The MIDI clock of the stage: to which output it goes, opened anew when another is chosen."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.midi.clock_port import ClockPort, open_clock_port
from pedaltrainer.timing.clock_out import ClockOut


class GearClock:
    """clock: sends to what follows; None while nothing does."""

    def __init__(self) -> None:
        self.clock: ClockOut | None = None
        self._port: ClockPort | None = None
        self._wanted = ("", 0.0)
        self._refused = ""

    def by(self, output: str, offset_s: float) -> None:
        """Send to this output from now on; "" for none. One that could not be opened, or has gone, is tried
        again each time it is asked for."""
        if (output, offset_s) == self._wanted and not self.notices:
            return
        self.close()
        self._wanted = output, offset_s
        if not output:
            return
        try:
            self._port = open_clock_port(output)
        except InputError as trouble:
            self._refused = str(trouble)
            return
        self.clock = ClockOut(self._port.send, offset_s)

    @property
    def notices(self) -> tuple[str, ...]:
        """Why nothing follows, where something should."""
        if self.clock is not None and self.clock.trouble:
            return (f"“{self._wanted[0]}” takes no MIDI clock any more ({self.clock.trouble})",)
        return (self._refused,) if self._refused else ()

    def close(self) -> None:
        if self.clock is not None:
            self.clock.close()
        if self._port is not None:
            self._port.close()
        self.clock = self._port = None
        self._wanted, self._refused = ("", 0.0), ""
