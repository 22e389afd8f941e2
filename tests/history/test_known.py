"""What the log tells, and how little of it is read for that."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, look_back, read_known
from pedaltrainer.history.named import drill_key
from pedaltrainer.history.record import AT_FIRST
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import evidence_of, in_sittings
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow, utc_text
from pedaltrainer.session.replay import settings_to_json
from pedaltrainer.session.settings import FIRST_START_BPM, Settings
from tests.records.samples import a_session, a_take

START = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
AM_E = parse_drill("Am E")


def everything(there):
    return there


class Player:
    """Somebody who plays into a log, a session a day."""

    def __init__(self, folder, name="tess"):
        self.folder, self.name = folder, name

    def plays(self, day, *words, takes=4, tempo_bpm=80.0, outcome="pass", key=None, **more):
        drills = [parse_drill(each) for each in words]
        start = START + timedelta(days=day)
        with Log.open(self.folder) as log:
            session = a_session(
                player=self.name,
                started_utc=utc_text(start),
                settings=settings_to_json(Settings(drills=tuple(drills))),
            )
            log.begin_session(session)
            for drill in drills:
                for number in range(takes):
                    when = utc_text(start + timedelta(seconds=20 * number))
                    log.append_take(
                        a_take(
                            session,
                            drill=key or drill.key,
                            chords=drill.chords,
                            tempo_bpm=tempo_bpm,
                            outcome=outcome,
                            started_utc=when,
                            ended_utc=when,
                            reaction_ms=200.0,
                            **{"first_miss": None, **more},
                        )
                    )
        return session


@pytest.fixture
def tess(tmp_path):
    return Player(tmp_path)


# --- before a session ----------------------------------------------------------------


def test_a_session_begins_with_the_drills_of_the_last_one_and_where_each_was_left(tess, tmp_path):
    tess.plays(0, "Am E", tempo_bpm=70.0)
    tess.plays(1, "F", "Am E", tempo_bpm=100.0)
    tess.plays(2, "F", outcome="void")
    Player(tmp_path, "kim").plays(3, "C G")
    found = read_known(Desk(tmp_path, "tess"))
    assert found.last_drills == (parse_drill("F"),)
    assert found.start_bpm(AM_E, 4) == 92
    assert found.start_bpm(parse_drill("F"), 4) == 92
    assert found.start_bpm(parse_drill("C G"), 4) == FIRST_START_BPM
    (past,) = found.history(AM_E, START + timedelta(days=2))
    assert past.days_ago == pytest.approx(1, abs=0.01)
    assert found.history(parse_drill("C G"), START) == ()


@pytest.mark.parametrize("name", ["takes", "answers_since"])
def test_before_a_session_the_log_is_not_read_from_end_to_end(tess, tmp_path, monkeypatch, name):
    tess.plays(0, "Am E", "F")
    tess.plays(1, "Am E")
    read: list[TakeRow] = []
    whole = getattr(Log, name)

    def counted(*words, **more):
        rows = whole(*words, **more)
        read.extend(rows)
        return rows

    monkeypatch.setattr(Log, name, counted)
    found = read_known(Desk(tmp_path, "tess"))
    assert read == []
    found.history(AM_E, START)
    assert len(read) <= 4


def test_without_a_log_nothing_is_known_and_no_log_is_made(tmp_path):
    assert read_known(Desk(tmp_path, "tess")).last_drills == ()
    assert evidence(Desk(tmp_path, "tess"), START) == {}
    assert list(tmp_path.iterdir()) == []


# --- for a plan ------------------------------------------------------------------------


def test_every_drill_of_a_player_has_its_evidence(tess, tmp_path):
    tess.plays(0, "Am E", "F", "level A Bm", "pressure F", "Am E muted", "passage Am:2 G F:3")
    tess.plays(1, "F", outcome="void")
    Player(tmp_path, "kim").plays(0, "C G")
    found = evidence(Desk(tmp_path, "tess"), START + timedelta(days=1))
    assert set(found) == {
        "change Am E", "re-land F", "level A Bm", "pressure F", "change Am E muted", "passage Am:2 G F:3",
        # What the passage tells of the changes in it.
        "change Am G", "change F G", "change Am F",
    }  # fmt: skip
    assert all(one.drill.key == key and one.takes == 4 for key, one in found.items())
    assert evidence(Desk(tmp_path, "kim"), START).keys() == {"change C G"}
    assert evidence(Desk(tmp_path, "nobody"), START) == {}


def test_evidence_is_that_of_the_takes_themselves(tess, tmp_path):
    tess.plays(0, "E Am")
    now = START + timedelta(days=9)
    takes = [(START + timedelta(seconds=20 * n), Take(AM_E, 80.0, 8, Outcome.PASS_)) for n in range(4)]
    expected = evidence_of(AM_E, in_sittings(takes), now)
    one = evidence(Desk(tmp_path, "tess"), now)["change Am E"]
    assert one.drill.chords == ("E", "Am")
    assert (one.takes, one.last, one.found) == (4, expected.last, expected.found)
    assert one.belief.mass == pytest.approx(expected.belief.mass)


def test_where_it_was_broken_off_says_nothing_where_every_take_was_asked_about(tess, tmp_path):
    """The first logs named a landing: whoever decides to break off is later than a foot that speaks up."""
    found = []
    for style, first_miss in (("ask", 3), ("ask", None), ("speak-up", 3)):
        tess.folder = tmp_path / f"{style} {first_miss}"
        tess.plays(0, "Am E", outcome="fail", first_miss=first_miss, answer_style=style)
        found.append(evidence(Desk(tess.folder, "tess"), START)["change Am E"].estimate)
    assert found[0] == found[1] != found[2]


def test_only_the_drills_asked_for_are_looked_up(tess, tmp_path):
    tess.plays(0, "Am E", "F")
    assert evidence(Desk(tmp_path, "tess"), START, [parse_drill("E Am"), parse_drill("C G")]).keys() == {
        "change Am E"
    }
    assert evidence(Desk(tmp_path, "tess"), START, []) == {}


def test_of_a_drill_played_for_years_only_the_last_sessions_are_read(tess, tmp_path, monkeypatch):
    read: list[int] = []
    whole = Log.last_answers

    def counted(*words):
        rows = whole(*words)
        read.append(len(rows))
        return rows

    for day in range(4):
        tess.plays(day, "Am E", takes=AT_FIRST)
    monkeypatch.setattr(Log, "last_answers", counted)
    assert evidence(Desk(tmp_path, "tess"), START)["change Am E"].takes == AT_FIRST
    assert read == [AT_FIRST, 4 * AT_FIRST]


def test_a_long_session_is_read_whole(tess, tmp_path):
    tess.plays(0, "Am E", takes=3 * AT_FIRST)
    assert evidence(Desk(tmp_path, "tess"), START)["change Am E"].takes == 3 * AT_FIRST


# --- what a newer program wrote --------------------------------------------------------


def test_a_drill_of_a_newer_program_is_passed_over_and_named_once(tess, tmp_path):
    tess.plays(0, "Am E")
    tess.plays(1, "F", key="backwards F Am")
    assert evidence(Desk(tmp_path, "tess"), START).keys() == {"change Am E"}
    looked = look_back(Desk(tmp_path, "tess"), everything)
    assert [one.drill.key for one in looked.records] == ["change Am E"]
    assert looked.unread == ("backwards F Am",)
    with Log.open(tmp_path, read_only=True) as log:
        assert drill_key(log, "backwards F Am") == "backwards F Am"


# --- looking back ------------------------------------------------------------------------


def test_looking_back_stops_after_the_days_asked_for_and_says_so(tess, tmp_path):
    for day in range(6):
        tess.plays(10 * day, "Am E", "F" if day < 2 else "C G")
    looked = look_back(Desk(tmp_path, "tess"), everything, days=3)
    assert {one.drill.key: len(one.dated) for one in looked.records} == {
        "change Am E": 12,
        "change C G": 12,
    }
    assert (looked.whole, looked.elsewhere) == (False, 1)
    for days in (None, 6):
        looked = look_back(Desk(tmp_path, "tess"), everything, days=days)
        assert (len(looked.records), looked.whole, looked.elsewhere) == (3, True, 0)


def test_a_drill_that_was_not_played_on_these_days_is_told_from_its_own(tess, tmp_path):
    tess.plays(0, "Am E")
    for day in range(1, 6):
        tess.plays(day, "F")

    def the_change(there):
        return progress.chosen(there, "E Am")

    looked = look_back(Desk(tmp_path, "tess"), the_change, days=3)
    assert [(one.drill.key, len(one.dated)) for one in looked.records] == [("change Am E", 4)]
    assert looked.whole


def test_a_drill_whose_takes_were_all_taken_back_is_there_when_named_and_else_left_out(tess, tmp_path):
    tess.plays(0, "Am E")
    tess.plays(1, "F")
    with Log.open(tmp_path) as log:
        for row in log.takes(drill="re-land F"):
            log.cancel_take(row.id, row.ended_utc, "undo")
    assert [one.drill.key for one in look_back(Desk(tmp_path, "tess"), everything).records] == ["change Am E"]
    looked = look_back(Desk(tmp_path, "tess"), lambda there: progress.chosen(there, "F"))
    assert [(one.drill.key, one.sessions) for one in looked.records] == [("re-land F", ())]


def test_a_player_the_log_does_not_know_is_told_who_is_there(tess, tmp_path):
    tess.plays(0, "Am E")
    with pytest.raises(InputError, match="no takes of kim; name a player with --player: tess"):
        look_back(Desk(tmp_path, "kim"), everything)
