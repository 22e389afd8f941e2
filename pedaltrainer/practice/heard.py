"""From a drill to what the ear is to hear. Pure."""

from __future__ import annotations

from collections.abc import Callable

from pedaltrainer.ear.expected import Expected, ExpectedLanding
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.kinds import Kind
from pedaltrainer.practice.track import take_track
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.track import click_samples

HEARD_KINDS = frozenset({Kind.CHANGE, Kind.RE_LAND, Kind.PASSAGE, Kind.LOOP, Kind.SHUFFLED})
"""The kinds of drill in which whole chords are struck, each as it lands."""


def expected_take(
    drill: Drill,
    tempo_bpm: float,
    landings: int,
    count_in_beats: int,
    shape_of: Callable[[str], Shape],
    metre: Metre = FOUR_FOUR,
) -> Expected:
    """One take of a drill, counted in by so many beats. shape_of: how each of its chords is fingered.

    Raises InputError for a tempo outside 20-300 BPM.
    """
    track = take_track(drill, tempo_bpm, landings, count_in_beats, metre)
    beat_s = 60 / tempo_bpm
    shapes = {chord: shape_of(chord) for chord in drill.chords}
    chords = [drill.chord_at(number) for number in range(landings)]
    return Expected(
        tuple(
            ExpectedLanding(float(count_in_beats + drill.landing_beat(number)) * beat_s, chord, shapes[chord])
            for number, chord in enumerate(chords)
        ),
        tuple((sample / RATE, sound) for sample, sound in click_samples(track)),
        beat_s,
    )
