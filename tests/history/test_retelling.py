"""A session of the log told again: the same takes, or a word on what differs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live import app, fast
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, TakeRow
from pedaltrainer.rehearsal.player import MadeUpPlayer
from tests.session.playing import settings

Played = tuple[SessionRow, list[dict[str, object]], list[TakeRow]]


@pytest.fixture
def played(tmp_path: Path) -> Played:
    with Log.open(tmp_path) as log:
        fast.rehearse(app.Options(settings(), Desk(tmp_path, "Robin"), made_up=MadeUpPlayer(84)), log)
        (session,) = log.sessions()
        takes = sorted(log.takes(include_cancelled=True), key=lambda take: take.id)
        return session, log.inputs(session.id), takes


def test_a_session_gives_its_takes_again(played: Played) -> None:
    session, inputs, takes = played
    assert len(takes) > 5
    assert told_otherwise(session, inputs, takes) is None


def test_a_take_that_was_made_faster_afterwards_is_noticed(played: Played) -> None:
    session, inputs, takes = played
    takes[2] = replace(takes[2], tempo_bpm=200.0)
    assert told_otherwise(session, inputs, takes) == "its inputs tell take 3 otherwise than it is there"


def test_takes_that_are_missing_or_more_are_noticed(played: Played) -> None:
    session, inputs, takes = played
    count = len(takes)
    said = "its inputs tell of {} takes and {} are there"
    assert told_otherwise(session, inputs, takes[:-1]) == said.format(count, count - 1)
    assert told_otherwise(session, inputs[:1], takes) == said.format(0, count)


def test_the_last_take_of_a_program_that_was_killed_may_lack_its_inputs(played: Played) -> None:
    session, inputs, takes = played
    assert told_otherwise(session, inputs, [*takes, takes[-1]]) is None


def test_inputs_that_are_none_are_refused(played: Played) -> None:
    session, _, takes = played
    with pytest.raises(InputError, match="no session event"):
        told_otherwise(session, [{"event": "Dance"}], takes)
