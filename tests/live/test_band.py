"""The band: makes the backing while a take is counted in, and stops where the take does."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest

from pedaltrainer.live.band import PIECE_S, Band
from pedaltrainer.live.conductor import click_plan, track_of
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.session.effects import Run
from pedaltrainer.songs.metre import usual_metre
from pedaltrainer.timing.backing.feels import Backing, Feel, Voice
from pedaltrainer.timing.backing.mix import render
from pedaltrainer.timing.backing.parts import notes_of
from pedaltrainer.timing.click import Sound, onsets
from pedaltrainer.timing.track import click_samples

SLOW = take_track(parse_drill("Am E x4"), 40, 8, 4)


class HeardStream(SimulatedStream):
    """Keeps the pieces that it was given."""

    silent = False

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[tuple[int, int, np.ndarray]] = []
        self.given = threading.Event()

    def back(self, pcm, at_sample, plan):
        self.pieces.append((plan, at_sample, pcm))
        self.given.set()


def until(holds) -> None:
    end_s = time.perf_counter() + 10
    while not holds() and time.perf_counter() < end_s:
        time.sleep(0.01)
    assert holds()


@pytest.fixture
def band():
    one = Band(Backing(Feel.STRAIGHT, 0.6))
    yield one
    one.close()
    assert one.trouble == ""


def test_all_of_a_take_is_made_in_pieces_that_follow_one_another(band):
    stream = HeardStream()
    band.accompany(SLOW, 1000, 7, stream)
    end = round(SLOW.seconds * 48_000)
    until(lambda: stream.pieces and stream.pieces[-1][1] + len(stream.pieces[-1][2]) == 1000 + end)
    assert {plan for plan, _, _ in stream.pieces} == {7}
    assert len(stream.pieces) == -(-round(32 * 60 / 40) // PIECE_S)
    begin = 4 * 60 * 48_000 // 40
    assert stream.pieces[0][1] == 1000 + begin, "nothing is made of the count-in"
    made = np.concatenate([pcm for _, _, pcm in stream.pieces])
    clicks = [sample for sample, _ in click_samples(SLOW)]
    assert np.array_equal(made, render(notes_of(SLOW, Backing(Feel.STRAIGHT, 0.6)), clicks, begin, end))


def test_what_is_asked_for_last_is_made_and_the_rest_is_left(band):
    stream = HeardStream()
    for plan in range(20):
        band.accompany(SLOW, 0, plan, stream)
    until(lambda: sum(plan == 19 for plan, _, _ in stream.pieces) == 6)
    assert len(stream.pieces) < 20 * 6


def test_without_a_backing_or_a_sound_device_nothing_is_made():
    silent = SimulatedStream()
    for band, stream in (
        (Band(None), HeardStream()),
        (Band(Backing(level=0.0)), HeardStream()),
        (Band(Backing()), silent),
    ):
        band.accompany(SLOW, 0, 1, stream)
        assert band._thread is None
        band.close()


def test_the_track_of_a_take_has_the_clicks_that_are_played():
    for words, metre, count_in in (
        ("Am F", usual_metre(4, 4), 4),
        ("D A x4", usual_metre(3, 4), 6),
        ("D A", usual_metre(6, 8), 4),
        ("passage Am:2 G:3/2 F:5/2", usual_metre(4, 4), 2),
        ("pressure F", usual_metre(4, 4), 4),
    ):
        run = Run(1, parse_drill(words), 97, 2.0, count_in, metre, 8)
        start = round(run.start_s * 48_000)
        track = [(start + sample, sound) for sample, sound in click_samples(track_of(run))]
        assert track == onsets(click_plan(run, 48_000))
        beats = [sound for _, sound in track if sound in {Sound.ACCENT, Sound.BEAT}]
        accents = [number for number, sound in enumerate(beats) if sound is Sound.ACCENT]
        assert accents == list(range(0, len(beats), metre.beats))


def test_a_drill_in_compound_time_is_backed_in_three():
    run = Run(1, parse_drill("D A"), 60, 0.0, 4, usual_metre(6, 8), 8)
    hats = [note.sample for note in notes_of(track_of(run), Backing(), 48_000) if note.voice is Voice.HAT]
    beat = 48_000
    assert {round(sample % beat / beat * 3) for sample in hats} == {0, 1, 2}
