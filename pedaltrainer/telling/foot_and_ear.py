"""What foot and ear said of the same takes, in words and as JSON. Pure."""

from __future__ import annotations

from typing import Any

from pedaltrainer.practice.agreement import FEWEST_TAKES, Agreement, Flattery, TwoJudges
from pedaltrainer.system.amounts import counted

LEAST_TOLD = 0.02
"""So much the ear's own errors make of a foot that is as strict."""


def in_words(found: TwoJudges) -> str:
    """Of one drill: all its takes, its days where they are several, and what a kind foot adds."""
    lines = [f"Foot and ear, {_agreed(found.whole)}."]
    if len(found.days) > 1:
        lines += [f"  {day.isoformat()}  {_agreed(one)}" for day, one in found.days.items()]
    return "\n".join([*lines, flattery_words(found.flattery)])


def _agreed(one: Agreement) -> str:
    parts = [
        f"{counted(one.takes, 'take')}: alike in {one.alike}",
        *([f"the ear alone heard a miss in {one.only_ear}"] if one.only_ear else []),
        *([f"your foot alone in {one.only_foot}"] if one.only_foot else []),
        *([f"the ear was not sure in {one.unsure}"] if one.unsure else []),
    ]
    return ", ".join(parts)


def flattery_words(one: Flattery | None) -> str:
    """By how much a kind foot raises the clean tempo, and of how many takes that is told."""
    if one is None:
        return f"What that does to the clean tempo is told from {FEWEST_TAKES} takes that the ear is sure of."
    if one.share < LEAST_TOLD:
        return f"Your foot is as strict as the ear (of {counted(one.takes, 'take')})."
    return (
        f"Your foot flatters you by about {one.share * 100:.0f} %: {one.foot_bpm:.0f} BPM by it, "
        f"{one.both_bpm:.0f} where the ear counts as well (of {counted(one.takes, 'take')})."
    )


def plain(found: TwoJudges) -> dict[str, Any]:
    """As JSON: counts of takes, tempos in BPM, the share in per cent."""
    one = found.flattery
    return {
        **_counts(found.whole),
        "days": [{"date": day.isoformat(), **_counts(each)} for day, each in found.days.items()],
        "flattery": None
        if one is None
        else {
            "percent": round(one.share * 100, 1),
            "foot_bpm": round(one.foot_bpm, 2),
            "both_bpm": round(one.both_bpm, 2),
            "takes": one.takes,
        },
    }


def _counts(one: Agreement) -> dict[str, int]:
    return {
        "takes": one.takes,
        "alike": one.alike,
        "ear_alone": one.only_ear,
        "foot_alone": one.only_foot,
        "unsure": one.unsure,
    }
