from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.timing.click import (
    BEAT_SOUNDS,
    DEFAULT_VOLUME,
    ClickPlan,
    Mixer,
    Sound,
    SoundBank,
    onsets,
    plan_end_sample,
)
from pedaltrainer.timing.grid import beat_sample

RATE = 48_000


def test_a_take_counts_in_then_accents_each_bar_and_marks_each_lift():
    plan = ClickPlan(1000, 60, count_in_beats=2, beats=3, beats_per_bar=2)
    beat = RATE
    assert onsets(plan) == [
        (1000, Sound.COUNT),
        (1000 + beat, Sound.COUNT),
        (1000 + beat * 3 // 2, Sound.OFFBEAT),
        (1000 + 2 * beat, Sound.ACCENT),
        (1000 + beat * 5 // 2, Sound.OFFBEAT),
        (1000 + 3 * beat, Sound.BEAT),
        (1000 + beat * 7 // 2, Sound.OFFBEAT),
        (1000 + 4 * beat, Sound.ACCENT),
    ]
    assert plan_end_sample(plan) == 1000 + 5 * beat


def test_a_chord_of_four_beats_is_left_only_before_the_next_chord():
    plan = ClickPlan(0, 120, 4, 8, lands_on=(Fraction(0), Fraction(4)), lift=Fraction(1, 4))
    marks = [sample for sample, sound in onsets(plan) if sound is Sound.OFFBEAT]
    assert marks == [beat_sample(0, 3.75, 120), beat_sample(0, 7.75, 120)]


def test_accent_and_offbeat_can_be_turned_off_and_no_count_in_has_no_mark_before_it():
    plain = onsets(ClickPlan(0, 90, 0, 4, accent=False, offbeat=False))
    assert [sound for _, sound in plain] == [Sound.BEAT] * 4
    assert onsets(ClickPlan(0, 90, 0, 1)) == [(0, Sound.ACCENT)]


def test_a_plan_without_beats_or_with_a_lift_of_a_whole_beat_is_refused():
    for wrong in ({"beats": 0}, {"count_in_beats": -1}, {"lift": Fraction(1)}):
        with pytest.raises(ValueError, match=r"a plan needs|lifts more"):
            ClickPlan(**{"start_sample": 0, "tempo_bpm": 60.0, "count_in_beats": 4, "beats": 8} | wrong)
    with pytest.raises(InputError):
        ClickPlan(0, 301, 4, 8)


def test_every_sound_starts_on_its_first_sample_ends_in_silence_and_differs_from_the_others():
    bank = SoundBank()
    spectra = []
    for sound in Sound:
        pcm = bank[sound].astype(float)
        assert abs(pcm[0]) > 50
        assert abs(pcm[-1]) <= 1
        # Softer in its first sample than at its peak: no hard edge.
        assert abs(pcm[0]) < 0.4 * np.abs(pcm).max()
        spectrum = np.abs(np.fft.rfft(pcm, 2 * RATE))
        spectra.append(spectrum / np.linalg.norm(spectrum))
    alike = [float(a @ b) for i, a in enumerate(spectra) for b in spectra[:i]]
    assert max(alike) < 0.95


def test_the_default_volume_is_moderate():
    peak = max(np.abs(SoundBank()[sound]).max() for sound in Sound) / 32_767
    assert DEFAULT_VOLUME == 0.4
    assert 0.05 < peak < 0.15


@pytest.mark.parametrize("volume", [-0.1, 1.1, float("nan")])
def test_a_volume_outside_0_to_1_is_refused(volume):
    with pytest.raises(InputError, match="from 0"):
        SoundBank(volume=volume)


def test_the_worst_that_can_sound_together_stays_below_full_scale_at_full_volume():
    bank = SoundBank(volume=1.0)
    loudest_beat = max(np.abs(bank[s]).max() for s in BEAT_SOUNDS)
    acks = max(np.abs(bank[s]).max() for s in set(Sound) - BEAT_SOUNDS)
    # A stopped take's beat and off-beat, the next take's, and two acknowledgements, all at their peaks.
    assert int(2 * (loudest_beat + np.abs(bank[Sound.OFFBEAT]).max()) + 2 * acks) < 32_767


def test_stamping_on_the_pedal_cannot_pile_up_acknowledgements():
    mixer = Mixer(SoundBank(volume=1.0))
    for _ in range(50):
        mixer.soon(Sound.PASS)
    assert np.abs(mixer.mix(0, RATE)).max() <= 2 * np.abs(SoundBank(volume=1.0)[Sound.PASS]).max()


sounds_at = st.lists(st.tuples(st.integers(0, 20_000), st.sampled_from(list(BEAT_SOUNDS))), max_size=8)


@given(sounds_at, st.lists(st.integers(1, 3000), min_size=1, max_size=30))
def test_blocks_of_any_length_add_up_to_the_same_sound(clicks, blocks):
    bank = SoundBank(volume=0.1)
    whole = np.zeros(100_000, np.int32)
    for sample, sound in clicks:
        whole[sample : sample + len(bank[sound])] += bank[sound]
    mixer = Mixer(bank)
    mixer.schedule(clicks)
    pieces, start = [], 0
    for frames in blocks:
        pieces.append(mixer.mix(start, frames))
        start += frames
    assert (np.concatenate(pieces) == whole[:start]).all()


def test_dropping_a_plan_lets_what_sounds_ring_out_and_keeps_other_sounds():
    bank = SoundBank()
    mixer = Mixer(bank)
    mixer.schedule([(0, Sound.BEAT), (5000, Sound.BEAT)], "plan")
    mixer.schedule([(9000, Sound.NEXT)], "other")
    first = mixer.mix(0, 100)
    mixer.drop_after(0, "plan")
    heard = np.concatenate([first, mixer.mix(100, 19_900)])
    assert (heard[: len(bank[Sound.BEAT])] == bank[Sound.BEAT]).all()
    assert not heard[len(bank[Sound.BEAT]) : 9000].any()
    assert (heard[9000 : 9000 + len(bank[Sound.NEXT])] == bank[Sound.NEXT]).all()


def test_a_click_asked_for_too_late_is_left_out_rather_than_played_in_the_wrong_place():
    mixer = Mixer(SoundBank())
    mixer.schedule([(10, Sound.BEAT)])
    assert not mixer.mix(512, 512).any()
    assert mixer.missed == 1


@given(st.floats(20, 300), st.integers(0, 8), st.integers(1, 40), st.integers(1, 7), st.integers(1, 8))
def test_clicks_are_in_order_and_never_two_on_a_sample(tempo_bpm, count_in, beats, metre, per_chord):
    lands_on = tuple(Fraction(beat) for beat in range(0, beats, per_chord))
    clicks = onsets(ClickPlan(5, tempo_bpm, count_in, beats, metre, lands_on=lands_on))
    assert all(a[0] < b[0] for a, b in pairwise(clicks))
    assert clicks[-1][0] == beat_sample(5, count_in + beats - 1, tempo_bpm)
