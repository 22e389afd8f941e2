"""What is known of drills, made up for the tests of the coach."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import numpy as np

from pedaltrainer.neck.gap import Gap
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.evidence import Evidence, evidence_of, in_sittings
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import Trend, Verdict
from pedaltrainer.songs.song import Bar, Section, Slot, Song

NOW = datetime(2027, 3, 1, 18, 0, tzinfo=UTC)
TODAY = NOW.date()


def belief(bpm: float, sd: float = 0.03) -> ct.Posterior:
    spread = np.exp(-0.5 * (np.log(ct.SPREADS / 0.05) / 0.4) ** 2)
    mass = spread[:, None] * np.exp(-0.5 * ((ct.LOG_TEMPOS - math.log(bpm)) / sd) ** 2)
    return ct.Posterior(mass / mass.sum(), 12)


def evidence(words: str, bpm: float, sd: float = 0.03, days_ago: float = 1, flat: bool = False) -> Evidence:
    now = belief(bpm, sd)
    trend = Trend(Verdict.FLAT, 0.9, 0.0, -0.001, 0.001, 40) if flat else None
    last = NOW - timedelta(days=days_ago)
    return Evidence(parse_drill(words), now, 12, last, trend, ct.past_result(now, days_ago))


def known(*all_of_them: Evidence, **by_words: float) -> dict[str, Evidence]:
    """Evidence by key; by_words: F=60, or Am_E=80 for a change."""
    made = [evidence(words.replace("_", " "), bpm) for words, bpm in by_words.items()]
    return {one.drill.key: one for one in (*all_of_them, *made)}


def sitting(drill: Drill, clean_bpm: float, days_ago: float, takes: int = 12, seed: int = 0):
    """Dated takes around a clean tempo, a quarter of a minute apart."""
    rng = np.random.default_rng(seed)
    dated = []
    for n in range(takes):
        tempo_bpm = round(clean_bpm * math.exp(rng.normal(0.03, 0.06)))
        z = math.log(clean_bpm / tempo_bpm) / 0.05 + math.log(4)
        outcome = Outcome.PASS_ if rng.random() < 1 / (1 + math.exp(-z)) else Outcome.FAIL
        when = NOW - timedelta(days=days_ago) + timedelta(seconds=15 * n)
        dated.append((when, Take(drill, tempo_bpm, 8, outcome)))
    return dated


def measured(words: str, clean_bpm: float, days_ago: float = 1, seed: int = 0) -> Evidence:
    drill = parse_drill(words)
    return evidence_of(drill, in_sittings(sitting(drill, clean_bpm, days_ago, 16, seed)), NOW)


def song(
    chords: str, tempo_bpm: float = 90, title: str = "Tin Roof", by: date | None = None, gap: Gap = Gap.LIFTED
) -> Song:
    """A song of one chord a bar of 4/4."""
    bars = tuple(Bar((Slot(Fraction(0), chord),), 4, Fraction(1, 4), tempo_bpm) for chord in chords.split())
    return Song(title, (Section("", bars),), gap=gap, by=by)
