"""`pedaltrainer track` as a player runs it."""

from __future__ import annotations

import json
import wave

import mido
import pytest

from pedaltrainer.songs.shipped import configs_folder


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: tmp_path / "home")


def test_a_drill_is_written_as_a_midi_file_of_ten_takes(tmp_path, ran):
    code, told, _ = ran("track", "Am F", "--tempo", 84, "--out", "am-f.mid")
    assert (code, told) == (0, "am-f.mid: Am – F, 84 BPM; 30 bars with the count-in, 1:26.\n")
    assert sum(one.type == "marker" for one in mido.MidiFile("am-f.mid").tracks[0]) == 10


def test_and_as_sound(tmp_path, ran):
    code, told, _ = ran("track", "F", "--tempo", 60, "--bars", 4, "--takes", 1, "--out", "f.wav", "--json")
    assert code == 0
    assert json.loads(told) == {
        "out": "f.wav",
        "title": "F, landed again, 60 BPM",
        "bars": 5,
        "seconds": 20.0,
    }
    with wave.open("f.wav") as track:
        assert track.getnframes() == 20 * 48_000


def test_a_backing_is_heard_beneath_the_same_clicks(tmp_path, ran):
    for out, more in (("dry.wav", ()), ("band.wav", ("--backing", "shuffle", "--backing-level", 0.5))):
        assert ran("track", "Am F", "--tempo", 84, "--takes", 1, "--out", out, *more)[0] == 0
    with wave.open("dry.wav") as dry, wave.open("band.wav") as band:
        assert dry.getnframes() == band.getnframes()
        frames = round(4 * 60 / 84 * 48_000)
        assert dry.readframes(frames) == band.readframes(frames)
        assert dry.readframes(48_000) != band.readframes(48_000)


def test_a_section_of_a_song_at_another_tempo(tmp_path, said, ran):
    said("song", "add", configs_folder() / "songs" / "low-water.chart")
    wanted = ("track", "--song", "low", "--section", "bridge", "--tempo", 80, "--out", "bridge.mid")
    code, told, _ = ran(*wanted)
    assert (code, told) == (0, "bridge.mid: Low Water, Bridge, 80 BPM; 9 bars with the count-in, 0:27.\n")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--out", "a.mid"], "Name a drill"),
        (["Am F", "--out", "a.mid"], "needs a tempo"),
        (["Am F", "--tempo", "84", "--out", "a.mp4"], "ends in .mid or .wav"),
        (["Am F", "--tempo", "84", "--section", "Verse", "--out", "a.mid"], "no sections"),
        (["Am F", "--tempo", "84", "--metre", "5/5", "--out", "a.mid"], "a metre such as"),
        (["Am F", "--tempo", "84", "--volume", "1", "--out", "a.mid"], "leave out --volume"),
        (["Am F", "--tempo", "84", "--backing", "waltz", "--out", "a.mid"], "A backing is for a WAV file"),
        (["Am F", "--tempo", "84", "--pad", "--out", "a.wav"], "Say which backing"),
        (["Am F", "--song", "low", "--out", "a.mid"], "not both"),
        (["--song", "low", "--bars", "4", "--out", "a.mid"], "its own bars"),
        (["--song", "low", "--out", "a.mid"], "no song “low”"),
        (["Am F", "--tempo", "20", "--bars", "10000", "--out", "a.mid"], "four hours"),
        (["Am F", "--tempo", "84", "--out", "no/such.mid"], "cannot be written"),
    ],
)
def test_what_makes_no_track_is_refused_in_one_sentence(tmp_path, ran, words, says):
    code, told, trouble = ran("track", *words)
    assert (code, told) == (2, "")
    assert says in trouble
    assert len(trouble.strip().splitlines()) == 1
    assert not [path for path in tmp_path.iterdir() if path.is_file()]
