"""A take heard from the notes of a MIDI guitar. Pure: notes in, verdicts out.

What comes is what a converter made of the strings: each some time later, the low ones latest; now and then an
octave off, twice, not at all, or a note that nobody played. So the lag of each string, and how often its note
stays away though the chord is clean, come from the player's own clean takes. Every threshold was chosen on
made-up takes ("tuning" in docs/evidence/ear.md).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pedaltrainer.ear.deciding import EARLY_MS, LATE_MS, MAYBE_LATE_MS, take_of
from pedaltrainer.ear.expected import Expected
from pedaltrainer.ear.hearing import IN_PLACE_MS, MOST_MORE_S, WRONG_SHARE
from pedaltrainer.ear.measuring import USUAL_S
from pedaltrainer.ear.picking import OTHER_SHARE, by_hold, is_picked, string_of, strums_of
from pedaltrainer.ear.strokes import Came, Stroke, delay_of, fullness, lag_s, strings_of, strokes_of
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, LandingHeard, TakeHeard, Unheard, UnheardError
from pedaltrainer.neck.chords.tuning import HIGHEST_FRET, Tuning
from pedaltrainer.timing.played_notes import MOST_NOTES_A_SECOND, PlayedNote

FAULT_RATE = 0.01
"""How often a string of a landing is silent, or beside its fret: our own guess."""
FEW_RATE, FEW_NOTES, FEW_LANDINGS = 0.003, 100, 10
"""How often a note stays away before anything is known, and how many notes that is worth; and how many
landings of a chord what is known of the whole guitar is worth."""
UNKNOWN_RATE = 0.006
"""Without clean takes: one odd note is doubtful then, and no more."""
SURE, DOUBTFUL = 0.75, 0.30
FEWEST_STRINGS = 3
KEPT_S, KEPT_SHARE = 0.020, 0.25
SESSION_S = (-0.150, 0.400)
"""Where by the clock of presses the first clean take of a session may be: sound that is late unbeknown, and a
converter that is slow."""

ROUGH_SHARE, ROUGH_RATE, TWICE_S = 0.09, 0.007, 0.150
"""A converter with a larger share of stray notes loses and misreads others so often at the least, whatever
two clean takes have shown of that: one odd note is doubtful then, the same again is not."""

AS_HEARD = {
    Came.RIGHT: HeardAs.OK,
    Came.HARMONIC: HeardAs.OK,
    Came.OTHER: HeardAs.WRONG,
    Came.NOTHING: HeardAs.DEAD,
}
"""Of a string that was picked alone."""

Rates = Mapping[tuple[str, int], float]
"""(chord, string) -> how often, or with what chance."""
TakeOfNotes = tuple[Expected, Sequence[PlayedNote], Sequence[Stroke]]


@dataclass(frozen=True, slots=True)
class Converter:
    """How this guitar's notes come. lag_s: of each string beside the middle of its stroke; usual_s: of a
    clean stroke. silent, beside: how often nothing comes of a string in a clean chord, and another note."""

    lag_s: Mapping[int, float]
    usual_s: float
    silent: Rates
    beside: Rates

    def beside_strays(self, takes: Sequence[TakeOfNotes]) -> Converter:
        """What it is to be taken for where it sends too many notes that are nobody's."""
        if stray_share(takes) <= ROUGH_SHARE:
            return self
        silent, beside = (
            {key: max(ROUGH_RATE, rate) for key, rate in rates.items()}
            for rates in (self.silent, self.beside)
        )
        return replace(self, silent=silent, beside=beside)


def stray_share(takes: Sequence[TakeOfNotes]) -> float:
    """How many notes are the converter's own, to one that should have come: octaves, ghosts, what came twice.

    Open strings count where they were sent twice alone, since hands sound them in the gap; a note beside its
    fret may be a finger's.
    """
    stray = wanted = 0
    for expected, notes, strokes in takes:
        shape = expected.landings[0].shape
        opens = {shape.tuning.note(string, 0) for string in range(len(shape.frets))}
        last_s: dict[tuple[int, int], float] = {}
        for one in notes:
            twice = one.t_s - last_s.get((one.note, one.channel), float("-inf")) < TWICE_S
            stray += one.note not in opens or twice
            last_s[one.note, one.channel] = one.t_s
        for landing, stroke in zip(expected.landings, strokes, strict=True):
            wanted += len(stroke)
            for string, (came, _) in stroke.items():
                fretted = shape.tuning.note(string, landing.shape.frets[string] or 0) not in opens
                stray -= came is Came.OTHER or (came is Came.RIGHT and fretted)
    return stray / wanted


