"""Repeats and endings of one section, written out as they are read. Pure."""

from __future__ import annotations

from dataclasses import dataclass, field

from pedaltrainer.songs.bar_lines import UnreadableError
from pedaltrainer.songs.song import Bar


@dataclass(slots=True)
class Repeats:
    """The bars of a section so far, written out.

    begin: where in them a repeat that closes now would begin. opened: the line with its |:, None without one.
    ending: where its first ending begins.
    """

    bars: list[Bar] = field(default_factory=list)
    begin: int = 0
    opened: int | None = None
    ending: int | None = None

    def add(self, bar: Bar) -> None:
        """One more bar."""
        self.bars.append(bar)

    def open(self, line: int) -> None:
        """A repeat begins. Raises UnreadableError within another one."""
        if self.opened is not None:
            raise UnreadableError(
                f"the repeat of line {self.opened} is still open; repeats do not stand in one another, "
                "so close it with :| or write the inner one out"
            )
        self.begin, self.opened, self.ending = len(self.bars), line, None

    def close(self, times: int) -> None:
        """It ends here and is played `times` times in all; without a beginning, from the last repeat on."""
        if self.ending is not None:
            raise UnreadableError("the first ending closes with :|2, where the second one begins")
        self.bars += self._repeated(len(self.bars)) * (times - 1)
        self._done()

    def first_ending(self) -> None:
        """What follows is played the first time only."""
        if self.ending is not None:
            raise UnreadableError(
                "the first ending begins twice; write |1 once, and :|2 where the second begins"
            )
        self._repeated(len(self.bars))
        self.ending = len(self.bars)

    def second_ending(self) -> None:
        """The first ending ends here; the second one begins."""
        if self.ending is None:
            raise UnreadableError("a second ending needs a first; write |1 where that begins")
        self.bars += self._repeated(self.ending)
        self._done()

    def finish(self) -> tuple[Bar, ...]:
        """All bars. Raises UnreadableError when a repeat is still open."""
        if self.opened is not None or self.ending is not None:
            where = f" of line {self.opened}" if self.opened is not None else ""
            raise UnreadableError(f"the repeat{where} is still open; close it with :| in its section")
        return tuple(self.bars)

    def _repeated(self, end: int) -> list[Bar]:
        bars = self.bars[self.begin : end]
        if not bars:
            raise UnreadableError("there is no bar to repeat; write one between |: and :|")
        return bars

    def _done(self) -> None:
        self.begin, self.opened, self.ending = len(self.bars), None, None
