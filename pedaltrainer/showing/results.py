"""What a drill has come to: one telling of it for the stage, the terminal and JSON. Pure."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from pedaltrainer.practice.ladders.rungs import EndedBy, Ending, Finding, ToldTempo
from pedaltrainer.practice.steps import step_words
from pedaltrainer.session.state import DrillResult
from pedaltrainer.system.amounts import counted
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

CLEAN_TEMPO = "The clean tempo is the fastest at which 8 landings come out clean 4 times in 5."
"""Said once on every page that has one."""
ONE_FIGURE = 0.15
"""An interval wider than this either way is shown as two figures rather than one."""


def tempo_words(told: ToldTempo) -> str:
    """A clean tempo with no more certainty than there is: "84 (78 to 90)", "above 92".

    Known only roughly it is "somewhere in 61 to 97"; "" where nothing is measured.
    """
    bpm, low_bpm, high_bpm = told
    if high_bpm is None:
        return "" if low_bpm is None else f"above {min(low_bpm, FASTEST_BPM):.0f}"
    if low_bpm is None:
        return f"below {max(high_bpm, SLOWEST_BPM):.0f}"
    between = f"{low_bpm:.0f} to {high_bpm:.0f}"
    return f"somewhere in {between}" if bpm is None else f"{bpm:.0f} ({between})"


class _Telling(NamedTuple):
    """A finding in words; as short as it goes; and what stands below that."""

    words: str
    figure: str
    below: str = "{words}"


_TELLINGS = {
    Finding.NONE: _Telling("no take came out clean yet", "0 of {answered}"),
    Finding.FASTEST_RUNG: _Telling(
        "{best} BPM is the fastest rung passed",
        "{best} BPM",
        "the fastest rung passed today",
    ),
    Finding.CLEAN_TEMPO: _Telling(
        "{clean:.0f} BPM, between {low:.0f} and {high:.0f}",
        "{clean:.0f} BPM",
        "between {low:.0f} and {high:.0f}{last}",
    ),
    Finding.ABOVE: _Telling("above {least:.0f} BPM; nothing was missed yet", "faster than {least:.0f} BPM"),
    Finding.BELOW: _Telling("below {most:.0f} BPM; no take came out clean yet", "slower than {most:.0f} BPM"),
    Finding.WITHIN: _Telling(
        "too early to say; somewhere between {low:.0f} and {high:.0f} BPM", "{low:.0f}–{high:.0f} BPM"
    ),
    # Slow work measures nothing: its finding is a count of takes already.
    Finding.SLOW_WORK: _Telling("{passed} of {tried} slow takes clean{more}", "{passed} of {tried}"),
}

_ENDINGS = {
    EndedBy.TOP_REACHED: "the top of the ladder was reached",
    EndedBy.BOTTOM_MISSED: "{:g} BPM does not come yet",
    EndedBy.WELL_KNOWN: "the tempo is known to within {:g} %",
    EndedBy.MISSED_TWICE: "{:g} BPM was missed twice",
    EndedBy.READY: "{:.0f} BPM is reached: ready",
    EndedBy.TIME_UP: "the time was up",
    EndedBy.STOPPED: "you stopped early",
}


def found_words(one: DrillResult) -> str:
    """What was found, with no more certainty than there is: "84 BPM, between 81 and 88"."""
    values = _values(one)
    if one.result.finding is Finding.SLOW_WORK and values["tried"] == 1:
        return f"one slow take, {'clean' if values['passed'] else 'missed'}{values['more']}"
    return _TELLINGS[one.result.finding].words.format(**values)


def found_shortly(one: DrillResult) -> str:
    """A drill as a line of the stage: "Am – E: 84 BPM; last time 79"."""
    return f"{one.drill.title}: {found_figure(one)[0]}{last_words(one)}"


def found_figure(one: DrillResult) -> tuple[str, str]:
    """The one large figure of a drill, and the words below it."""
    telling = _TELLINGS[one.result.finding]
    figure = telling.figure
    if one.result.finding is Finding.CLEAN_TEMPO and not _is_one_figure(one):
        figure = _TELLINGS[Finding.WITHIN].figure
    values = _values(one)
    below = telling.below.format(words=found_words(one), **values)
    return figure.format(**values), f"{one.drill.title}: {below}"


def takes_words(one: DrillResult) -> str:
    """How many takes were answered: "12 takes"."""
    return counted(one.takes, "take")


def target_words(one: DrillResult) -> str:
    """What the songs ask for and whether it is there: "84 of 98 BPM"; "" where none asks, or it was said."""
    if one.target_bpm is None or one.result.ending.by is EndedBy.READY:
        return ""
    if one.is_ready:
        return _ENDINGS[EndedBy.READY].format(one.target_bpm)
    clean_bpm = one.result.clean_bpm
    if clean_bpm is None:
        return f"{one.target_bpm:.0f} BPM is asked for"
    return f"{clean_bpm:.0f} of {one.target_bpm:.0f} BPM"


def by_drill(results: Iterable[DrillResult]) -> tuple[DrillResult, ...]:
    """Each drill once, in the order of their first takes: what its last visit came to, of all its takes.

    Slow work is told of a drill that nothing else was done with.
    """
    found: dict[str, DrillResult] = {}
    for one in results:
        before = found.setdefault(one.drill.key, one)
        if before is not one:
            told = before if one.result.finding is Finding.SLOW_WORK else one
            last_bpm = before.last_bpm or one.last_bpm
            silent = Counter(before.silent) + Counter(one.silent)
            takes = before.takes + one.takes
            found[one.drill.key] = replace(told, takes=takes, last_bpm=last_bpm, silent=silent)
    return tuple(found.values())


def last_words(one: DrillResult) -> str:
    """What the time before came to, to be added: "; last time 82", or nothing."""
    return f"; last time {one.last_bpm:.0f}" if one.last_bpm else ""


def told_ends(one: DrillResult) -> tuple[float | None, float | None]:
    """The ends of the interval; None at one that no take has met."""
    low_bpm, high_bpm = one.result.interval_bpm or (None, None)
    finding = one.result.finding
    return None if finding is Finding.BELOW else low_bpm, None if finding is Finding.ABOVE else high_bpm


def why_ended(ending: Ending) -> str:
    """Why a drill ended, for the middle of a sentence."""
    return _ENDINGS[ending.by].format(ending.figure)


def _is_one_figure(one: DrillResult) -> bool:
    low_bpm, high_bpm = one.result.interval_bpm or (1.0, math.inf)
    return math.sqrt(high_bpm / low_bpm) - 1 <= ONE_FIGURE


def _more(one: DrillResult) -> str:
    """What slow work has come to besides: "; now fret 5", "; did not ring: B twice"."""
    step = step_words(one.drill.row, one.drill.turn)
    return f"; now {step}" if step else silent_words(one.silent)


def silent_json(silent: Mapping[str, int]) -> list[dict[str, object]]:
    """The strings that did not ring, and in how many takes, the most silent first."""
    often = sorted(silent.items(), key=lambda pair: -pair[1])
    return [{"string": name, "takes": takes} for name, takes in often]


def silent_list(silent: Mapping[str, int]) -> str:
    """The same in a line: "B 2, D 1"; "" for none."""
    return ", ".join(f"{one['string']} {one['takes']}" for one in silent_json(silent))


def silent_words(silent: Mapping[str, int]) -> str:
    """The same in a sentence that goes on: "; did not ring: B 2, D 1"; "" for none."""
    named = silent_list(silent)
    return f"; did not ring: {named}" if named else ""


def _values(one: DrillResult) -> dict[str, Any]:
    result = one.result
    low_bpm, high_bpm = result.interval_bpm or (0.0, 0.0)
    passed = sum(rung.passes for rung in result.tried)
    return {
        "answered": one.takes,
        "best": result.best_bpm,
        "clean": result.clean_bpm or 0.0,
        "high": high_bpm,
        "last": last_words(one),
        "least": min(low_bpm, FASTEST_BPM),
        "low": low_bpm,
        "more": _more(one),
        "most": max(high_bpm, SLOWEST_BPM),
        "passed": passed,
        "takes": takes_words(one),
        "tried": passed + sum(rung.fails for rung in result.tried),
    }
