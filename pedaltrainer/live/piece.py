"""What is played in one piece, on the stage: a run-through or a trial of tapping along, and its book."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from pedaltrainer import __version__
from pedaltrainer.errors import InputError
from pedaltrainer.live.act import Act
from pedaltrainer.live.foot import Foot
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import Input, SessionRow, check_json_object, new_id, utc_text
from pedaltrainer.session.events import Event, Opened
from pedaltrainer.session.piece import PiecePhase, PieceState
from pedaltrainer.timing.stream import ClickStream


@dataclass(slots=True)
class PieceBook:
    """What of it is for the log: the session itself, and all that happened."""

    log: Log
    session: SessionRow
    inputs: list[dict[str, Any]] = field(default_factory=list)
    trouble: str = ""
    _written: int = 0

    def write(self) -> None:
        """Write what is not in the log yet; what it refuses waits, and is said."""
        rows = [
            Input(self.session.id, number, check_json_object(content, "an input"))
            for number, content in enumerate(self.inputs[self._written :], start=self._written + 1)
        ]
        try:
            self.log.keep_run(self.session, rows)
        except InputError as trouble:
            self.trouble = str(trouble)
            return
        self._written, self.trouble = len(self.inputs), ""


def begun_book(log: Log, player: str, settings: dict[str, Any]) -> PieceBook:
    """Of what begins now; nothing is written before something is over."""
    row = SessionRow(
        id=new_id(),
        player=player,
        started_utc=utc_text(datetime.now(UTC)),
        program_version=__version__,
        seed=None,
        settings=settings,
    )
    return PieceBook(log, row)


@dataclass(slots=True)
class PieceAct(Act):
    """Plays it, and takes in what the foot says. Not for use from two threads at once."""

    state: PieceState
    stream: ClickStream
    book: PieceBook
    foot: Foot = field(default_factory=Foot)

    @abstractmethod
    def _happen(self, event: Event) -> None: ...

    def open(self, t_s: float) -> None:
        self.foot.in_list(False)
        self._happen(Opened(self.stream.heard_s(t_s)))

    @property
    def closed(self) -> bool:
        return self.state.phase is PiecePhase.OVER

    @property
    def due_s(self) -> float | None:
        return self.state.due_s

    @property
    def plays(self) -> bool:
        """From its opening on: how long the sound takes is in its settings."""
        return not self.closed

    def write_waiting(self) -> None:
        if self.book.trouble:
            self.book.write()
