"""What the rules that a session measures by change in its course, and that old sessions keep theirs."""

from __future__ import annotations

import json
from itertools import cycle

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.take import AnswerStyle, Outcome
from pedaltrainer.session.causes import Choice
from pedaltrainer.session.replay import settings_from_json, settings_to_json
from pedaltrainer.session.state import Phase
from tests.session.playing import Playing, settings

SPEAK_UP = AnswerStyle.SPEAK_UP


def of_today(*drills, **more):
    return settings(*drills, **more)


def test_after_a_drills_first_take_two_beats_are_counted_in():
    play = Playing(of_today())
    beats = [play.answer(Control.PASS_).count_in_beats for _ in range(3)]
    assert beats == [4, 2, 2]


def test_a_count_in_is_never_less_than_a_second():
    play = Playing(of_today(starts_bpm=(200,), start_named=True))
    runs = [play.answer(Control.PASS_) for _ in range(4)]
    assert [run.tempo_bpm for run in runs] == [200, 208, 216, 224]
    assert [run.count_in_beats for run in runs] == [4, 4, 4, 4]
    assert all(run.count_in_beats * 60 / run.tempo_bpm >= 1 for run in runs)


def test_the_next_drill_begins_with_the_whole_count_in():
    play = Playing(of_today("Am E", "C G"))
    play.answer(Control.PASS_)
    assert play.play_take().count_in_beats == 2
    play.give(Control.NEXT)
    assert play.answer(Control.PASS_).count_in_beats == 4


def test_breaking_off_where_takes_are_asked_about_says_that_it_missed_and_not_where():
    """Whoever breaks off is later than a foot that speaks up, by as long as it takes to decide."""
    play = Playing(of_today())
    run = play.begin_take()
    play.until(run.beat_s(3) + 0.9)
    play.give(Control.FAIL)
    (record,) = play.records
    assert record.answered.take.outcome is Outcome.FAIL
    assert record.answered.take.first_miss is None
    assert record.answered.take.press_beat is None
    assert record.answered.heard_press_s == play.now_s
    assert play.state.phase is Phase.BREATH


@pytest.mark.parametrize(("late_s", "landing"), [(0.14, 4), (0.25, 4), (0.6, 4), (0.12, 3)])
def test_a_foot_quicker_than_usual_still_speaks_of_the_landing_it_heard(late_s, landing):
    play = Playing(of_today(style=SPEAK_UP, starts_bpm=(60,), start_named=True))
    run = play.begin_take()
    play.until(run.beat_s(3) + late_s)
    play.press()
    take = play.records[0].answered.take
    assert take.first_miss == landing
    assert take.taken_off_s == pytest.approx(0.13)


@pytest.mark.parametrize(("rules", "is_kept"), [(1, False), (2, True)])
def test_what_is_played_once_more_begins_with_the_spread_that_was_found(rules, is_kept):
    play = Playing(of_today(ladder="seek", minutes=1, starts_bpm=(60,), rules=rules))
    outcomes = cycle((Control.PASS_, Control.PASS_, Control.FAIL))
    while play.state.phase is not Phase.FINISHED:
        play.answer(next(outcomes))
    play.choose(Choice.ONCE_MORE)
    (past,) = play.state.settings.histories[0]
    assert past.bpm == pytest.approx(play.state.rounds_before[0].result.clean_bpm)
    assert (past.spread is not None) == is_kept


def test_a_spread_that_was_found_goes_through_the_log_to_the_next_session():
    past = PastResult(84, 80, 88, 1.0, spread=0.1, spread_sd=0.3)
    recorded = json.loads(json.dumps(settings_to_json(of_today(histories=((past,),)))))
    assert settings_from_json(recorded).histories == ((past,),)


def test_a_session_of_the_first_logs_keeps_its_rules():
    recorded = settings_to_json(of_today())
    del recorded["rules"]
    play = Playing(settings_from_json(recorded))
    assert [play.answer(Control.PASS_).count_in_beats for _ in range(2)] == [4, 4]
    run = play.begin_take()
    play.until(run.beat_s(3) + 0.9)
    play.give(Control.FAIL)
    assert play.records[-1].answered.take.first_miss == 4
    assert play.records[-1].answered.take.press_beat == pytest.approx(run.beat_at(play.now_s))


def test_rules_of_a_newer_program_are_refused():
    with pytest.raises(InputError, match="not those of a session"):
        settings_from_json(settings_to_json(of_today()) | {"rules": 99})
