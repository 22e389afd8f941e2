"""Rehearsals: the made-up player, the whole session on a simulated clock, and its replay."""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import look_back
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live import app, fast
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.foot import taken_off_s
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer, first_miss
from pedaltrainer.session.effects import CancelTake, RecordTake
from pedaltrainer.session.replay import event_from_json, replay, settings_from_json
from pedaltrainer.session.state import Phase
from tests.session.playing import Playing, settings

AM_E = parse_drill("Am E")


def rehearse(folder: Path, *drills: str, skill: float = 84, seed: int = 1, **more: object):
    chosen = app.Options(
        settings=settings(*drills, seed=seed, **more),
        desk=Desk(folder, "rehearsal"),
        made_up=MadeUpPlayer(skill, seed),
    )
    with Log.open(folder) as log:
        conductor = fast.rehearse(chosen, log)
        return conductor, log.takes(newest_first=False, include_cancelled=True)


def told(takes):
    """What two logs of one rehearsal must agree on."""
    return [(take.drill, take.tempo_bpm, take.outcome, take.first_miss) for take in takes]


def test_the_made_up_player_is_clean_four_times_in_five_at_their_clean_tempo():
    assert MadeUpPlayer(84).clean_take_chance(84, AM_E) == pytest.approx(0.8)
    assert MadeUpPlayer(84).clean_take_chance(60, AM_E) > 0.99
    assert MadeUpPlayer(84).clean_take_chance(120, AM_E) < 0.01


def test_over_many_takes_the_player_misses_as_often_as_stated():
    play = Playing(settings(starts_bpm=(84,)))
    play.begin_take()
    misses = [first_miss(MadeUpPlayer(84, seed), play.state) for seed in range(4000)]
    # Binomial standard error of 0.8 over 4,000: 0.0063; four of them.
    assert np.mean([miss is None for miss in misses]) == pytest.approx(0.8, abs=0.025)
    assert {miss for miss in misses if miss} == set(range(1, 9))


@pytest.mark.parametrize("style", list(AnswerStyle))
def test_a_rehearsal_plays_every_drill_and_keeps_every_take(tmp_path, style):
    conductor, takes = rehearse(tmp_path, "Am E", "F", style=style)
    assert conductor.state.phase is Phase.CLOSED
    assert [one.drill.key for one in conductor.state.results] == ["change Am E", "re-land F"]
    assert {take.drill for take in takes} == {"change Am E", "re-land F"}
    assert sum(one.takes for one in conductor.state.results) == len(takes)
    assert {take.judge for take in takes} <= {"rehearsal", "silence"}
    for one in conductor.state.results:
        assert 60 <= one.result.best_bpm <= 110


def test_the_same_seed_gives_the_same_log_and_another_seed_another(tmp_path):
    _, first = rehearse(tmp_path / "a", seed=5)
    _, second = rehearse(tmp_path / "b", seed=5)
    _, other = rehearse(tmp_path / "c", seed=6)
    assert told(first) == told(second)
    assert told(first) != told(other)


def test_a_better_player_is_measured_as_better(tmp_path):
    found = {
        skill: np.mean(
            [
                rehearse(tmp_path / f"{skill}-{seed}", skill=skill, seed=seed)[0]
                .state.results[0]
                .result.best_bpm
                for seed in range(8)
            ]
        )
        for skill in (70, 100, 140)
    }
    assert found[70] < found[100] < found[140]
    for skill, best_bpm in found.items():
        assert best_bpm == pytest.approx(skill, rel=0.15)


@pytest.mark.parametrize("style", list(AnswerStyle))
def test_a_rehearsal_replays_from_its_log_to_the_same_takes(tmp_path, style):
    conductor, takes = rehearse(tmp_path, "Am E", "F", style=style)
    with Log.open(tmp_path, read_only=True) as log:
        (session,) = log.sessions()
        inputs = log.inputs(session.id)
    kept = settings_from_json(session.settings)
    again = list(replay(kept, map(event_from_json, inputs)))
    assert again[-1][0] == conductor.state
    records = [effect for _, effects in again for effect in effects if isinstance(effect, RecordTake)]
    assert [(one.answered.take.tempo_bpm, one.answered.take.outcome.value) for one in records] == [
        (take.tempo_bpm, take.outcome) for take in takes
    ]
    cancelled = sum(isinstance(effect, CancelTake) for _, effects in again for effect in effects)
    assert cancelled == sum(take.cancelled for take in takes)


