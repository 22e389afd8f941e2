"""`pedaltrainer listen` as a player runs it, on recordings of a guitar worked out from formulas."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from tests.ear.made_up import expected_of
from tests.ear.plucked import plucked
from tests.ear.strummed import Fault, Hand, Room, strummed

ASKED = ("--drill", "C F", "--tempo", 90)
FAULTS = {1: Fault(late_ms=120), 4: Fault(dead=(1,)), 6: Fault(absent=True)}


def write_takes(folder: Path) -> None:
    """take.wav with three faults, and two clean ones."""
    hand, expected = Hand(plucked(), np.random.default_rng(3)), expected_of("C F", 90)
    for name, faults in (("take", FAULTS), ("clean-1", {}), ("clean-2", {})):
        wave, _ = strummed(expected, hand, Room(delay_ms=80), faults)
        wavfile.write(folder / f"{name}.wav", 48_000, np.round(wave * 32_767).astype(np.int16))


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("recorded")
    write_takes(folder)
    return folder


@pytest.fixture(autouse=True)
def beside_them(recorded: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(recorded)
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: tmp_path / "home")


def test_what_was_heard_is_told_landing_by_landing(said):
    told = said("listen", "take.wav", *ASKED, "--reference", "clean-1.wav", "clean-2.wav")
    first, late, dead, absent, *_ = told.splitlines()
    assert first == "take.wav: C – F, 90 BPM: heard as missed."
    assert late.startswith("  landing 2, F: 1")
    assert late.endswith("ms late")
    assert dead == "  landing 5, C: the A (5) string did not ring"
    assert absent == "  landing 7, C: nothing was struck"
    assert told.endswith("5 landings of 8 in order.\nThe ear advises; you answer.\n")


def test_and_for_other_programs(said):
    told = json.loads(
        said(
            "listen",
            "take.wav",
            *ASKED,
            "--reference",
            "clean-1.wav",
            "clean-2.wav",
            "--click",
            "without",
            "--json",
        )
    )
    assert (told["take"], told["guard"]) == ("missed", "passed")
    assert told["delay_ms"] == pytest.approx(80, abs=15)
    assert [one["landing"] for one in told["landings"]] == list(range(1, 9))
    assert [one["verdict"] for one in told["landings"]] == [
        "ok", "late", "ok", "ok", "dead", "ok", "absent", "ok",
    ]  # fmt: skip
    assert told["landings"][4]["strings"] == [5]
    assert told["landings"][6]["late_ms"] is None


@pytest.mark.parametrize(("rate", "kind"), [(44_100, np.int16), (22_050, np.float32), (48_000, np.int32)])
def test_other_rates_depths_and_two_channels_are_read_as_well(said, tmp_path, rate, kind):
    _, pcm = wavfile.read("take.wav")
    places = np.arange(0, len(pcm) - 1, 48_000 / rate)
    again = np.interp(places, np.arange(len(pcm)), pcm / 32_768)
    scale = 1 if kind is np.float32 else np.iinfo(kind).max
    stereo = np.stack((again, again), axis=1) * scale
    wavfile.write(tmp_path / "other.wav", rate, stereo.astype(kind))
    told = json.loads(said("listen", tmp_path / "other.wav", *ASKED, "--json"))
    assert [number for number, one in enumerate(told["landings"]) if one["verdict"] == "late"] == [1]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "cannot be read (No such file or directory)"),
        (b"", "is no WAV file that can be read"),
        (b"RIFF\x24\0\0\0WAVEfmt ", "is no WAV file that can be read"),
        (b"<html></html>", "is no WAV file that can be read"),
    ],
)
def test_a_file_that_is_no_recording_is_one_sentence(refused, tmp_path, content, says):
    path = tmp_path / "odd.wav"
    if content is not None:
        path.write_bytes(content)
    assert says in refused("listen", path, *ASKED)


def test_what_cannot_be_judged_is_one_sentence_that_names_the_file(refused, tmp_path):
    rate, pcm = wavfile.read("take.wav")
    wavfile.write(tmp_path / "silent.wav", rate, 0 * pcm)
    wavfile.write(tmp_path / "short.wav", rate, pcm[:90_000])
    wavfile.write(tmp_path / "empty.wav", rate, pcm[:0])
    wavfile.write(tmp_path / "clipped.wav", rate, np.clip(20.0 * pcm, -32_768, 32_767).astype(np.int16))
    wavfile.write(tmp_path / "thin.wav", 4_000, pcm[::12])
    for name, says in {
        "silent": "is silent", "short": "is shorter than the take", "empty": "has no sound in it",
        "clipped": "is clipped", "thin": "has 4000 samples a second",
    }.items():  # fmt: skip
        told = refused("listen", tmp_path / f"{name}.wav", *ASKED)
        assert f"{name}.wav {says}" in told
    assert "short.wav is shorter" in refused(
        "listen", "take.wav", *ASKED, "--reference", tmp_path / "short.wav"
    )
    assert "has no click of this take" in refused("listen", "take.wav", *ASKED, "--click", "with")
    assert "check --tempo" in refused("listen", "take.wav", "--drill", "C F", "--tempo", 127)
    assert "is no drill of whole chords" in refused(
        "listen", "take.wav", "--drill", "pressure F", "--tempo", 90
    )
