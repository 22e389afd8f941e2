"""The session's place in the log, and what becomes of takes that the log would not have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from pedaltrainer import __version__
from pedaltrainer.errors import InputError
from pedaltrainer.live.options import Options
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import (
    Cancellation,
    Input,
    SessionRow,
    TakeRow,
    check_json_object,
    new_id,
    utc_text,
)
from pedaltrainer.records.upkeep import aside
from pedaltrainer.session.effects import Answered
from pedaltrainer.session.replay import settings_to_json
from pedaltrainer.session.state import State


def open_book(log: Log, options: Options, opened_heard_s: float = 0.0) -> Book:
    """A book for this session: its takes go to the log, the first one with the session itself."""
    now = options.began or datetime.now(UTC)
    row = SessionRow(
        id=new_id(),
        player=options.desk.player,
        started_utc=utc_text(now),
        program_version=__version__,
        seed=options.settings.seed,
        settings=settings_to_json(options.settings),
    )
    return Book(log, row, now, opened_heard_s)


@dataclass(slots=True)
class Book:
    """All of this session that is for the log, and how much of it is there. Not for two threads at once.

    The session itself is written with its first take: one without any leaves no trace. While the log refuses,
    everything is kept aside, the takes that were written before too: the log may have been taken away.
    """

    log: Log
    session: SessionRow
    opened_utc: datetime
    opened_heard_s: float
    takes: list[TakeRow] = field(default_factory=list)
    cancellations: list[Cancellation] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    hurries: bool = False
    """There are inputs that are to be on disk before the next take: a note."""
    kept_in: Path | None = None
    """The file in which the session is kept aside, while it is."""
    _written: tuple[int, int, int] = (0, 0, 0)
    """How many takes, cancellations and inputs are in the log."""

    def utc(self, heard_s: float) -> str:
        """The wall time of a heard second: read once at the start, so it cannot jump in between."""
        return utc_text(self.opened_utc + timedelta(seconds=heard_s - self.opened_heard_s))

    def add_inputs(self, contents: Sequence[Mapping[str, Any]]) -> None:
        """Note what happened, each an object of plain JSON values."""
        for content in contents:
            text = check_json_object(content, "an input")
            self.inputs.append(Input(self.session.id, len(self.inputs) + 1, text))

    def cancel(self, take_id: str, at_utc: str, reason: str) -> None:
        """Note that a take was taken back."""
        self.cancellations.append(Cancellation(new_id(), take_id, at_utc, reason))

    @property
    def is_behind(self) -> bool:
        """Whether there is something to write. Inputs alone wait for the next take, or for the end."""
        takes, cancellations, _ = self._written
        return self.hurries or (takes, cancellations) != (len(self.takes), len(self.cancellations))

    def write(self) -> None:
        """Write what is not in the log yet: all of it or nothing. A row that is there already does no harm.

        Raises InputError when the log refuses. What there is of the session is then kept aside.
        """
        if not self.takes:
            # A session without a take leaves no trace.
            self.hurries = False
            return
        takes, cancellations, inputs = self._written
        try:
            self.log.add_missing(
                [self.session],
                self.takes[takes:],
                self.cancellations[cancellations:],
                self.inputs[inputs:],
            )
        except BaseException:
            self._written = (0, 0, 0)
            self.keep_aside()
            raise
        self._written = len(self.takes), len(self.cancellations), len(self.inputs)
        self.hurries = False
        if self.kept_in is not None:
            self.kept_in.unlink(missing_ok=True)
            self.kept_in = None

    def keep_aside(self) -> None:
        """Keep the session in a file of its own, in place of what was kept of it before."""
        undone = {row.take_id for row in self.cancellations}
        takes = [replace(take, cancelled=take.id in undone) for take in self.takes]
        before = self.kept_in
        try:
            self.kept_in = aside.keep(self.log.path.parent, self.session, takes, self.inputs)
        except InputError:
            return  # what was kept before is better than nothing
        if before is not None and before != self.kept_in:
            before.unlink(missing_ok=True)


def take_row(answered: Answered, state: State, book: Book) -> TakeRow:
    """An answered take as the log keeps it."""
    run, take, settings = answered.run, answered.take, state.settings
    return TakeRow(
        id=new_id(),
        session_id=book.session.id,
        player=book.session.player,
        drill=run.drill.key,
        chords=run.drill.chords,
        beats_per_chord=run.drill.beats_per_chord,
        metre=run.metre.beats,
        tempo_bpm=float(run.tempo_bpm),
        landings=run.landings,
        outcome=str(take.outcome),
        first_miss=take.first_miss,
        judge=answered.judge,
        answer_style=str(AnswerStyle(settings.answer_style)),
        ladder=settings.ladder,
        started_utc=book.utc(run.start_s),
        ended_utc=book.utc(answered.ended_s),
        pressed_s=answered.pressed_s,
        heard_press_s=answered.heard_press_s,
        reaction_ms=take.taken_off_s * 1000,
        duration_s=max(0.0, answered.ended_s - run.start_s),
        misses=take.misses,
    )
