"""A note to a take, from the foot to the log and to the teacher; the volume, from the menu to the click."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history import one_player
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.options import VOLUMES, Options, stepped
from pedaltrainer.page.content import Table
from pedaltrainer.pedals.events import Control
from pedaltrainer.records.log import Log
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.events import Due, Given
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.session.transitions import pause_choices
from pedaltrainer.telling import report
from tests.session.playing import settings

BEGAN = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)
YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE


class Sitting:
    """A session with its log. `steps`: what was asked of the volume."""

    def __init__(self, log: Log, folder) -> None:
        options = Options(settings(ladder="seek"), Desk(folder, "Robin"), began=BEGAN)
        self.steps: list[int] = []
        book = open_book(log, options)
        self.conductor = Conductor(
            begin(options.settings), SimulatedStream(), book, on_volume=self.steps.append
        )
        self.conductor.open(0.0)
        self.now_s = 1.0

    @property
    def state(self):
        return self.conductor.state

    def give(self, control: Control) -> None:
        self.now_s = max(self.now_s, self.state.now_s) + 0.2
        self.conductor._happen(Given(self.now_s, self.now_s, self.now_s, control, "foot"))

    def plays(self, answer: Control) -> None:
        while self.state.phase is not Phase.ASKING:
            if self.state.due_s is None:
                self.give(YES)
            else:
                self.conductor._happen(Due(self.state.due_s))
        self.give(answer)

    def chooses(self, *rows: Choice) -> None:
        self.give(STOP)
        for row in rows:
            while pause_choices(self.state)[self.state.chosen] is not row:
                self.give(YES)
            self.give(STOP)


@pytest.fixture
def log(tmp_path):
    with Log.open(tmp_path) as opened:
        yield opened


def test_a_note_is_on_disk_at_once_and_is_about_its_take(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.BUZZ)
    (noted,) = log.inputs_since("Robin", "Noted")
    (take,) = log.takes(player="Robin")
    assert (noted["take_utc"], noted["drill"]) == (take.started_utc, take.drill)
    assert (noted["tempo_bpm"], noted["note"]) == (take.tempo_bpm, "buzz")


def test_a_session_with_notes_and_changes_is_told_again_from_the_log(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.WRONG_FINGER)
    sitting.give(NO)
    sitting.chooses(Choice.CHANGE, Choice.SLOWER, Choice.LANDINGS, Choice.GAP)
    sitting.give(NO)
    sitting.give(NO)
    sitting.plays(NO)
    sitting.conductor.shut(sitting.now_s + 1)
    sitting.conductor.finish()
    (session,) = log.sessions()
    takes = log.takes(newest_first=False)
    assert [take.drill for take in takes] == ["change Am E", "change Am E muted"]
    assert takes[1].landings == 12
    assert takes[1].tempo_bpm == sitting.conductor.state.last_run.tempo_bpm
    assert told_otherwise(session, log.inputs(session.id), takes) is None


def test_the_teacher_s_report_has_the_notes_and_what_to_do_about_pain(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.BUZZ)
    sitting.give(NO)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.HURTS)
    sitting.conductor.finish()
    told = one_player.tell(Desk(tmp_path, "Robin"), BEGAN, 7, zone=UTC)
    assert [(one.drill.title, one.note) for one in told.notes] == [("Am – E", "buzz"), ("Am – E", "hurts")]
    (section,) = [one for one in report.player_page(told).sections if one.key == "notes"]
    (table,) = [block for block in section.blocks if isinstance(block, Table)]
    assert [row[3] for row in table.rows] == ["it hurt", "a string buzzed"]
    assert table.rows[1][0] == "2026-11-20 18:00"
    assert "doctor or a teacher" in str(section.blocks[0])


def test_without_a_note_the_report_has_no_section_for_them(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.conductor.finish()
    told = one_player.tell(Desk(tmp_path, "Robin"), BEGAN, 7, zone=UTC)
    assert "notes" not in [one.key for one in report.player_page(told).sections]


def test_notes_of_before_a_day_are_not_told(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.BUZZ)
    assert log.inputs_since("Robin", "Noted", "2026-11-21T00:00:00.000Z") == []
    assert log.inputs_since("Kim", "Noted") == []


def test_a_note_before_any_take_is_on_disk_leaves_no_session_without_takes(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.give(YES)
    sitting.chooses(Choice.NOTE, Choice.BUZZ)
    assert not sitting.conductor.book.is_behind
    assert log.sessions() == []


def test_the_volume_goes_up_and_down_by_the_steps_that_are_offered(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.chooses(Choice.CHANGE, Choice.LOUDER, Choice.QUIETER)
    assert sitting.steps == [1, -1]
    assert stepped(VOLUMES, 0.4, 1) == 0.5
    assert stepped(VOLUMES, 0.42, -1) == 0.4
    assert (stepped(VOLUMES, 1.0, 1), stepped(VOLUMES, 0.0, -1)) == (1.0, 0.0)


NO_NOTES = (
    '{"event": "Noted"}',
    '{"event": "Noted", "heard_s": 1, "at_utc": "", "take_utc": "", "drill": "F", "tempo_bpm": 1, "note": 1}',
    '{"event": "Noted", "heard_s": 1, "at_utc": "", "take_utc": 5, "drill": 7, "tempo_bpm": "1", "note": 1}',
    '["Noted"]',
)


@pytest.mark.parametrize("content", NO_NOTES)
def test_a_note_that_is_none_is_passed_over(tmp_path, log, content):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.conductor.finish()
    spoil(tmp_path, content)
    assert one_player.tell(Desk(tmp_path, "Robin"), BEGAN, 7, zone=UTC).notes == ()


def test_a_note_with_flipped_bytes_is_named_with_its_mend(tmp_path, log):
    sitting = Sitting(log, tmp_path)
    sitting.plays(YES)
    sitting.chooses(Choice.NOTE, Choice.BUZZ)
    sitting.conductor.finish()
    spoil(tmp_path, '{"event": "Noted", "note": "bu')
    with pytest.raises(InputError, match="--repair"):
        one_player.tell(Desk(tmp_path, "Robin"), BEGAN, 7, zone=UTC)


def spoil(folder, content: str) -> None:
    """Let the last input be what no program of ours would write."""
    with closing(sqlite3.connect(folder / "log.sqlite3")) as raw, raw:
        triggers = raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            raw.execute(f'DROP TRIGGER "{name}"')
        raw.execute("PRAGMA ignore_check_constraints = 1")
        raw.execute("UPDATE input SET content = ? WHERE seq = (SELECT max(seq) FROM input)", (content,))
        for _, made in triggers:
            raw.execute(made)
