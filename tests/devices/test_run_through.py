"""A run-through in a real window, by a real MIDI foot: heard on its samples, flagged, kept, looked over."""

from __future__ import annotations

import getpass

import numpy as np

from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.practice.run_through import bar_meant
from pedaltrainer.records.log import Log
from pedaltrainer.session.run_through import reviews_in, run_replay, run_settings_from_json
from pedaltrainer.songs import shelf
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.sound_device import FRAMES
from pedaltrainer.timing.track import click_samples
from tests.devices.jack import wait_until
from tests.devices.test_home_by_foot import wait_for_a_page
from tests.devices.test_session_end_to_end import HOLD
from tests.devices.window import RealSession
from tests.timing.hearing import onset_samples

SONG = parse_chart("title: Quick\ntempo: 200\n[Verse]\n| C | G |\n[Refrain]\n| Am | F |\n", "quick")
BEAT_S = 60 / (200 * 1.1)
ROWS = ("Practise", "Again", "Only", "Slower", "All else was clean")
"""Of the page after a pass of two sections at the fastest tempo, with one bar flagged."""


def test_a_song_is_run_through_flagged_and_looked_over_by_one_switch(screen, steady_pedal, tmp_path):
    folder = tmp_path / "data"
    shelf.keep(folder, SONG)
    words = ("run", "Quick", "--tempo", "110%", "--windowed", "--input", steady_pedal.client)
    with RealSession(screen, folder, *words, "--no-answer-sounds") as session:
        session.find_window()
        wait_for_a_page(session)
        steady_pedal.tap()  # begin: two bars of count-in
        first = session.recording.first_onset()
        session.recording.wait_for(round(first + (8 + 4 + 2) * BEAT_S * 48_000))
        steady_pedal.tap()  # there, in the midst of the second bar
        session.recording.wait_for(round(first + (8 + 16.5) * BEAT_S * 48_000))
        at_the_end = session.picture()[:60].copy()  # while the last chord rings
        assert wait_until(lambda: len(runs(folder)) == 1, within_s=30)
        assert wait_until(lambda: not np.array_equal(session.picture()[:60], at_the_end), within_s=20)
        wait_for_a_page(session)
        for _ in range(ROWS.index("All else was clean")):
            steady_pedal.tap()
            steady_pedal.send("@0.2")
        steady_pedal.send(*HOLD, "@0.5")
        assert wait_until(lambda: any(reviews_in(inputs) for _, inputs in runs(folder)), within_s=10)
        session.close_window()
        code, _, err = session.wait_for_end()
        heard = np.fromfile(folder / "heard.raw", np.int16).reshape(-1, 2)[:, 0]
    assert code == 0, err
    ((row, inputs),) = runs(folder)
    settings = run_settings_from_json(row.settings)
    assert settings is not None
    *_, last = run_replay(settings, inputs)
    assert told_otherwise(row, inputs, []) is None
    (played,) = last.passes
    assert played.whole
    (mark,) = played.marks
    # Sent when half of the second bar had been handed over.
    assert 6 * BEAT_S - 0.3 < mark < 8 * BEAT_S
    assert bar_meant(settings.one_pass, mark, settings.reaction_s) in {0, 1}
    assert reviews_in(inputs)[0].rest_clean
    clicks = click_samples(settings.one_pass.track)
    start, onsets = round(last.start_s * 48_000), onset_samples(heard)
    # SDL may write a block of silence before it asks for the first one of ours.
    late = int(onsets[0]) - start - clicks[0][0]
    assert late in {0, FRAMES}
    asked = {start + late + sample for sample, sound in clicks if sound is not Sound.OFFBEAT}
    assert asked <= set(onsets)


def runs(folder):
    with Log.open(folder, read_only=True) as log:
        return [(row, list(log.inputs(row.id))) for row in log.runs(getpass.getuser(), 10)]
