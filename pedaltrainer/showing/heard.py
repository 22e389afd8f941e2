"""What the ear heard, for the stage: the sound check, and a take in a line. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from pedaltrainer.ear.verdicts import HeardAs, HeardTake, Unheard
from pedaltrainer.screen import view as v
from pedaltrainer.session.events import EarHeard, LandingTold, SoundChecked
from pedaltrainer.session.state import State

NOT_OVER_THE_CLICK = "I cannot hear you over the click"
KEPT_NOWHERE = "kept, and nothing leaves this computer."
ADVISES = "The ear advises; your foot answers."
ANSWERS = "The ear answers what it is sure of; your foot overrules it."
NO_INPUT, GONE = "no input", "gone"
_WHY: Mapping[str, str] = {
    NO_INPUT: "No microphone was found",
    GONE: "The microphone has gone",
    Unheard.SILENT: "The microphone is silent",
    Unheard.CLIPPED: "The microphone is too loud",
    Unheard.OTHER_TEMPO: "I heard no chords in their places",
    Unheard.NO_CHORDS: "I heard no chords",
    Unheard.OTHER_CHORD: "I heard other chords than these",
    Unheard.NOT_ALONE: "I heard more than your guitar",
}
_WHY_BY_NOTES: Mapping[str, str] = {
    **_WHY,
    NO_INPUT: "No MIDI guitar was found",
    GONE: "The MIDI guitar has gone",
    Unheard.SILENT: "The MIDI guitar sends nothing",
    Unheard.NO_CHORDS: "No note came from the MIDI guitar",
    Unheard.FLOOD: "Too many notes for a guitar",
    Unheard.OTHER_INSTRUMENT: "Those are no guitar's notes",
}
_MENDS: Mapping[str, str] = {
    NO_INPUT: "Plug one in, or play without it.",
    GONE: "Plug it in again, and listen again.",
    Unheard.SILENT: "Is it the right one, and turned up?",
    Unheard.CLIPPED: "Turn its input down.",
    Unheard.OTHER_INSTRUMENT: "Is it the right one, and tuned as is set up?",
}
"""What to do about it at the sound check."""
QUIET_PEAK, LOUD_PEAK = 0.03, 0.9
"""A stroke below the one is soft for a microphone, above the other near its end (-30 and -1 dB)."""


TWO_FIRST = "Two clean takes come first: others are held to them."
MOST_NAMED = 3
"""So many landings, or strings, are named in a line that is to be read from afar."""
EACH_S = 2.0
"""How long a landing is told of, where there are several."""


def heard_words(heard: EarHeard | None, shown_s: float = 0.0) -> str:
    """What the ear makes of a take, in a line: "Landing 5 was 90 ms late".

    shown_s: for how long that has been told; of several landings each has its turn, round and round.
    """
    if heard is None:
        return ""
    if heard.why:
        return _why(heard).get(heard.why, "I could not hear that take")
    if not heard.guard:
        return NOT_OVER_THE_CLICK
    amiss = [(at, one) for at, one in enumerate(heard.landings, 1) if one.verdict != HeardAs.OK]
    said = [f"Landing {at}{landing_words(one)}" for at, one in amiss if one.verdict != HeardAs.UNSURE]
    unsure = [at for at, one in amiss if one.verdict == HeardAs.UNSURE]
    if unsure and heard.take != HeardTake.CLEAN:
        said.append(f"Not sure of landing {_listed(unsure)}")
    if not said:
        whole = f"Heard: all {len(heard.landings)} in order"
        return whole if heard.take == HeardTake.CLEAN else "The ear is not sure"
    turn = int(max(0.0, shown_s) / EACH_S) % len(said)
    return said[turn] if len(said) == 1 else f"{said[turn]} ({turn + 1} of {len(said)})"


def _why(said: EarHeard | SoundChecked) -> Mapping[str, str]:
    return _WHY_BY_NOTES if said.by_notes else _WHY


def _listed(landings: Sequence[int]) -> str:
    shown = ", ".join(map(str, landings[:MOST_NAMED]))
    return f"{shown} …" if len(landings) > MOST_NAMED else shown


def _strings(names: Sequence[str]) -> str:
    """Of more than can be named their number: the record has them all."""
    return ", ".join(names) if len(names) <= MOST_NAMED else f"{len(names)} strings"


_LANDINGS: Mapping[str, Callable[[LandingTold], str]] = {
    HeardAs.LATE: lambda one: f" was {one.late_ms or 0:.0f} ms late",
    HeardAs.ABSENT: lambda one: " was not struck",
    HeardAs.WRONG: lambda one: " was another chord",
    HeardAs.DEAD: lambda one: f": {_strings(one.strings)} silent",
}


def landing_words(one: LandingTold) -> str:
    """Of a landing that was not in order, after its number: " was 90 ms late"."""
    return _LANDINGS[one.verdict](one)


def sound_check_page(
    state: State, level: float | None, strings: Sequence[str] | None = None, in_all: int = 6
) -> v.PageView:
    """The sound check. level: how loud it is at the microphone, 0-1; None without one. strings: that a MIDI
    guitar has sent, of so many in all; None without one."""
    if strings is None:
        lines, what = _check_lines(state.checked, state.checks, level), "No sound is"
    else:
        lines, what = _notes_lines(state.checked, strings, in_all), "No notes are"
    who = ANSWERS if state.settings.ear_answers else ADVISES
    small_print = (f"{what} {KEPT_NOWHERE} {who}",)
    return v.PageView("Sound check", tuple(lines), hints=(), small_print=small_print)


def _notes_lines(checked: SoundChecked | None, strings: Sequence[str], in_all: int) -> list[str]:
    if checked is not None and checked.why:
        return [f"{_WHY_BY_NOTES[checked.why]}.", _MENDS[checked.why]]
    heard = f"I hear: {', '.join(strings)}." if len(strings) < in_all else "I hear every string: good."
    if checked is not None:
        return [heard, TWO_FIRST]
    return ["Play each string, open.", heard if strings else "I hear none yet.", "Then tap."]


def _check_lines(checked: SoundChecked | None, checks: bool, level: float | None) -> list[str]:
    if checks:
        return ["Hands off the strings: I listen to the click."]
    loudness = [] if level is None else [f"Strum: {_loudness(level)}"]
    if checked is None:
        return [*loudness, "Then take your hands off the strings, and tap."]
    if checked.why:
        return [f"{_WHY[checked.why]}.", _MENDS[checked.why]]
    if checked.click_db is None or checked.delay_ms is None:
        return ["The click does not reach it: good.", TWO_FIRST]
    came = f"The click reaches it {checked.click_db:.0f} dB above the room, after {checked.delay_ms:.0f} ms: "
    return [f"{came}use headphones.", TWO_FIRST]


def _loudness(level: float) -> str:
    if level < QUIET_PEAK:
        return "quiet, turn it up"
    return "too loud, turn it down" if level > LOUD_PEAK else "good"
