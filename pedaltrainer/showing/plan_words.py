"""Why a drill is in today's plan, in words: one telling for the stage, the terminal and JSON. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from pedaltrainer.practice.coach.plan_lines import Mode, PlanLine, Why
from pedaltrainer.practice.drill import Drill


def reason_words(line: PlanLine) -> str:
    """The drill and why: "G – Em: 84 of 98 BPM, for Low Water"."""
    return f"{line.drill.title}: {why_words(line)}"


def next_words(drill: Drill, target_bpm: float | None) -> str:
    """The next thing to practise: "Next: C – F, for 98 BPM."."""
    return f"Next: {drill.title}{'' if target_bpm is None else f', for {target_bpm:.0f} BPM'}."


def why_words(line: PlanLine) -> str:
    """Why a line is in the plan, without its drill."""
    asked = "" if line.target_bpm is None else f"{line.target_bpm:.0f} BPM"
    sources = listed(line.sources)
    if line.why is Why.WARM_UP:
        return "warm-up: slow and easy"
    if line.mode is Mode.SLOW or not asked:
        return f"set in {sources}" if sources else "to keep it"
    if line.why is Why.NEW or line.now_bpm is None:
        return f"new; {sources} {'asks' if len(line.sources) == 1 else 'ask'} for {asked}"
    if line.why is Why.KEPT:
        return f"ready for {asked}; to keep it"
    return f"{line.now_bpm:.0f} of {asked}, for {sources}"


def proposal_words(change: Drill, limit: str, piece: Drill | None) -> str:
    """What to try with a change that has been flat for long. limit: what holds it back, "" where not sure."""
    held = f" and held back by {limit}" if limit else ""
    if piece is None:
        return f"{change.title} has been flat for long{held}; ask a teacher for another way."
    return f'{change.title} has been flat for long{held}; try: pedaltrainer play "{piece.words}"'


def listed(words: Sequence[str], most: int = 3) -> str:
    """ "Low Water, Tin Roof and 2 more"."""
    words = list(dict.fromkeys(words))
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""
