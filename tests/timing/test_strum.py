"""A strummed chord: its pitches, its loudness, and how it is mixed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.timing.click import (
    ACKS_AT_ONCE,
    BEAT_SOUNDS,
    FULL_SCALE,
    STRUMS_AT_ONCE,
    Mixer,
    Sound,
    SoundBank,
)
from pedaltrainer.timing.strum import (
    BETWEEN_CHORDS_S,
    QUIETER_BY_60_DB_S,
    RING_S,
    SPREAD_S,
    STRUM_LEVEL,
    pluck,
    strum,
)

RATE = 48_000
E_MAJOR = (40, 47, 52, 56, 59, 64)
A_MINOR = (45, 52, 57, 60, 64)


def loudness(wave, from_s: float, to_s: float) -> float:
    return float(np.sqrt(np.mean(np.square(wave[round(from_s * RATE) : round(to_s * RATE)].astype(float)))))


@pytest.mark.parametrize(
    ("midi", "hz"),
    # Equal temperament on A4 = 440 Hz (ISO 16:1975); the open strings as handbooks print them, from memory.
    [(40, 82.407), (45, 110.0), (50, 146.832), (55, 195.998), (59, 246.942), (64, 329.628), (88, 1318.510)],
)
def test_a_string_sounds_its_note_within_a_cent(midi, hz):
    wave = pluck(midi, 2 * RATE)
    points = 1 << 21
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), points))
    near = round(hz * points / RATE)
    width = round(near * 0.03)
    found = near - width + int(spectrum[near - width : near + width].argmax())
    assert abs(1200 * np.log2(found * RATE / points / hz)) < 1


@pytest.mark.parametrize("midi", [40, 52, 64])
def test_it_rings_out_and_a_low_string_no_longer_than_the_loss_allows(midi):
    wave = pluck(midi, 2 * RATE)
    fallen_db = 20 * np.log10(loudness(wave, 0.1, 0.3) / loudness(wave, 1.1, 1.3))
    assert fallen_db >= 60 / QUIETER_BY_60_DB_S - 1


def test_a_strum_begins_quietly_lowest_string_first_and_ends_in_silence():
    pcm = strum([E_MAJOR])
    peak = int(np.abs(pcm).max())
    assert np.abs(pcm[: RATE // 1000]).max() < peak / 4
    assert loudness(pcm, 0, SPREAD_S) < loudness(pcm, 2 * SPREAD_S, 3 * SPREAD_S)
    assert np.abs(pcm[-RATE // 50 :]).max() < peak / 50
    assert len(pcm) == round(RING_S * RATE)


def test_the_chords_of_a_change_sound_one_after_the_other():
    pcm = strum([A_MINOR, E_MAJOR])
    assert len(pcm) == round((RING_S + BETWEEN_CHORDS_S) * RATE)
    just_before, just_after = (
        loudness(pcm, BETWEEN_CHORDS_S + at_s, BETWEEN_CHORDS_S + at_s + 0.05) for at_s in (-0.05, 0.1)
    )
    assert just_before * 5 < just_after


@settings(max_examples=30)
@given(st.lists(st.lists(st.integers(28, 100), max_size=6), max_size=2), st.floats(0, 1))
def test_no_strum_is_louder_than_its_level_and_the_volume_is_the_click_s(chords, volume):
    pcm = strum(chords, 8000, volume)
    assert np.abs(pcm.astype(int)).max(initial=0) <= round(STRUM_LEVEL * volume * FULL_SCALE)


def test_a_chord_without_notes_is_left_out_and_none_at_all_is_silence():
    assert np.array_equal(strum([(), E_MAJOR]), strum([E_MAJOR]))
    assert not strum([]).any()


def test_the_same_chord_always_sounds_the_same():
    assert np.array_equal(strum([A_MINOR]), strum([A_MINOR]))


def test_it_is_mixed_with_the_clicks_sample_for_sample():
    bank = SoundBank(RATE, 0.4)
    mixer, pcm = Mixer(bank), strum([A_MINOR], RATE, 0.4)
    mixer.strum(pcm)
    mixer.schedule([(700, Sound.BEAT)])
    heard = np.concatenate([mixer.mix(start, 512) for start in range(0, 512 * 240, 512)])
    wanted = np.zeros(len(heard), np.int32)
    wanted[: len(pcm)] += pcm
    wanted[700 : 700 + len(bank[Sound.BEAT])] += bank[Sound.BEAT]
    assert np.array_equal(heard, wanted)


def test_however_often_one_asks_what_sounds_together_is_not_cut_off():
    mixer, pcm = Mixer(SoundBank(RATE, 1.0)), strum([E_MAJOR], RATE, 1.0)
    for _ in range(5):
        mixer.strum(pcm)
    heard = np.concatenate([mixer.mix(start, 512) for start in range(0, 512 * 250, 512)])
    assert np.abs(heard.astype(int)).max() == STRUMS_AT_ONCE * np.abs(pcm.astype(int)).max() < FULL_SCALE


def test_two_strums_with_the_loudest_that_may_sound_beside_them_stay_below_full_scale():
    bank = SoundBank(RATE, 1.0)
    peaks = {sound: int(np.abs(bank[sound].astype(int)).max()) for sound in Sound}
    acks = sorted(peaks[sound] for sound in Sound if sound not in BEAT_SOUNDS)[-ACKS_AT_ONCE:]
    strums = STRUMS_AT_ONCE * round(STRUM_LEVEL * FULL_SCALE)
    assert strums + sum(acks) + peaks[Sound.COUNT] < FULL_SCALE
