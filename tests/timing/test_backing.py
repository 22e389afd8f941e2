"""Bass and drums under the click: what they play, where, and how they sound."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track, run_track, song_track
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.metre import parse_metre
from pedaltrainer.timing.backing.feels import Backing, Feel, Voice
from pedaltrainer.timing.backing.mix import AFTER_S, BEFORE_S, DUCKED, render
from pedaltrainer.timing.backing.parts import BandNote, harmony_of, notes_of
from pedaltrainer.timing.backing.voices import CEILING
from pedaltrainer.timing.click import FULL_SCALE, Mixer, Sound, SoundBank
from pedaltrainer.timing.track import BarAndBeat, Track, click_samples
from pedaltrainer.timing.wav import render_track
from tests.timing.test_wav import read
from tests.timing.tracks import tracks

RATE = 48_000
FEELS = list(Feel)


def drill_in(words: str, tempo_bpm: float = 97, bars: int | None = None, metre: str = "4/4") -> Track:
    found = parse_metre(metre)
    assert found is not None
    return drill_track(parse_drill(words), tempo_bpm, 1, bars, found)


def song(chart: str) -> Track:
    return song_track(parse_chart(chart, "a song"))


def heard(track: Track, backing: Backing, rate: int = RATE) -> np.ndarray:
    """The whole backing, as parts of full scale."""
    clicks = [sample for sample, _ in click_samples(track, rate)]
    pcm = render(notes_of(track, backing, rate), clicks, 0, round(track.seconds * rate), rate)
    return pcm / FULL_SCALE


def of_voice(track: Track, voice: Voice, feel: Feel = Feel.STRAIGHT) -> list[BandNote]:
    return [note for note in notes_of(track, Backing(feel, pad=True)) if note.voice is voice]


def sample_of(track: Track, bar: int, beat: Fraction | int) -> int:
    return round(track.seconds_at(BarAndBeat(bar, Fraction(beat))) * RATE)


@pytest.mark.parametrize("feel", FEELS)
@pytest.mark.parametrize("name", tracks())
def test_the_bass_plays_the_root_of_every_chord_on_the_sample_it_lands_on(name, feel):
    track = tracks()[name]
    bass = {note.sample: note.midi % 12 for note in of_voice(track, Voice.BASS, feel)}
    roots = {"A": 9, "B7": 11, "C": 0, "D": 2, "E": 4, "E7": 4, "F": 5, "G": 7, "Am": 9, "Em": 4, "Dm": 2}
    for number, bar in enumerate(track.bars):
        for cue in bar.cues:
            if cue.chord in roots:
                assert bass[sample_of(track, number, cue.beat)] == roots[cue.chord]


def test_a_chord_that_is_held_gets_its_fifth_half_way_through_the_bar_and_its_root_where_a_bar_begins():
    track = song("tempo: 80\n| Am | / | C / G / | D7 / / G |\n")
    assert [(note.sample, note.midi) for note in of_voice(track, Voice.BASS)] == [
        (sample_of(track, 1, 0), 33), (sample_of(track, 1, 2), 40),
        (sample_of(track, 2, 0), 33), (sample_of(track, 2, 2), 40),
        (sample_of(track, 3, 0), 36), (sample_of(track, 3, 2), 31),
        (sample_of(track, 4, 0), 38), (sample_of(track, 4, 2), 45), (sample_of(track, 4, 3), 31),
    ]  # fmt: skip


def test_the_note_under_a_slash_is_in_the_bass_and_a_chord_without_a_fifth_gets_the_one_it_has():
    track = song("tempo: 80\n| C/E | Bdim | Caug |\n")
    assert [note.midi % 12 for note in of_voice(track, Voice.BASS)] == [4, 0, 11, 5, 0, 8]


def test_where_no_chord_is_played_the_bass_is_silent_and_the_drums_go_on():
    track = song("tempo: 80\n| Am | N.C. | G |\n")
    silent = range(sample_of(track, 2, 0), sample_of(track, 3, 0))
    assert not [note for note in of_voice(track, Voice.BASS) if note.sample in silent]
    assert not [note for note in of_voice(track, Voice.PAD) if note.sample in silent]
    assert [note for note in of_voice(track, Voice.KICK) if note.sample in silent]


@pytest.mark.parametrize("pad", [False, True])
def test_nothing_but_clicks_is_heard_while_it_counts_in_also_before_a_later_take(pad):
    track = drill_track(parse_drill("Am F"), 84, takes=3)
    pcm = heard(track, Backing(Feel.SHUFFLE, pad=pad))
    for number, bar in enumerate(track.bars):
        if bar.counts_in:
            assert not pcm[sample_of(track, number, 0) : sample_of(track, number, bar.beats)].any()
        else:
            assert pcm[sample_of(track, number, 0) : sample_of(track, number, bar.beats)].any()


@pytest.mark.parametrize(
    ("feel", "metre", "places"),
    [
        (Feel.STRAIGHT, "4/4", ["0", "1/2", "1", "3/2", "2", "5/2", "3", "7/2"]),
        (Feel.SHUFFLE, "4/4", ["0", "2/3", "1", "5/3", "2", "8/3", "3", "11/3"]),
        (Feel.WALTZ, "3/4", ["0", "1", "2"]),
        (Feel.COMPOUND, "6/8", ["0", "1/3", "2/3", "1", "4/3", "5/3"]),
        (Feel.SHUFFLE, "6/8", ["0", "1/3", "2/3", "1", "4/3", "5/3"]),
    ],
)
def test_each_feel_divides_the_beat_its_own_way_and_a_dotted_beat_always_in_three(feel, metre, places):
    track = drill_in("Am F", 80, 2, metre)
    first = of_voice(track, Voice.HAT, feel)[: len(places)]
    count_in = sum(bar.counts_in for bar in track.bars)
    assert [note.sample for note in first] == [sample_of(track, count_in, Fraction(at)) for at in places]


@pytest.mark.parametrize(("metre", "backs"), [("4/4", [1, 3]), ("2/4", [1]), ("3/4", [2]), ("12/8", [1, 3])])
def test_the_snare_is_on_the_back_beats(metre, backs):
    track = drill_in("Am F", 80, 1, metre)
    count_in = sum(bar.counts_in for bar in track.bars)
    snares = [note.sample for note in of_voice(track, Voice.SNARE)]
    assert snares == [sample_of(track, count_in, beat) for beat in backs]


@settings(max_examples=40, deadline=None)
@given(
    cuts=st.lists(st.integers(0, 300_000), max_size=4),
    feel=st.sampled_from(FEELS),
    name=st.sampled_from(["a change", "dotted quarters", "a passage"]),
)
def test_a_piece_of_a_backing_is_as_it_is_in_the_whole(cuts, feel, name):
    track, rate = tracks()[name], 16_000
    notes, clicks = notes_of(track, Backing(feel, pad=True), rate), [s for s, _ in click_samples(track, rate)]
    end = round(track.seconds * rate)
    edges = sorted({0, end, *(cut for cut in cuts if cut < end)})
    pieces = [render(notes, clicks, low, high, rate) for low, high in pairwise(edges)]
    assert np.array_equal(np.concatenate(pieces), render(notes, clicks, 0, end, rate))


@pytest.mark.parametrize("tempo_bpm", [40, 240])
@pytest.mark.parametrize("root", ["C", "Eb", "F#", "G", "A"])
def test_the_loudest_backing_leaves_room_for_every_click(root, tempo_bpm):
    off_beats = drill_in(f"passage {root}:3/2 {root}m:5/2 {root}maj9:1/3 {root}7:5/3", tempo_bpm, 4)
    for track in (off_beats, drill_in(f"{root} x4", tempo_bpm, 2, "12/8")):
        for feel in FEELS:
            assert np.abs(heard(track, Backing(feel, pad=True))).max() <= CEILING


@pytest.mark.parametrize("feel", FEELS)
@pytest.mark.parametrize(
    ("words", "metre"),
    [("Am E x4", "4/4"), ("D A", "3/4"), ("F#m7 B7 x2", "12/8"), ("passage G:3/2 C:5/2", "4/4")],
)
def test_the_click_is_heard_over_everything_in_its_own_third_of_an_octave(words, metre, feel):
    track = drill_in(words, 160, 8, metre)
    pcm, bank = heard(track, Backing(feel, pad=True)), SoundBank(RATE, 1.0)
    assert np.abs(pcm).max() <= CEILING
    window = round(0.03 * RATE)
    for sound, pitch_hz in ((Sound.ACCENT, 1568.0), (Sound.BEAT, 1046.5), (Sound.OFFBEAT, 784.0)):
        band = butter(4, (pitch_hz / 2 ** (1 / 6), pitch_hz * 2 ** (1 / 6)), "band", fs=RATE, output="sos")
        beneath = sosfilt(band, pcm)
        click = np.mean(sosfilt(band, np.pad(bank[sound] / FULL_SCALE, (0, window)))[:window] ** 2)
        for sample in (sample for sample, kind in click_samples(track) if kind is sound):
            assert 10 * np.log10(click / np.mean(beneath[sample : sample + window] ** 2 + 1e-12)) >= 12


def test_it_is_ducked_by_half_around_every_click_and_nowhere_else():
    pad = BandNote(0, Voice.PAD, 2 * RATE, 1.0, 50)
    pcm, plain = (render([pad], clicks, 0, 2 * RATE).astype(float) for clicks in ([RATE], []))
    ducked = slice(RATE - round(BEFORE_S * RATE), RATE + round(AFTER_S * RATE))
    assert np.abs(pcm[ducked] - DUCKED * plain[ducked]).max() <= 1
    far = np.r_[0 : RATE - 2400, RATE + 6000 : 2 * RATE]
    assert np.array_equal(pcm[far], plain[far])


@pytest.mark.parametrize("feel", FEELS)
def test_bars_are_alike_in_loudness_and_none_is_a_copy_of_the_one_before(feel):
    track = drill_in("Am E x4", 97, 16, "3/4" if feel is Feel.WALTZ else "4/4")
    pcm, beats = heard(track, Backing(feel)), track.bars[-1].beats
    count_in = sum(bar.counts_in for bar in track.bars)
    bars = [
        pcm[sample_of(track, bar, 0) : sample_of(track, bar, beats)][: round(1.8 * RATE)]
        for bar in range(count_in, len(track.bars))
    ]
    if feel is Feel.WALTZ:
        # Chords of four beats do not begin with every bar of three: their fifth may be missing in one.
        bars = bars[::4]
    loudness = [10 * np.log10(np.mean(bar**2)) for bar in bars]
    assert max(loudness) - min(loudness) <= 1
    assert not any(np.array_equal(here, there) for i, here in enumerate(bars) for there in bars[:i])


def test_the_same_track_always_sounds_the_same_and_another_seed_touches_it_otherwise():
    track = drill_in("Am E")
    assert np.array_equal(heard(track, Backing()), heard(track, Backing()))
    assert not np.array_equal(heard(track, Backing()), heard(track, Backing(seed=1)))


@pytest.mark.parametrize(("chord", "pitch_hz"), [("G", 49.00), ("A", 55.00), ("C", 65.41), ("F#", 92.50)])
def test_the_bass_is_in_tune_and_sounds_on_a_small_loudspeaker(chord, pitch_hz):
    """Pitches: equal temperament on A4 = 440 Hz (ISO 16); the table is from memory."""
    track = drill_in(f"{chord} x4", 30, 2)
    pcm = heard(track, Backing(Feel.WALTZ))
    at = of_voice(track, Voice.BASS)[0].sample
    spectrum = np.abs(np.fft.rfft(pcm[at + 14_400 : at + 14_400 + RATE], 8 * RATE))
    for partial in (2, 3):
        near = np.arange(round(8 * partial * pitch_hz * 0.97), round(8 * partial * pitch_hz * 1.03))
        found_hz = near[spectrum[near].argmax()] / 8
        assert abs(1200 * np.log2(found_hz / (partial * pitch_hz))) < 5
    power, hz = spectrum**2, np.arange(len(spectrum)) / 8
    # A laptop's loudspeakers begin at about 120 Hz (common practice, no published source).
    assert power[hz > 120].sum() > 0.1 * power.sum()


def test_the_mixer_begins_a_late_piece_in_its_place_and_softly():
    mixer, pcm = Mixer(SoundBank(RATE, 0.4)), np.full(4800, 1000, np.int16)
    mixer.let_back("now")
    mixer.mix(0, 1000)
    mixer.back(pcm, 400, "now")
    mixer.back(pcm, 0, "before")
    block = mixer.mix(1000, 2000)
    assert block[0] == 0
    assert np.all(np.diff(block[:240]) >= 0)
    assert np.all(block[240:] == 1000)
    assert np.count_nonzero(mixer.mix(3000, 4000)) == 400 + 4800 - 3000


def test_the_mixer_fades_a_backing_that_is_stopped_and_plays_no_piece_of_it_any_more():
    mixer, pcm = Mixer(SoundBank(RATE, 0.4)), np.full(9600, 1000, np.int16)
    mixer.let_back("one")
    mixer.back(pcm, 0, "one")
    mixer.mix(0, 1000)
    mixer.let_back("two")
    mixer.back(pcm, 2000, "one")
    mixer.back(pcm, 6000, "two")
    faded = mixer.mix(1000, 5000)
    assert faded[0] == 1000
    assert np.all(np.diff(faded[:1920].astype(int)) <= 0)
    assert not faded[1920:].any()
    assert np.all(mixer.mix(6000, 1000) == 1000)


@pytest.mark.parametrize("name", ["a change", "a song that turns"])
def test_a_track_with_a_backing_has_it_under_the_same_clicks_and_clips_nowhere(tmp_path, name):
    track = tracks()[name]
    render_track(tmp_path / "dry.wav", track, 1.0)
    render_track(tmp_path / "backed.wav", track, 1.0, backing=Backing(Feel.SHUFFLE, 0.5, True))
    dry, backed = read(tmp_path / "dry.wav")[1], read(tmp_path / "backed.wav")[1]
    beneath = heard(track, Backing(Feel.SHUFFLE, pad=True)) * 0.5
    length = len(beneath)
    assert np.abs(backed[:length] - dry[:length] - beneath * FULL_SCALE).max() <= 2
    assert np.abs(backed.astype(int)).max() < FULL_SCALE


def test_with_a_capo_the_band_plays_as_high_as_the_chords_then_sound():
    """A chord fingered as C sounds as D with the capo at the second fret (arithmetic of semitones)."""
    for capo in range(12):
        low, named = harmony_of("C", capo), harmony_of("C")
        assert low is not None
        assert named is not None
        assert (low.bass - named.bass) % 12 == capo
        assert {tone % 12 for tone in low.pad} == {(tone + capo) % 12 for tone in named.pad}
    song = parse_chart("title: Up\ntempo: 90\ncapo: 2\n| C | G |\n", "up")
    plain = parse_chart("title: Up\ntempo: 90\n| D | A |\n", "up")
    tracks = [run_track(one, 0, 2, Fraction(1), 2) for one in (song, plain)]
    bass = [
        [note.midi for note in notes_of(track, Backing()) if note.voice is Voice.BASS] for track in tracks
    ]
    assert bass[0] == bass[1]
