"""Whole sessions on the measuring ladder: what it finds, shows, keeps and remembers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from pedaltrainer import cli
from pedaltrainer.commands import options
from pedaltrainer.commands.whose import desk_of, rehearsal_desk
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import read_known
from pedaltrainer.live import fast
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.rungs import TIME_UP
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.state import Phase
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.telling import session as report
from tests.session.playing import Playing, settings

AROUND = Surroundings(shape_book())


def rehearse(folder: Path, *words: str, skill: float = 84, seed: int = 1):
    """A fast rehearsal by the command line's own way; returns the conductor as it ended."""
    asked = cli.parser().parse_args(["rehearse", *words, "--data", str(folder), "--seed", str(seed)])
    chosen = options.session_options(asked, rehearsal_desk(asked, folder), MadeUpPlayer(skill, seed))
    with Log.open(folder) as log:
        return fast.rehearse(chosen, log)


@pytest.mark.parametrize("answer", ["ask", "speak-up"])
def test_the_clean_tempo_is_found_close_to_the_truth_and_the_interval_mostly_holds_it(tmp_path, answer):
    errors, held = [], []
    for seed in range(12):
        skill = 60 + 7 * seed
        state = rehearse(tmp_path / str(seed), "Am E", "--answer", answer, skill=skill, seed=seed).state
        (one,) = state.results
        low_bpm, high_bpm = one.result.interval_bpm
        errors.append(np.log(one.result.clean_bpm / skill))
        held.append(low_bpm <= skill <= high_bpm)
    assert np.sqrt(np.mean(np.square(errors))) < 0.09
    assert sum(held) >= 8


def test_the_summary_tells_the_clean_tempo_with_its_interval_and_the_last_one(tmp_path):
    rehearse(tmp_path, "Am E", "--player", "tess", seed=2)
    asked = cli.parser().parse_args(["play", "Am E", "--data", str(tmp_path), "--player", "tess"])
    chosen = options.session_options(asked, desk_of(asked)).settings
    ((past,),) = chosen.histories
    play = Playing(settings("Am E", ladder="seek", histories=chosen.histories, minutes=5))
    play.answer(Control.PASS_)
    play.answer(Control.FAIL)
    play.finish()
    assert play.state.phase is Phase.FINISHED
    view = present(play.state, play.now_s, AROUND)
    assert view.figure.endswith(" BPM")
    assert f"last time {past.bpm:.0f}" in view.figure_words
    assert "between" in view.figure_words
    assert f"last time {past.bpm:.0f}" in report.in_words(play.state)


def test_the_band_on_the_ladder_narrows_as_takes_are_answered():
    play = Playing(settings("Am E", ladder="seek", minutes=10))
    widths = []
    for control in (Control.PASS_, Control.FAIL, Control.PASS_, Control.FAIL, Control.PASS_):
        play.answer(control)
        low_bpm, high_bpm = present(play.state, play.now_s, AROUND).ladder.band_bpm
        widths.append(np.log(high_bpm / low_bpm))
    assert widths[-1] < widths[0]


def test_a_named_start_is_where_the_first_take_is():
    play = Playing(settings("Am E", ladder="seek", starts_bpm=(72,), start_named=True))
    play.give(Control.PASS_)
    assert play.runs[0].tempo_bpm == 72


def test_the_first_take_of_an_unknown_drill_frightens_nobody():
    play = Playing(settings("Am E", ladder="seek", starts_bpm=(60,)))
    play.give(Control.PASS_)
    assert 30 <= play.runs[0].tempo_bpm <= 81


def test_practising_goes_on_until_the_time_is_up():
    play = Playing(settings("Am E", ladder="seek", mode="practise", minutes=2))
    while play.state.phase is not Phase.FINISHED:
        play.answer(Control.PASS_ if len(play.runs) % 7 else Control.FAIL)
    assert play.state.results[0].result.ending == TIME_UP


def test_a_foot_that_spoke_up_tells_the_ladder_where(tmp_path):
    play = Playing(
        settings("Am E", style=AnswerStyle.SPEAK_UP, ladder="seek", starts_bpm=(60,), start_named=True)
    )
    run = play.begin_take()
    play.until(run.beat_s(3.3))
    play.press()
    (take,) = play.state.takes_so_far
    assert take.first_miss == 4


def test_an_answer_given_when_asked_says_nothing_about_where():
    play = Playing(settings("Am E"))
    play.answer(Control.FAIL)
    (take,) = play.state.takes_so_far
    assert take.first_miss is None


def test_what_was_found_last_time_is_known_the_next_day(tmp_path):
    found = rehearse(tmp_path, "Am E", "--player", "tess", seed=3).state.results[0].result.clean_bpm
    known = read_known(Desk(tmp_path, "tess"))
    (past,) = known.history(parse_drill("Am E"), datetime.now(UTC) + timedelta(days=1))
    assert past.bpm == pytest.approx(found, rel=0.03)
    assert past.days_ago == pytest.approx(1, abs=0.1)
    assert known.history(parse_drill("C G"), datetime.now(UTC)) == ()


def test_a_clock_that_was_set_back_leaves_the_past_no_later_than_now(tmp_path):
    rehearse(tmp_path, "Am E", "--player", "tess", seed=3)
    (past,) = read_known(Desk(tmp_path, "tess")).history(
        parse_drill("Am E"), datetime.now(UTC) - timedelta(days=30)
    )
    assert past.days_ago == 0