def listen_to_notes(
    expected: Expected,
    take: Sequence[PlayedNote],
    references: Sequence[Sequence[PlayedNote]] = (),
) -> TakeHeard:
    """What a take was. take, references: notes in order of time; the references are clean takes of the same.
    Raises UnheardError where the notes allow no verdict.
    """
    known = references or (take,)
    strings = strings_of(expected, [one for notes in known for one in notes])
    delays, clean = [], []
    for number, notes in enumerate(known, start=1 if references else 0):
        _check_notes(expected, notes, number)
        delays.append(_centred(expected, notes, strings))
        clean.append(strokes_of(expected, notes, strings, delays[-1]))
        _check_in_place(clean[-1], number)
    converter = converter_of([(expected, one) for one in clean], bool(references))
    heard, at_s = clean[0], delays[0]
    if references:
        _check_notes(expected, take, 0)
        at_s = float(np.mean(delays))
        heard = strokes_of(expected, take, strings, at_s)
        if not _begun_alike(heard, converter, delays):
            at_s = _centred(expected, take, strings)
            heard = strokes_of(expected, take, strings, at_s)
        _check_in_place(heard, 0)
    every = [(expected, notes, one) for notes, one in zip(references, clean, strict=False)]
    converter = converter.beside_strays([*every, (expected, take, heard)])
    return _take(expected, heard, converter, at_s, bool(references))


@dataclass(frozen=True, slots=True)
class NotesHeard:
    """A take that was heard in a session: what was expected, its notes, and what it was. beside: how many
    clean takes."""

    expected: Expected
    notes: tuple[PlayedNote, ...]
    heard: TakeHeard
    beside: int


def hear_notes(
    expected: Expected, take: Sequence[PlayedNote], clean: Sequence[NotesHeard] = ()
) -> NotesHeard:
    """A take of a session. take: notes in order of time, in seconds from the count-in's first beat on the
    clock of presses. clean: takes of its drill, at any tempo, known as clean.

    One clock stamps all takes, so the delay of clean takes is this one's too. Where hardly a stroke is in its
    place by it, something else has changed: no such take is called clean.
    Raises UnheardError where the notes allow no verdict.
    """
    _check_notes(expected, take, 0)
    known = [(one.expected, one.notes) for one in clean] or [(expected, tuple(take))]
    strings = strings_of(expected, [one for _, notes in known for one in notes])
    delays = [one.heard.delay_ms / 1000 for one in clean] or [_centred(expected, take, strings, SESSION_S)]
    strokes = [
        (one, strokes_of(one, notes, strings, at_s)) for (one, notes), at_s in zip(known, delays, strict=True)
    ]
    converter = converter_of(strokes, bool(clean))
    at_s = delays[-1]
    heard = strokes_of(expected, take, strings, at_s)
    in_place = not clean or _in_place(heard, converter) > len(heard) * KEPT_SHARE
    if not in_place:
        at_s = _centred(expected, take, strings, SESSION_S)
        heard = strokes_of(expected, take, strings, at_s)
    _check_in_place(heard, 0)
    every = [(one.expected, one.notes, came) for one, (_, came) in zip(clean, strokes, strict=False)]
    converter = converter.beside_strays([*every, (expected, take, heard)])
    found = _take(expected, heard, converter, at_s, bool(clean))
    if not in_place and found.take is HeardTake.CLEAN:
        found = replace(found, take=HeardTake.UNSURE)
    return NotesHeard(expected, tuple(take), found, len(clean))


def hear_picked_notes(expected: Expected, take: Sequence[PlayedNote]) -> NotesHeard:
    """A take that is played string by string, told as `picking.hear_picked` does: a string that sends its
    note, or a harmonic of it, rings; one that sends nothing does not; of another note it is not sure.

    Raises UnheardError where the notes allow no verdict.
    """
    _check_notes(expected, take, 0)
    strings = strings_of(expected, take)
    at_s = _centred(expected, take, strings, SESSION_S)
    strokes = strokes_of(expected, take, strings, at_s)
    picked = [
        (string_of(wanted), stroke)
        for wanted, stroke in zip(expected.landings, strokes, strict=True)
        if is_picked(wanted)
    ]
    heard_as = [(AS_HEARD[stroke[string][0]], string) for string, stroke in picked]
    told = tuple(LandingHeard(one, None, () if one is HeardAs.OK else (string,)) for one, string in heard_as)
    if sum(one.verdict is HeardAs.WRONG for one in told) > OTHER_SHARE * len(told):
        raise UnheardError(Unheard.OTHER_CHORD)
    # A converter that has lost a note sends as little as a string that does not ring.
    landings = by_hold(expected, told, sure=False)
    heard = TakeHeard(take_of(landings), 1000 * at_s, True, True, landings)
    return NotesHeard(strums_of(expected), tuple(take), heard, 0)