def test_misses_that_are_counted_are_kept_and_told_again_from_the_log(tmp_path):
    conductor, takes = rehearse(tmp_path, "Am E", counts_misses=True, ladder="seek", minutes=8)
    standing = [take for take in takes if not take.cancelled]
    assert {take.misses for take in standing if take.outcome == "fail"} == {1, 2}
    assert {take.misses for take in standing if take.outcome == "pass"} == {None}
    undone = [take for take in takes if take.cancelled]
    assert {take.misses for take in undone} == {1}
    assert len(undone) == sum(take.misses == 2 for take in standing)
    with Log.open(tmp_path, read_only=True) as log:
        (session,) = log.sessions()
        assert told_otherwise(session, log.inputs(session.id), takes) is None
        (record,) = (look_back(Desk(tmp_path, "rehearsal"), lambda found: found)).records
    assert [take.misses for _, take in record.dated] == [take.misses for take in standing]
    assert conductor.state.all_results


def test_speaking_up_keeps_the_raw_press_and_the_landing_it_was_about(tmp_path):
    _, takes = rehearse(tmp_path, style=AnswerStyle.SPEAK_UP)
    fails = [take for take in takes if take.outcome == "fail"]
    assert fails
    for take in fails:
        assert take.first_miss is not None
        assert take.pressed_s is not None
        landing_s = take.beats_per_chord * 60 / take.tempo_bpm
        assert take.reaction_ms == pytest.approx(1000 * taken_off_s(0.25, landing_s))


KILLS = 10

_KEEP_PLAYING = """
import os
import sys
from pathlib import Path
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import app, fast
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from tests.session.playing import settings

def keep_playing(folder):
    print(os.getpid(), flush=True)
    for seed in range(10_000):
        chosen = app.Options(
            settings("Am E", "F", seed=seed), Desk(folder, "rehearsal"), made_up=MadeUpPlayer(84, seed)
        )
        with Log.open(folder) as log:
            fast.rehearse(chosen, log, on_take=lambda row: print(row.id, flush=True))

for line in sys.stdin:
    program = os.fork()
    if program == 0:
        keep_playing(Path(sys.argv[1]))
    os.waitpid(program, 0)
    print("over", flush=True)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a program is begun anew from one that is warm: fork")
def test_a_rehearsal_killed_at_any_moment_has_lost_no_answered_take(tmp_path):
    """kill -9 at ten random moments: every answered take is there, and the next start works."""
    chance = random.Random(2026)
    answered: list[str] = []
    with subprocess.Popen(
        [sys.executable, "-c", _KEEP_PLAYING, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    ) as warm:
        assert warm.stdin is not None
        assert warm.stdout is not None
        for _ in range(KILLS):
            print("begin", file=warm.stdin, flush=True)
            program = int(warm.stdout.readline())
            # A line is written whole or not at all: it is far shorter than PIPE_BUF (POSIX, write).
            answered.append(warm.stdout.readline().strip())
            time.sleep(chance.uniform(0, 0.25))
            os.kill(program, signal.SIGKILL)
            answered += [line.strip() for line in iter(warm.stdout.readline, "over\n")]
        warm.stdin.close()
    with Log.open(tmp_path) as log:
        kept = {take.id for take in log.takes(include_cancelled=True)}
    assert len(answered) > KILLS
    assert set(answered) <= kept
    connection = sqlite3.connect(tmp_path / "log.sqlite3")
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
    _, takes = rehearse(tmp_path)
    assert len(takes) > len(kept)


def test_rehearse_prints_what_was_measured_as_json(tmp_path):
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pedaltrainer",
            "rehearse",
            "--fast",
            "--json",
            "--seed",
            "3",
            "--skill",
            "100",
        ],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"XDG_DATA_HOME": str(tmp_path)},
    )
    found = json.loads(done.stdout)
    assert found["true_clean_tempo_bpm"] == 100
    assert found["drills"][0]["drill"] == "change Am E"
    assert 75 <= found["drills"][0]["best_bpm"] <= 125
    assert list(tmp_path.iterdir()) == [], "a rehearsal leaves the player's own folder alone"
