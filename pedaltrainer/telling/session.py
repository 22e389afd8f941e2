"""What a session has found, in words and as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pedaltrainer.practice.steps import step_words
from pedaltrainer.session.state import DrillResult, State
from pedaltrainer.showing.results import (
    by_drill,
    found_words,
    last_words,
    silent_json,
    takes_words,
    target_words,
    told_ends,
    why_ended,
)


def in_words(state: State, true_bpm: float | None = None) -> str:
    """A line a drill, as printed when the stage has closed."""
    if not state.all_results:
        return "No take was answered."
    lines = [_line(one) for one in by_drill(state.all_results)]
    if true_bpm is not None:
        lines.append(f"The made-up player's true clean tempo was {true_bpm:g} BPM.")
    return "\n".join(lines)


def as_json(state: State, true_bpm: float | None = None) -> str:
    """The same as a JSON object; true_bpm only where it is known."""
    found: dict[str, Any] = {"drills": [_plain(one) for one in by_drill(state.all_results)]}
    if true_bpm is not None:
        found["true_clean_tempo_bpm"] = true_bpm
    return json.dumps(found, indent=2)


def _line(one: DrillResult) -> str:
    found, why = f"{found_words(one)}{last_words(one)}", why_ended(one.result.ending)
    said = (takes_words(one), target_words(one), why)
    return f"{one.drill.title}: {found} ({'; '.join(part for part in said if part)})."


def _plain(one: DrillResult) -> Mapping[str, Any]:
    return {
        "drill": one.drill.key,
        "chords": list(one.drill.chords),
        "clean_bpm": one.result.clean_bpm,
        "interval_bpm": list(told_ends(one)) if one.result.interval_bpm else None,
        "best_bpm": one.result.best_bpm,
        "last_bpm": one.last_bpm,
        "target_bpm": None if one.target_bpm is None else round(one.target_bpm, 1),
        "is_ready": one.is_ready,
        "takes": one.takes,
        "silent_strings": silent_json(one.silent),
        "step": step_words(one.drill.row, one.drill.turn) or None,
        "why_ended": why_ended(one.result.ending),
    }
