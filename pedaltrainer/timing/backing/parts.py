"""What bass, pad and drums play to a track: every note with its sample. Pure.

The player is the chord: the bass plays its root where it lands and where a bar begins, and its fifth half-way
through a bar. Places are exact as the track's are, and rounded once. Only the touch differs from bar to bar,
never the time: drawn from a seed, so that a track always sounds the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np

from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.symbols import parse_chord
from pedaltrainer.timing.backing.feels import STROKES, Backing, Feel, On, Voice, beats_on, feel_in
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.track import BarAndBeat, Track, TrackBar

LOWEST_BASS = 31
"""G1, 49 Hz: loudspeakers of a laptop sound nothing of it, so that its harmonics have to."""
HIGHEST_FIFTH = 45
LOWEST_PAD = 48
TOUCH = 0.12
"""How much softer than its row says a stroke may be."""


@dataclass(frozen=True, slots=True)
class Harmony:
    """A chord for the backing, as MIDI note numbers. after: what the bass plays half-way through a bar."""

    bass: int
    after: int
    pad: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BandNote:
    """One sound: from its sample on, for `length` samples at the most.

    midi: its pitch, 0 for a drum. gain and bright: 0 to 1. take: which of a drum's few sounds.
    """

    sample: int
    voice: Voice
    length: int
    gain: float
    midi: int = 0
    bright: float = 0.5
    take: int = 0


@lru_cache(maxsize=512)
def harmony_of(chord: str, capo: int = 0) -> Harmony | None:
    """What the backing makes of a chord's name; None where there is none, as in N.C.

    The bass plays the note under a slash, and the root half-way through the bar. capo: how many semitones
    higher than its name the chord sounds.
    """
    if chord == "N.C.":
        return None
    symbol, spelling = parse_chord(chord), spell(chord)
    root = pitch_class(symbol.root)
    bass = pitch_class(symbol.bass or symbol.root)
    fifth = next((root + up for up in (7, 6, 8) if (root + up) % 12 in spelling.pitch_classes), root)
    low = _from(LOWEST_BASS, bass + capo)
    then = _from(LOWEST_BASS, capo + (fifth if bass == root else root))
    # The fifth lies above its root where that is not too high.
    then += 12 if then < low and then + 12 <= HIGHEST_FIFTH else 0
    return Harmony(
        low, then, tuple(sorted(_from(LOWEST_PAD, tone + capo) for tone in spelling.pitch_classes))
    )


def _from(lowest: int, wanted: int) -> int:
    """The lowest note of a pitch class that is not below `lowest`."""
    return lowest + (wanted - lowest) % 12


def notes_of(track: Track, backing: Backing, rate: int = RATE) -> tuple[BandNote, ...]:
    """Every note of the backing to a track, in order of time; nothing sounds while it counts in."""
    landings, seed = tuple(_landings(track)), backing.seed
    notes = [*_drums(track, backing.feel, rate, seed), *_bass(track, landings, rate, seed)]
    if backing.pad:
        notes += _pad(track, landings, rate)
    return tuple(sorted(notes, key=lambda note: (note.sample, note.voice, note.midi)))


def _sample(track: Track, place: BarAndBeat, rate: int) -> int:
    return round(track.seconds_at(place) * rate)


def _landings(track: Track) -> Iterator[tuple[BarAndBeat, Harmony | None]]:
    for number, bar in enumerate(track.bars):
        if bar.counts_in:
            # A take that ends does not sound on into the next count-in.
            yield BarAndBeat(number, Fraction(0)), None
        for cue in bar.cues:
            yield BarAndBeat(number, cue.beat), harmony_of(cue.chord, track.capo)


def _drums(track: Track, feel: Feel, rate: int, seed: int) -> Iterator[BandNote]:
    for number, bar in enumerate(track.bars):
        if bar.counts_in:
            continue
        touch = np.random.default_rng((seed, number))
        for stroke in STROKES[feel_in(feel, bar.beat_unit)]:
            for beat in beats_on(stroke.on, bar.beats):
                softer, bright, take = touch.uniform(0, TOUCH), touch.uniform(), touch.integers(4)
                place = BarAndBeat(number, beat + stroke.late)
                gain = stroke.gain * (1 - softer)
                yield BandNote(
                    _sample(track, place, rate), stroke.voice, rate, gain, bright=bright, take=int(take)
                )


def _bass(
    track: Track, landings: tuple[tuple[BarAndBeat, Harmony | None], ...], rate: int, seed: int
) -> list[BandNote]:
    """A note at every landing, every beginning of a bar and every middle; each lasts until the next."""
    plucked: dict[BarAndBeat, int | None] = {}
    for number, bar in enumerate(track.bars):
        plucked |= _held(number, bar, landings)
    plucked |= {place: harmony.bass if harmony else None for place, harmony in landings}
    places = sorted(plucked)
    samples = [_sample(track, place, rate) for place in places] + [round(track.seconds * rate)]
    touch = np.random.default_rng((seed, len(track.bars), 1))
    notes = []
    for index, place in enumerate(places):
        softer, bright = touch.uniform(0, TOUCH), touch.uniform(0.3, 0.9)
        midi, length = plucked[place], samples[index + 1] - samples[index]
        if midi is not None and length > 0:
            notes.append(BandNote(samples[index], Voice.BASS, length, 1 - softer, midi, bright))
    return notes


def _held(
    number: int, bar: TrackBar, landings: tuple[tuple[BarAndBeat, Harmony | None], ...]
) -> dict[BarAndBeat, int | None]:
    """Where a bar begins and in its middle: what the bass plays there under a chord that landed before."""
    middle = beats_on(On.MIDDLE, bar.beats) or ((1,) if bar.beats == 2 else ())
    found: dict[BarAndBeat, int | None] = {}
    for beat in (0, *middle):
        place = BarAndBeat(number, Fraction(beat))
        harmony = next((held for landed, held in reversed(landings) if landed <= place), None)
        if harmony is not None:
            found[place] = harmony.after if beat else harmony.bass
    return found


def _pad(
    track: Track, landings: tuple[tuple[BarAndBeat, Harmony | None], ...], rate: int
) -> Iterator[BandNote]:
    """Each chord from where it lands to where the next one does."""
    samples = [_sample(track, place, rate) for place, _ in landings] + [round(track.seconds * rate)]
    for index, (_, harmony) in enumerate(landings):
        length = samples[index + 1] - samples[index]
        if harmony is not None and length > 0:
            gain = 1 / max(4, len(harmony.pad))
            yield from (BandNote(samples[index], Voice.PAD, length, gain, midi) for midi in harmony.pad)
