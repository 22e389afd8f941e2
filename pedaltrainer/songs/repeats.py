"""Repeats and endings of one section, written out as they are read. Pure."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass, field

from pedaltrainer.songs.bar_lines import UnreadableError


@dataclass(slots=True)
class Repeats:
    """The bars of a section so far, by their numbers, written out.

    begin: where in them a repeat that closes now would begin. opened: the line with its |:, None without one.
    ending: where the ending that is on begins; rounds: in which it is played; common: the bars before all
    endings. passed_over: the bars of endings that another one has followed. awaits: an ending is closed, and
    the next one has to begin.
    """

    bars: list[int] = field(default_factory=list)
    begin: int = 0
    opened: int | None = None
    ending: int | None = None
    rounds: frozenset[int] = frozenset()
    common: list[int] = field(default_factory=list)
    passed_over: set[int] = field(default_factory=set)
    awaits: bool = False

    def add(self, bar: int) -> None:
        """One more bar. Raises UnreadableError where the next ending has to begin."""
        self._refuse_awaiting()
        self.bars.append(bar)

    def open(self, line: int) -> None:
        """A repeat begins. Raises UnreadableError within another one."""
        if self.opened is not None and not self._in_last_ending:
            raise UnreadableError(
                f"the repeat of line {self.opened} is still open; repeats do not stand in one another, "
                "so close it with :| or write the inner one out"
            )
        self._done()
        self.begin, self.opened = len(self.bars), line

    def close(self, times: int | None) -> None:
        """It ends here and is played `times` times in all, where that is said; without a beginning, from the
        last repeat on."""
        self._refuse_awaiting()
        if self.ending is None:
            self.bars += self._repeated(len(self.bars)) * ((2 if times is None else times) - 1)
        elif times is not None:
            raise UnreadableError(
                f"a repeat with endings is played as often as they say; delete x{times}, or number an ending "
                "as in |1-2"
            )
        elif not self._in_last_ending:
            self.awaits = True
            return
        # The last ending closes its repeat: nothing is played again.
        self._done()

    def _refuse_awaiting(self) -> None:
        if self.awaits:
            raise UnreadableError("the first ending closes with :|2, where the second one begins")

    def again(self, since: int, times: int) -> None:
        """What was added since there were so many bars is played `times` times in all."""
        if self.opened is not None or self.ending is not None:
            raise UnreadableError("a line within a repeat is not repeated itself; write it out")
        self.bars += self.bars[since:] * (times - 1)
        self.begin = len(self.bars)

    def first_ending(self, rounds: Set[int]) -> None:
        """What follows is played in these rounds only, the first among them."""
        if self.ending is not None:
            raise UnreadableError(
                "the first ending begins twice; write |1 once, and :|2 where the second begins"
            )
        if 1 not in rounds:
            raise UnreadableError(f"an ending {_named(rounds)} needs a first; write |1 where that begins")
        if not self.bars[self.begin :]:
            raise UnreadableError(
                f"the ending {_named(rounds)} has no bars before it; if it is the number of a line, delete it"
            )
        self.common = self._repeated(len(self.bars))
        self.ending, self.rounds = len(self.bars), frozenset(rounds)

    def next_ending(self, rounds: Set[int]) -> None:
        """The ending that is on ends here; the next one begins."""
        if self.ending is None:
            raise UnreadableError("a second ending needs a first; write |1 where that begins")
        if min(rounds) != max(self.rounds) + 1:
            raise UnreadableError(
                f"the ending {_named(rounds)} follows that of {_named(self.rounds)}; number them in order"
            )
        self.awaits = False
        mine = self._repeated_from(self.ending)
        for _ in range(len(self.rounds) - 1):
            self.bars += self.common + mine
        self.passed_over |= set(mine)
        self.bars += self.common
        self.ending, self.rounds = len(self.bars), frozenset(rounds)

    def finish(self) -> tuple[int, ...]:
        """All bars. Raises UnreadableError when a repeat is still open."""
        self._refuse_awaiting()
        if (self.ending is not None and not self._in_last_ending) or (
            self.ending is None and self.opened is not None
        ):
            where = f" of line {self.opened}" if self.opened is not None else ""
            raise UnreadableError(f"the repeat{where} is still open; close it with :| in its section")
        self._done()
        return tuple(self.bars)

    @property
    def _in_last_ending(self) -> bool:
        """The ending that is on may be the last."""
        return self.ending is not None and 1 not in self.rounds

    def _repeated(self, end: int) -> list[int]:
        return self._some(self.bars[self.begin : end])

    def _repeated_from(self, start: int) -> list[int]:
        return self._some(self.bars[start:])

    @staticmethod
    def _some(bars: list[int]) -> list[int]:
        if not bars:
            raise UnreadableError("there is no bar to repeat; write one between |: and :|")
        return bars

    def _done(self) -> None:
        if self.ending is not None and len(self.rounds) > 1:
            mine = self.bars[self.ending :]
            for _ in range(len(self.rounds) - 1):
                self.bars += self.common + mine
        self.begin, self.opened, self.ending, self.rounds = len(self.bars), None, None, frozenset()


def _named(rounds: Set[int]) -> str:
    return " and ".join(map(str, sorted(rounds)))
