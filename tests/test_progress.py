"""Is practice working? From dated takes to words a player can act on."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from pedaltrainer import progress
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import Verdict
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, TakeRow, new_id, utc_text
from pedaltrainer.rehearsal import MadeUpPlayer

START = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
AM_E = parse_drill("Am E")


def weeks_of_takes(days: int, gain_per_day: float, start_bpm: float = 80, takes: int = 12, seed: int = 1):
    """A made-up player's takes around their clean tempo, which grows by a share a day."""
    chance = np.random.default_rng(seed)
    dated = []
    for day in range(days):
        player = MadeUpPlayer(start_bpm * math.exp(gain_per_day * day))
        for number in range(takes):
            tempo_bpm = round(player.skill_bpm * math.exp(chance.uniform(-0.1, 0.08)))
            clean = chance.random() < player.clean_take_chance(tempo_bpm)
            outcome = Outcome.PASS_ if clean else Outcome.FAIL
            dated.append(
                (START + timedelta(days=day, seconds=12 * number), Take(AM_E, tempo_bpm, 8, outcome))
            )
    return dated


def test_a_player_who_gains_two_per_cent_a_day_is_rising_and_told_when_the_target_comes():
    one = progress.progress_of(AM_E, weeks_of_takes(14, 0.02), target_bpm=120)
    assert one.trend.verdict is Verdict.RISING
    assert len(one.sittings) == 14
    assert one.sittings[-1].found.bpm > one.sittings[0].found.bpm
    assert one.reach.earliest is not None
    words = progress.in_words(one, UTC)
    assert "Rising" in words
    assert "2026-03-14" in words
    assert f"120 BPM: {one.reach.words}." in words


def test_a_flat_player_is_told_to_drop_to_the_smaller_pieces():
    one = progress.progress_of(AM_E, weeks_of_takes(40, 0.0, takes=20), target_bpm=120)
    assert one.trend.verdict is Verdict.FLAT
    assert one.reach.words == "not at this rate"
    assert 'pedaltrainer play "Am" "E"' in progress.in_words(one, UTC)


def test_one_sitting_is_too_early():
    one = progress.progress_of(AM_E, weeks_of_takes(1, 0.0))
    assert progress.verdict_words(one.trend) == "Too early to say: 1 sitting so far."
    assert progress.advice_for(one) is None


@pytest.mark.parametrize("outcome", [Outcome.PASS_, Outcome.FAIL])
@pytest.mark.parametrize("count", [1, 3, 500])
def test_all_passes_or_all_fails_give_words_and_no_false_certainty(outcome, count):
    takes = [(START + timedelta(days=n % 5, seconds=n), Take(AM_E, 80, 8, outcome)) for n in range(count)]
    one = progress.progress_of(AM_E, takes, target_bpm=60)
    assert one.trend.verdict in {Verdict.TOO_EARLY, Verdict.FLAT}
    assert "nan" not in progress.in_words(one, UTC)
    json.loads(progress.as_json([one]))


def test_void_takes_say_nothing():
    one = progress.progress_of(AM_E, [(START, Take(AM_E, 80, 8, Outcome.VOID))])
    assert progress.in_words(one, UTC) == "Am – E: no take counts yet."


def test_takes_in_any_order_and_any_time_zone_are_the_same():
    takes = weeks_of_takes(7, 0.01)
    elsewhere = [(when.astimezone(), take) for when, take in reversed(takes)]
    assert progress.in_words(progress.progress_of(AM_E, takes), UTC) == progress.in_words(
        progress.progress_of(AM_E, elsewhere), UTC
    )


# --- the command ------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path):
    with Log.open(tmp_path) as log:
        session = SessionRow(new_id(), "tess", utc_text(START), "0.1.0")
        log.begin_session(session)
        for when, take in weeks_of_takes(10, 0.02, takes=8):
            log.append_take(
                TakeRow(
                    id=new_id(),
                    session_id=session.id,
                    player="tess",
                    drill=AM_E.key,
                    chords=AM_E.chords,
                    beats_per_chord=1,
                    metre=4,
                    tempo_bpm=take.tempo_bpm,
                    landings=8,
                    outcome=str(take.outcome),
                    first_miss=None,
                    judge="foot",
                    answer_style="ask",
                    ladder="seek",
                    started_utc=utc_text(when),
                    ended_utc=utc_text(when),
                    pressed_s=None,
                    heard_press_s=None,
                    reaction_ms=250,
                    duration_s=9.0,
                )
            )
    return tmp_path


def run(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pedaltrainer", "progress", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=os.environ)


def test_the_command_prints_a_line_a_day_and_the_verdict(folder):
    done = run("E Am", "--player", "tess", "--data", folder)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Am – E\n")
    assert done.stdout.count("●") == 10
    assert "Rising" in done.stdout


def test_the_command_as_json_has_the_documented_names(folder):
    (one,) = json.loads(run("--player", "tess", "--data", folder, "--json", "--target", 140).stdout)
    assert one.keys() == {
        "drill", "verdict", "probability", "percent_per_day", "advice", "target_bpm", "target",
        "target_earliest", "target_latest", "sittings",
    }  # fmt: skip
    assert one["verdict"] == "rising"
    assert len(one["sittings"]) == 10


@pytest.mark.parametrize(("name", "begins"), [("p.png", b"\x89PNG"), ("p.svg", b"<?xml")])
def test_the_command_draws_a_picture(folder, name, begins):
    done = run("Am E", "--player", "tess", "--data", folder, "--picture", folder / name, "--target", 120)
    assert done.returncode == 0, done.stderr
    assert (folder / name).read_bytes().startswith(begins)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("C G", "--player", "tess"), "its drills are “change Am E”"),
        (("--player", "nobody"), "name a player with --player: tess"),
        (("Am E", "--player", "tess", "--picture", "p.gif"), "ending in .png or .svg"),
        (("Am E", "--player", "tess", "--target", "5"), "from 20 to 300 BPM"),
        (("Am E", "--player", "tess", "--picture", "/none/such/p.png"), "/none/such/p.png"),
    ],
)
def test_bad_input_is_one_sentence(folder, words, said):
    done = run(*words, "--data", folder)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