def _take(
    expected: Expected, strokes: Sequence[Stroke], converter: Converter, at_s: float, has_reference: bool
) -> TakeHeard:
    """What a take was whose strokes are known. Raises UnheardError where it is of other chords."""
    landings, odd_notes = judged(expected, strokes, converter)
    if sum(one.verdict is HeardAs.WRONG for one in landings) > WRONG_SHARE * len(landings):
        raise UnheardError(Unheard.OTHER_CHORD)
    return TakeHeard(cautious(landings, odd_notes), 1000 * at_s, True, has_reference, landings)


def cautious(landings: Sequence[LandingHeard], odd_notes: int) -> HeardTake:
    """Of a take: one odd note alone makes none missed, for it may be the converter's."""
    heard = take_of(landings)
    timed = any(one.verdict in {HeardAs.LATE, HeardAs.ABSENT} for one in landings)
    return HeardTake.UNSURE if heard is HeardTake.MISSED and not timed and odd_notes < 2 else heard


def converter_of(clean: Sequence[tuple[Expected, Sequence[Stroke]]], has_reference: bool) -> Converter:
    """From clean takes, each with what was expected of it; or the lags from the take itself, which cannot
    tell its own odd notes."""
    strokes = [
        (one.chord, stroke)
        for expected, take in clean
        for one, stroke in zip(expected.landings, take, strict=True)
        if not is_absent(stroke)
    ]
    apart: dict[int, list[float]] = {}
    for _, stroke in strokes:
        for string, (came, after_s) in stroke.items():
            if came is Came.RIGHT:
                apart.setdefault(string, []).append(after_s - lag_s(stroke, {}))
    lags = {string: float(np.median(found)) for string, found in apart.items()}
    usual = float(np.median([lag_s(stroke, lags) for _, stroke in strokes] or [0.0]))
    if not has_reference:
        strings = {(chord, string): UNKNOWN_RATE for chord, stroke in strokes for string in stroke}
        return Converter(lags, usual, strings, strings)
    return Converter(lags, usual, _rates(strokes, Came.NOTHING), _rates(strokes, Came.OTHER))


def _rates(strokes: Sequence[tuple[str, Stroke]], what: Came) -> Rates:
    times: Counter[tuple[str, int]] = Counter()
    so: Counter[tuple[str, int]] = Counter()
    for chord, stroke in strokes:
        for string, (came, _) in stroke.items():
            times[chord, string] += 1
            so[chord, string] += came is what
    of_all = (so.total() + FEW_RATE * FEW_NOTES) / (times.total() + FEW_NOTES)
    return {key: (so[key] + of_all * FEW_LANDINGS) / (times[key] + FEW_LANDINGS) for key in times}


def judged(
    expected: Expected, strokes: Sequence[Stroke], converter: Converter
) -> tuple[tuple[LandingHeard, ...], int]:
    """What each landing was; and of how many notes it is doubted that they were right."""
    chords = [one.chord for one in expected.landings]
    odd = Counter(
        (came, chord, string)
        for chord, stroke in zip(chords, strokes, strict=True)
        for string, (came, _) in stroke.items()
        if not is_absent(stroke)
    )
    # What a converter does is done by chance; a finger that mutes a string does so again.
    dead = {key: _chance(rate ** odd[(Came.NOTHING, *key)]) for key, rate in converter.silent.items()}
    wrong = {key: _chance(rate ** odd[(Came.OTHER, *key)]) for key, rate in converter.beside.items()}
    found = [
        _landing(stroke, converter, _of(chord, dead), _of(chord, wrong))
        for chord, stroke in zip(chords, strokes, strict=True)
    ]
    return tuple(landing for landing, _ in found), sum(notes for _, notes in found)


def _of(chord: str, chances: Rates) -> Mapping[int, float]:
    return {string: chance for (one, string), chance in chances.items() if one == chord}


def is_absent(stroke: Stroke) -> bool:
    """Nothing came, or no more than one note nobody played."""
    return _sounding(stroke) < (2 if len(stroke) >= FEWEST_STRINGS else 1)


def _sounding(stroke: Stroke) -> int:
    return sum(came is not Came.NOTHING for came, _ in stroke.values())


