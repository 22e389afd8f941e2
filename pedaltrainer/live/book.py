"""The session's place in the log, and what becomes of takes that the log would not have."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pedaltrainer import __version__
from pedaltrainer.live.options import Options
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, TakeRow, new_id, utc_text
from pedaltrainer.records.table import as_json
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


@dataclass(frozen=True, slots=True)
class Book:
    """Where the takes of this session are written, and under whose name.

    The session itself is written with its first take: one without any leaves no trace.
    """

    log: Log
    session: SessionRow
    opened_utc: datetime
    opened_heard_s: float

    def utc(self, heard_s: float) -> str:
        """The wall time of a heard second: read once at the start, so it cannot jump in between."""
        return utc_text(self.opened_utc + timedelta(seconds=heard_s - self.opened_heard_s))


def keep_aside(rows: list[TakeRow]) -> Path:
    """Write takes that the log would not have to a file of its own, as JSON; returns its path."""
    with tempfile.NamedTemporaryFile(
        "w", prefix="pedaltrainer-takes-", suffix=".json", delete=False, encoding="utf-8"
    ) as file:
        file.write(as_json(rows))
        return Path(file.name)


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
        metre=run.beats_per_bar,
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
        reaction_ms=settings.reaction_s * 1000,
        duration_s=max(0.0, answered.ended_s - run.start_s),
    )
