"""Strings that are picked one by one, of a shape that is held: which of them ring?"""

from __future__ import annotations

import numpy as np
import pytest

from pedaltrainer.ear.from_notes import hear_picked_notes
from pedaltrainer.ear.picking import RINGS_ON_S, hear_picked
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, Unheard, UnheardError
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.heard import expected_take
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.played_notes import PlayedNote
from tests.ear.instruments import Instrument
from tests.ear.made_up import shape_of
from tests.ear.picked import picked
from tests.ear.strummed import Hand, Room

LOW_E, A, D, G, B, HIGH_E = range(6)
SECOND_HOLD = 7
"""The landing at which it begins: six strings and a strum come before."""


def ring(chord: str):
    return expected_take(parse_drill(f"ring {chord}"), 60, 2, 4, shape_of)


def heard(guitar: Instrument, chord: str, faults=None, room: Room | None = None, seed: int = 3):
    expected, room = ring(chord), room or Room(delay_ms=40)
    wave, _ = picked(expected, Hand(guitar, np.random.default_rng(seed)), room, faults)
    end_s = expected.landings[-1].at_s + 0.4 + room.delay_ms / 1000
    return hear_picked(expected, wave[: round(end_s * RATE)].astype(np.float64)).heard


def test_the_strings_are_expected_a_beat_each_and_then_the_strum():
    landings = ring("C").landings
    assert [one.chord for one in landings[:6]] == ["A", "D", "G", "B", "high E", "C"]
    assert [one.at_s for one in landings[:7]] == [4, 5, 6, 7, 8, 9, 12]
    assert landings[4].shape.midi == (64,)
    assert RINGS_ON_S < 1, "it is known before the next string"


@pytest.mark.parametrize("chord", ["F", "C", "G", "Em", "Bm"])
def test_where_every_string_rings_the_take_is_clean(guitar, chord):
    found = heard(guitar, chord)
    assert found.take is HeardTake.CLEAN
    assert [one.verdict for one in found.landings] == [HeardAs.OK] * 2


@pytest.mark.parametrize("fault", ["dead", "half"])
def test_strings_that_do_not_ring_are_named_hold_by_hold(guitar, fault):
    found = heard(guitar, "F", {D: fault, B: fault, SECOND_HOLD + HIGH_E: fault})
    assert found.take is HeardTake.MISSED
    assert [one.verdict for one in found.landings] == [HeardAs.DEAD] * 2
    assert [one.strings for one in found.landings] == [(D, B), (HIGH_E,)]


def test_an_octave_that_still_rings_does_not_pass_for_the_string_above_it(guitar):
    found = heard(guitar, "E", {D: "dead", HIGH_E: "dead"})
    assert found.landings[0].strings == (D, HIGH_E)


def test_a_string_that_was_left_out_is_not_called_silent(guitar):
    found = heard(guitar, "F", {G: "skipped"})
    assert (found.landings[0].verdict, found.landings[0].strings) == (HeardAs.UNSURE, (G,))
    assert found.take is HeardTake.UNSURE


def test_beside_a_click_that_is_too_loud_nothing_is_judged(guitar):
    assert not heard(guitar, "F", {D: "dead"}, Room(click_db=8, delay_ms=40)).guard


def test_beside_a_soft_click_silent_strings_are_named(guitar):
    found = heard(guitar, "F", {D: "dead"}, Room(click_db=-20, delay_ms=40))
    assert found.guard
    assert found.landings[0].strings == (D,)


def test_another_chord_is_told_apart_from_strings_that_do_not_ring(guitar):
    wave, _ = picked(ring("G"), Hand(guitar, np.random.default_rng(3)), Room(delay_ms=40))
    with pytest.raises(UnheardError) as trouble:
        hear_picked(ring("Ab"), wave.astype(np.float64))
    assert trouble.value.why is Unheard.OTHER_CHORD


def test_what_is_not_played_in_its_places_is_no_take(guitar):
    expected = ring("F")
    noise = np.random.default_rng(1).normal(0, 0.01, round((expected.landings[-1].at_s + 1) * RATE))
    with pytest.raises(UnheardError):
        hear_picked(expected, noise)


# --- from notes ------------------------------------------------------------------------------


def notes_of(chord: str, left_out: set[int] = frozenset(), a_channel_a_string: bool = True):
    """Notes as a converter sends them, 30 ms late. left_out: landings of which nothing comes."""
    return [
        PlayedNote(
            landing.at_s + 0.03 + 0.005 * string,
            landing.shape.tuning.note(string, fret),
            string * a_channel_a_string,
        )
        for number, landing in enumerate(ring(chord).landings)
        if number not in left_out
        for string, fret in enumerate(landing.shape.frets)
        if fret is not None
    ]


@pytest.mark.parametrize("apart", [True, False])
def test_of_a_midi_guitar_a_string_that_sends_nothing_does_not_ring(apart):
    assert hear_picked_notes(ring("F"), notes_of("F", a_channel_a_string=apart)).heard.take is HeardTake.CLEAN
    found = hear_picked_notes(ring("F"), notes_of("F", {D, SECOND_HOLD + B}, apart)).heard
    assert [one.strings for one in found.landings] == [(D,), (B,)]
    assert found.take is HeardTake.MISSED
    assert not any(one.sure for one in found.landings), "the converter may have lost it"


def test_a_harmonic_of_its_note_rings_and_another_note_is_doubtful():
    notes = notes_of("F")
    notes[A] = PlayedNote(notes[A].t_s, notes[A].note + 12, A)
    notes[G] = PlayedNote(notes[G].t_s, notes[G].note + 1, G)
    found = hear_picked_notes(ring("F"), notes).heard
    assert (found.landings[0].verdict, found.landings[0].strings) == (HeardAs.UNSURE, (G,))
    assert found.take is HeardTake.UNSURE
