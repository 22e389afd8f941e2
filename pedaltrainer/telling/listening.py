"""What was heard in a recording, in words and as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, LandingHeard, TakeHeard, Unheard
from pedaltrainer.neck.chords.notes import note_name
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.practice.drill import Drill
from pedaltrainer.system.amounts import counted

TAKES = {
    HeardTake.CLEAN: "heard as clean",
    HeardTake.MISSED: "heard as missed",
    HeardTake.UNSURE: "the ear is not sure",
}
TOO_LOUD = (
    "I cannot hear you over the click: it is not well below the chords. Use headphones, or turn the click "
    "down, and record again."
)
NO_REFERENCE = (
    "No clean takes to compare with: give two with --reference, and silent strings are heard far better."
)
GUARDS = {True: "passed", False: "failed"}
_WHY = {
    Unheard.SILENT: "{file} is silent; check that the right input was recorded, and its level.",
    Unheard.CLIPPED: "{file} is clipped; turn the input down until its loudest stroke stays below full.",
    Unheard.SHORT: "{file} is shorter than the take; record it to the end, or name fewer --landings.",
    Unheard.LONG: "{file} is over a minute longer than the take; cut it to the take.",
    Unheard.NO_CLICK: "{file} has no click of this take in it; say --click without, or check --tempo.",
    Unheard.OTHER_TEMPO: (
        "{file} has no chords where {drill} at {tempo:g} BPM has them; check --tempo, --landings, --count-in."
    ),
    Unheard.NO_CHORDS: "{file} has no chords in it; check that the guitar was recorded.",
    Unheard.OTHER_CHORD: "{file} has other chords than {drill} nearly throughout; check --drill.",
    Unheard.NOT_ALONE: (
        "{file} has more in it than the chords of {drill}; record one guitar by itself, and check --drill."
    ),
    Unheard.FLOOD: "{file} has more notes than a guitar can send; check that the guitar was recorded.",
    Unheard.OTHER_INSTRUMENT: "{file} has mostly notes that no guitar has; check what was recorded.",
}


def why_unheard(why: Unheard, file: Path, tempo_bpm: float, drill: Drill) -> str:
    """One sentence: what is amiss with a recording, and the mend."""
    return _WHY[why].format(file=file, tempo=tempo_bpm, drill=drill.words)


def plain(expected: Expected, heard: TakeHeard) -> dict[str, Any]:
    """As JSON. Strings are numbered as players do, 1 the highest."""
    strings = len(expected.landings[0].shape.frets)
    return {
        "take": heard.take.value,
        "delay_ms": round(heard.delay_ms, 1),
        "guard": GUARDS[heard.guard],
        "landings": [
            {
                "landing": number,
                "verdict": one.verdict.value,
                "late_ms": None if one.late_ms is None else round(one.late_ms, 1),
                "strings": sorted(strings - string for string in one.strings),
            }
            for number, one in enumerate(heard.landings, start=1)
        ],
    }


def report(title: str, expected: Expected, heard: TakeHeard) -> str:
    """In words: the take, each landing that was not clean, and what the ear could not tell."""
    if not heard.guard:
        return f"{title}: {TAKES[HeardTake.UNSURE]}.\n{TOO_LOUD}"
    lines = [f"{title}: {TAKES[heard.take]}."]
    for number, (wanted, one) in enumerate(zip(expected.landings, heard.landings, strict=True), start=1):
        if one.verdict is not HeardAs.OK:
            chord = parse_chosen(wanted.chord).symbol
            lines.append(f"  landing {number}, {chord}: {_landing(one, wanted.shape.tuning)}")
    clean = sum(one.verdict is HeardAs.OK for one in heard.landings)
    lines.append(f"{counted(clean, 'landing')} of {len(heard.landings)} in order.")
    if not heard.has_reference:
        lines.append(NO_REFERENCE)
    lines.append("The ear advises; you answer.")
    return "\n".join(lines)


def _landing(one: LandingHeard, tuning: Tuning) -> str:
    strings = " and ".join(f"{string_name(string, tuning)} string" for string in one.strings)
    late = "" if one.late_ms is None else f"{round(one.late_ms)} ms"
    if one.verdict is HeardAs.LATE:
        return f"{late} late" + (f"; the {strings} did not ring" if strings else "")
    if one.verdict is HeardAs.DEAD:
        return f"the {strings} did not ring"
    if one.verdict is HeardAs.UNSURE:
        return f"not sure; listen for the {strings}" if strings else "not sure"
    return {
        HeardAs.ABSENT: "nothing was struck",
        HeardAs.WRONG: "another chord, or a finger beside its place",
    }[one.verdict]


def string_name(string: int, tuning: Tuning) -> str:
    """A string by its open note and number, as players say it: "D (4)"."""
    return f"{note_name(tuning.open_midi[string])} ({tuning.strings - string})"
