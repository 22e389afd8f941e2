"""Today's practice in words: what, how long, how, and why. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pedaltrainer.history.today import Planned
from pedaltrainer.practice.coach.plan_lines import Mode, PlanLine, Today
from pedaltrainer.showing.plan_words import proposal_words, reason_words, why_words
from pedaltrainer.songs.song import Song
from pedaltrainer.system.amounts import plural
from pedaltrainer.telling.songs import limit_name
from pedaltrainer.telling.text_boxes import Terminal

HOW = {Mode.MEASURE: "measure it", Mode.PRACTISE: "practise where you learn", Mode.SLOW: "slowly"}
REST = "rest a few minutes"
INDENT = " " * 18


def plan_report(planned: Planned, songs: Sequence[Song], today: date, terminal: Terminal) -> str:
    """The lines of today's plan, each with its reason, and the breaks between; then what to try otherwise."""
    plan = planned.plan
    heading = f"Today, {minutes_words(plan.minutes)}{_goal(songs, today)}"
    lines = [line for one in _timed(plan, terminal) for line in one]
    drills = {line.drill.key: line.drill for line in plan.lines}
    proposed = [
        terminal.wrapped(proposal_words(drills[key], limit_name(drills[key], limit), piece))
        for key, (limit, piece) in planned.proposals.items()
    ]
    return "\n\n".join([terminal.wrapped(heading), "\n".join(lines), *proposed])


def minutes_words(minutes: float) -> str:
    """ "20 minutes", "1 minute", "2.5 minutes"."""
    return f"{round(minutes, 1):g} {plural(minutes, 'minute')}"


def _goal(songs: Sequence[Song], today: date) -> str:
    """The nearest date, with its song."""
    dated = [song for song in songs if song.by is not None and song.by >= today]
    if not dated:
        return ""
    nearest = min(dated, key=lambda song: song.by or today)
    days = ((nearest.by or today) - today).days
    left = {0: "is due today", 1: "is due tomorrow"}.get(days, f"is due in {days} days")
    return f"; {nearest.title} {left}"


def _timed(plan: Today, terminal: Terminal) -> Iterator[list[str]]:
    at, told = 0.0, set[str]()
    breaks = list(plan.breaks)
    for line in plan.lines:
        while breaks and breaks[0] <= at + 1e-6:
            breaks.pop(0)
            yield [f"{INDENT}{REST}"]
        reason = reason_words(line)
        again = reason in told
        told.add(reason)
        yield [
            terminal.wrapped(_head(line, at), INDENT),
            *([] if again else [terminal.wrapped(f"{INDENT}{why_words(line)}", INDENT)]),
        ]
        at += line.minutes


def _head(line: PlanLine, at_minutes: float) -> str:
    minutes, seconds = divmod(round(at_minutes * 60), 60)
    start = "" if line.start_bpm is None else f", from {line.start_bpm} BPM"
    lasts = f"{round(line.minutes, 1):g} min"
    return f"{minutes:>3}:{seconds:02}  {lasts:>7}   {line.drill.title}: {HOW[line.mode]}{start}"
