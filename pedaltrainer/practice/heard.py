"""From a drill to what the ear is to hear. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from pedaltrainer.ear.expected import Expected, ExpectedLanding
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.hands import strings_picked
from pedaltrainer.practice.kinds import Kind
from pedaltrainer.practice.track import take_track
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.track import click_samples

HEARD_KINDS = frozenset({Kind.CHANGE, Kind.RE_LAND, Kind.PASSAGE, Kind.LOOP, Kind.SHUFFLED})
"""The kinds of drill in which whole chords are struck, each as it lands."""


def can_be_heard(drill: Drill) -> bool:
    """Has the ear something to say of it in a session?"""
    return drill.kind in HEARD_KINDS or drill.row.by_string


def expected_take(
    drill: Drill,
    tempo_bpm: float,
    landings: int,
    count_in_beats: int,
    shape_of: Callable[[str], Shape],
    metre: Metre = FOUR_FOUR,
) -> Expected:
    """One take of a drill, counted in by so many beats. shape_of: how each of its chords is fingered.

    Of one that is played string by string each string is a landing, and so is the strum after them.
    Raises InputError for a tempo outside 20-300 BPM.
    """
    track = take_track(drill, tempo_bpm, landings, count_in_beats, metre)
    beat_s = 60 / tempo_bpm
    shapes = {chord: shape_of(chord) for chord in drill.chords}
    landings_at = [
        ExpectedLanding(float(count_in_beats + drill.landing_beat(number)) * beat_s, chord, shapes[chord])
        for number, chord in enumerate(drill.chord_at(number) for number in range(landings))
    ]
    if drill.row.by_string:
        landings_at = [part for one in landings_at for part in _string_by_string(one, drill, beat_s)]
    return Expected(
        tuple(landings_at),
        tuple((sample / RATE, sound) for sample, sound in click_samples(track)),
        beat_s,
    )


def _string_by_string(landing: ExpectedLanding, drill: Drill, beat_s: float) -> Iterator[ExpectedLanding]:
    """A landing's strings, a beat each, and the strum."""
    shape = landing.shape
    picked = strings_picked(drill, shape)
    for beat, string in enumerate(picked):
        alone = tuple(fret if at == string else None for at, fret in enumerate(shape.frets))
        name = shape.tuning.called[string]
        yield ExpectedLanding(landing.at_s + beat * beat_s, name, replace(shape, frets=alone))
    yield replace(landing, at_s=landing.at_s + len(picked) * beat_s)
