"""`pedaltrainer listen` on the MIDI files of a guitar with a channel a string."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.ear.made_up import expected_of
from tests.ear.strummed import Fault
from tests.ear.tracked import HEXAPHONIC, STANDARD, Played, as_midi, tracked

ASKED = ("--drill", "C F", "--tempo", 90)
CLEAN = ("--reference", "clean-1.mid", "clean-2.mid")


@pytest.fixture(autouse=True)
def recorded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: tmp_path / "home")
    guitar, expected = Played(np.random.default_rng(2), STANDARD, HEXAPHONIC), expected_of("C F", 90)
    faults = {1: Fault(late_ms=120), 4: Fault(dead=(1,)), 6: Fault(absent=True)}
    for name, of_take in (("take", faults), ("clean-1", {}), ("clean-2", {})):
        (tmp_path / f"{name}.mid").write_bytes(as_midi(tracked(expected, guitar, 0.3, of_take)[0]))


def test_notes_are_told_as_sound_is(said):
    first, late, dead, absent, *_ = said("listen", "take.mid", *ASKED, *CLEAN).splitlines()
    assert first == "take.mid: C – F, 90 BPM: heard as missed."
    assert late.startswith("  landing 2, F: 1")
    assert late.endswith("ms late")
    assert dead == "  landing 5, C: the A (5) string did not ring"
    assert absent == "  landing 7, C: nothing was struck"


def test_and_for_other_programs(said):
    told = json.loads(said("listen", "take.mid", *ASKED, *CLEAN, "--json"))
    assert (told["take"], told["guard"]) == ("missed", "passed")
    assert [one["verdict"] for one in told["landings"]] == [
        "ok", "late", "ok", "ok", "dead", "ok", "absent", "ok",
    ]  # fmt: skip
    assert told["landings"][4]["strings"] == [5]


def test_what_cannot_be_judged_is_one_sentence(refused, tmp_path):
    (tmp_path / "odd.mid").write_bytes(b"MThd and nothing more")
    (tmp_path / "sound.wav").write_bytes(b"RIFF")
    assert "odd.mid is no MIDI file that can be read" in refused("listen", "odd.mid", *ASKED)
    assert "sound.wav is no MIDI file, as others are" in refused(
        "listen", "take.mid", *ASKED, "--reference", "sound.wav"
    )
    assert "--click is about recorded sound" in refused("listen", "take.mid", *ASKED, "--click", "without")
    assert "take.mid has no chords where C F" in refused("listen", "take.mid", *ASKED[:3], 131)