def _landing(
    stroke: Stroke, converter: Converter, dead: Mapping[int, float], wrong: Mapping[int, float]
) -> tuple[LandingHeard, int]:
    """dead, wrong: the chance that a string without its note, or with another, is the player's doing."""
    if is_absent(stroke):
        return LandingHeard(HeardAs.ABSENT, None), 0
    late_ms = 1000 * (lag_s(stroke, converter.lag_s) - converter.usual_s)
    if _sounding(stroke) <= len(stroke) / 3:
        return LandingHeard(HeardAs.UNSURE, late_ms), 0
    muted = _doubtful(stroke, Came.NOTHING, dead)
    beside = _doubtful(stroke, Came.OTHER, wrong)
    surely_muted = any(dead[string] > SURE for string in muted)
    if late_ms > LATE_MS:
        verdict, named = HeardAs.LATE, muted if surely_muted else ()
    elif len(beside) > 1 or any(wrong[string] > SURE for string in beside):
        verdict, named = HeardAs.WRONG, ()
    elif surely_muted:
        verdict, named = HeardAs.DEAD, muted
    else:
        named = tuple(sorted((*muted, *beside)))
        in_order = not named and EARLY_MS <= late_ms <= MAYBE_LATE_MS
        verdict = HeardAs.OK if in_order else HeardAs.UNSURE
    return LandingHeard(verdict, late_ms, named), len(muted) + len(beside)


def _doubtful(stroke: Stroke, what: Came, chances: Mapping[int, float]) -> tuple[int, ...]:
    return tuple(s for s, (came, _) in stroke.items() if came is what and chances.get(s, 1.0) > DOUBTFUL)


def _chance(by_converter: float) -> float:
    """That it was the player, when the converter alone does so with this chance."""
    return FAULT_RATE / (FAULT_RATE + by_converter)


def _centred(
    expected: Expected,
    notes: Sequence[PlayedNote],
    strings: Mapping[int, int] | None,
    within_s: tuple[float, float] | None = None,
) -> float:
    """The delay by the landings themselves, half of which then are early and half late."""
    coarse = delay_of(expected, notes, within_s)
    lags = [lag_s(one, {}) for one in strokes_of(expected, notes, strings, coarse) if not is_absent(one)]
    return coarse + (float(np.median(lags)) if lags else 0.0)


def _begun_alike(strokes: Sequence[Stroke], converter: Converter, delays: Sequence[float]) -> bool:
    """Whether a take's file begins where those of the clean takes do.

    Two of them that do show a recorder that keeps the place: then a quarter of the strokes in their places is
    proof enough; two that do not show that nothing is kept. By one alone it takes more than half.
    """
    if max(delays) - min(delays) >= KEPT_S:
        return False
    return _in_place(strokes, converter) > len(strokes) * (KEPT_SHARE if len(delays) > 1 else 0.5)


def _in_place(strokes: Sequence[Stroke], converter: Converter) -> int:
    """How many strokes of the right notes are about where clean ones are."""
    right = [one for one in strokes if fullness(one) >= len(one) / 2]
    return sum(abs(lag_s(one, converter.lag_s) - converter.usual_s) < USUAL_S for one in right)


def _check_notes(expected: Expected, notes: Sequence[PlayedNote], number: int) -> None:
    """Raises UnheardError for what is none of a guitar's takes."""
    if not notes:
        raise UnheardError(Unheard.NO_CHORDS, number)
    if notes[-1].t_s > expected.landings[-1].at_s + MOST_MORE_S:
        raise UnheardError(Unheard.LONG, number)
    a_second_on = notes[MOST_NOTES_A_SECOND:]
    if any(later.t_s - one.t_s < 1 for one, later in zip(notes, a_second_on, strict=False)):
        raise UnheardError(Unheard.FLOOD, number)
    in_range = sum(is_guitars(expected.landings[0].shape.tuning, one.note) for one in notes)
    if in_range < len(notes) / 2:
        raise UnheardError(Unheard.OTHER_INSTRUMENT, number)


def is_guitars(tuning: Tuning, note: int) -> bool:
    """Is a note on this neck, from the open strings to the highest fret?"""
    return min(tuning.open_midi) + tuning.capo <= note <= max(tuning.open_midi) + HIGHEST_FRET


def _check_in_place(strokes: Sequence[Stroke], number: int) -> None:
    """Raises UnheardError where the chords are not where this drill has them."""
    lags = np.array([lag_s(one, {}) for one in strokes if not is_absent(one)])
    near = np.abs(lags - np.median(lags)) < IN_PLACE_MS / 1000 if len(lags) else lags
    if near.sum() < len(strokes) / 2:
        raise UnheardError(Unheard.OTHER_TEMPO, number)
