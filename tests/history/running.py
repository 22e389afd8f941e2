"""Run-throughs for tests: played by the book, and kept in the log as the stage keeps them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence
from pedaltrainer.live.piece import PieceBook
from pedaltrainer.pedals.events import Control
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, new_id, utc_text
from pedaltrainer.session.events import Due, Event, Given, Opened, Pressed
from pedaltrainer.session.replay import event_to_json
from pedaltrainer.session.run_through import (
    Review,
    RunSettings,
    RunState,
    review_to_json,
    run_settings_to_json,
    run_step,
)
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart


def run_through(
    desk: Desk,
    song: Song,
    when: datetime,
    marks: Iterable[float] = (),
    per_cent: int = 100,
    stopped_s: float | None = None,
    review: Review | None = None,
) -> RunState:
    """A run-through with presses at some seconds of the song, to its end or stopped, and looked over."""
    known = evidence(desk, when)
    settings = RunSettings(
        write_chart(song),
        per_cent,
        histories=tuple((key, one.found) for key, one in known.items() if one.found is not None),
    )
    row = SessionRow(new_id(), desk.player, utc_text(when), "0", None, run_settings_to_json(settings))
    state, inputs = RunState(settings), []

    def happen(event: Opened | Event) -> None:
        nonlocal state
        inputs.append(event_to_json(event))
        state, _ = run_step(state, event)

    happen(Opened(0.0))
    happen(Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
    begin_s = state.start_s + settings.one_pass.counted_in_s
    for mark in marks:
        happen(Pressed(begin_s + mark, begin_s + mark, "foot"))
    if stopped_s is None:
        happen(Due((state.due_s or 0.0) + 0.01))
    else:
        at_s = begin_s + stopped_s
        happen(Given(at_s, at_s, at_s, Control.QUIT, "foot"))
    inputs.append(review_to_json(0, review or Review(), state.now_s))
    with Log.open(desk.log_place) as log:
        book = PieceBook(log, row, inputs)
        book.write()
        assert not book.trouble
    return state
