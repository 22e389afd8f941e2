"""Made-up songs, and what a made-up player's log tells of their changes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta

from pedaltrainer.practice.coach.evidence import Evidence, evidence_of, in_sittings
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
CHART = """\
title: Paper Boats
tempo: 104
by: 2026-12-12
# Softly in the bridge.

[Verse] x2
| Am / / / | F / / / | C / G / | Am . . . |

[Bridge]
tempo: 80
| Am / / G | Am . - - |
"""


def song(chart: str = CHART) -> Song:
    return parse_chart(chart, "a made-up chart", TODAY)


def known(takes: int = 10, /, **clean_bpm: float) -> Mapping[str, Evidence]:
    """What is known after `takes` takes on either side of each drill's clean tempo; Am_F is "Am F"."""
    found = {}
    for name, bpm in clean_bpm.items():
        drill = parse_drill(name.replace("_", " "))
        played = [
            (
                NOW - timedelta(minutes=40 - number),
                Take(
                    drill,
                    bpm * (1.1 if number % 2 else 0.94),
                    8,
                    Outcome.FAIL if number % 2 else Outcome.PASS_,
                ),
            )
            for number in range(takes)
        ]
        found[drill.key] = evidence_of(drill, in_sittings(played), NOW)
    return found
