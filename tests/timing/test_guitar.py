"""A MIDI guitar's notes as they come: which are kept, and when all of a stretch are there."""

from __future__ import annotations

import time

import mido

from pedaltrainer.timing.guitar import Guitar
from pedaltrainer.timing.microphone import MOST_S
from pedaltrainer.timing.played_notes import MOST_NOTES_A_SECOND, PlayedNote


def on(note: int, channel: int = 0, velocity: int = 80) -> mido.Message:
    return mido.Message("note_on", note=note, channel=channel, velocity=velocity)


def test_notes_are_stamped_as_they_came_and_all_else_is_let_go():
    guitar = Guitar()
    guitar.plugged_in("Six")
    begun_s = time.perf_counter()
    guitar.came(on(52, channel=3), begun_s + 1)
    guitar.came(on(52, channel=3, velocity=0), begun_s + 1.1)  # a note's end
    guitar.came(mido.Message("note_off", note=52), begun_s + 1.2)
    guitar.came(mido.Message("pitchwheel", pitch=100), begun_s + 1.3)
    guitar.came(on(37, channel=9), begun_s + 1.4)  # percussion
    guitar.came(on(57), begun_s + 2)
    assert guitar.between(begun_s, begun_s + 3) == (
        PlayedNote(begun_s + 1, 52, 3), PlayedNote(begun_s + 2, 57, 0),
    )  # fmt: skip
    assert guitar.between(begun_s + 1.5, begun_s + 3) == (PlayedNote(begun_s + 2, 57, 0),)
    assert guitar.pitches == {52, 57}


def test_a_stretch_in_which_it_was_unplugged_is_not_whole():
    guitar = Guitar()
    assert guitar.lost
    assert guitar.between(0.0, 1.0) is None
    guitar.plugged_in("Six")
    begun_s = time.perf_counter()
    assert not guitar.lost
    assert guitar.between(begun_s, begun_s + 1) == ()
    guitar.pulled_out()
    assert guitar.lost
    guitar.plugged_in("Six")
    assert guitar.between(begun_s, begun_s + 1) is None, "notes may have been missed while it was away"
    now_s = time.perf_counter()
    assert guitar.between(now_s, now_s + 1) == ()


def test_a_flood_fills_no_memory_and_the_last_notes_stay():
    guitar = Guitar()
    guitar.plugged_in("Six")
    begun_s = time.perf_counter()
    message, most = on(60), MOST_S * MOST_NOTES_A_SECOND
    for number in range(most + 500):
        guitar.came(message, begun_s + number / 1000)
    came = guitar.between(begun_s, begun_s + 1000)
    assert came is not None
    assert len(came) == most
    assert came[-1].t_s == begun_s + (most + 499) / 1000
