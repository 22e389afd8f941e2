"""A made-up player's weeks in words: a line a week, and where every change stood at their end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pedaltrainer.practice.coach.readiness import Standing
from pedaltrainer.rehearsal.evening import Evening
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling.songs import changes_table, plain_table, readiness_words

DAYS_A_WEEK = 7


def weeks_report(evenings: Sequence[Evening], columns: int) -> str:
    """The journey: what was practised and how ready the songs were week by week, then change by change."""
    last = evenings[-1]
    return "\n".join(
        [
            f"A made-up player practised on {len(evenings) - 1} days. What these hands can really do",
            "is known here; the trainer saw only their answers.",
            "",
            _weeks(evenings),
            "",
            "At the end, as measured:",
            "",
            changes_table(last.standings, columns),
            "",
            f"Truly ready: {last.truly_ready} of {len(last.standings)} changes, "
            f"against {evenings[0].truly_ready} at the beginning.",
        ]
    )


def _weeks(evenings: Sequence[Evening]) -> str:
    table: dict[str, list[str]] = {
        "after": [],
        "takes that week": [],
        "hardest, as measured": [],
        "truly ready": [],
    }
    for evening in ends_of_weeks(evenings):
        since = [one for one in evenings if evening.day - DAYS_A_WEEK < one.day <= evening.day]
        table["after"].append(_after(evening.day))
        table["takes that week"].append(str(sum(one.takes for one in since)))
        table["hardest, as measured"].append(_hardest(evening.standings))
        table["truly ready"].append(f"{evening.truly_ready} of {len(evening.standings)}")
    return plain_table(table, left=("after", "hardest, as measured"))


def ends_of_weeks(evenings: Sequence[Evening]) -> list[Evening]:
    """The evening before the first day, the last one of every week, and the last one of all."""
    return [one for one in evenings if one.day % DAYS_A_WEEK == 0 or one is evenings[-1]]


def _after(day: int) -> str:
    weeks, days = divmod(day, DAYS_A_WEEK)
    if not day:
        return "nothing yet"
    if days:
        return counted(day, "day")
    return counted(weeks, "week")


def _hardest(standings: Sequence[Standing]) -> str:
    played = [one for one in standings if one.takes and one.readiness is not None]
    if not played:
        return ""
    hardest = min(played, key=lambda one: one.readiness or 0.0)
    return f"{hardest.need.drill.title}: {readiness_words(hardest)}"


def plain(evenings: Sequence[Evening]) -> dict[str, Any]:
    """The same as plain data: an entry a day, tempos in BPM."""
    return {
        "days": [
            {
                "day": evening.day,
                "takes": evening.takes,
                "drills": list(evening.drills),
                "truly_ready": evening.truly_ready,
                "changes": [
                    {
                        "drill": one.need.drill.key,
                        "needed_bpm": round(one.need.tempo_bpm, 2),
                        "clean_bpm": None if one.clean is None or not one.takes else round(one.clean.bpm, 2),
                        "true_bpm": round(evening.true_bpm[one.need.drill.key], 2),
                        "chance_ready": round(one.chance, 4),
                    }
                    for one in evening.standings
                ],
            }
            for evening in evenings
        ]
    }
