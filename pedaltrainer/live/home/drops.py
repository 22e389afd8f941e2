"""Files that are dropped on the window: read at home, kept waiting while somebody plays."""

from __future__ import annotations

from dataclasses import dataclass, field

from pedaltrainer.live.home.usher import Usher

WHILE_PLAYING = "A file was dropped: it is read when you are home"
AWAY_FROM_HOME = "Songs are taken in at home: pedaltrainer without words"


@dataclass(frozen=True, slots=True)
class Dropped:
    """A file was dropped on the window."""

    path: str


@dataclass(slots=True)
class Drops:
    """What was dropped and is not read yet. usher: None where nobody leads home."""

    usher: Usher | None
    notices: tuple[str, ...] = ()
    _waiting: list[str] = field(default_factory=list)

    def come(self, file: Dropped, at_home: bool) -> None:
        """A song for the shelf. To read it takes its time: not while somebody plays."""
        if self.usher is None:
            self.notices = (AWAY_FROM_HOME,)
        elif at_home:
            self.usher.dropped(file.path)
        else:
            self._waiting.append(file.path)
            self.notices = (WHILE_PLAYING,)

    def read(self) -> None:
        """Home again: what waited is read."""
        self.notices = ()
        while self._waiting and self.usher is not None:
            self.usher.dropped(self._waiting.pop(0))
