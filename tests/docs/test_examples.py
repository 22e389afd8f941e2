"""The programs in docs/examples/ run as they stand there, and say what is so."""

from __future__ import annotations

import re
import runpy
import sys
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.page.made_up import write_log

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
Run = Callable[..., str]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """What an example prints when it is started with these words."""

    def started(name: str, *words: object) -> str:
        monkeypatch.setattr(sys, "argv", [name, *map(str, words)])
        runpy.run_path(str(EXAMPLES / name), run_name="__main__")
        return capsys.readouterr().out

    return started


def test_a_click_sounds_where_the_example_says_that_bars_begin(run: Run, tmp_path: Path) -> None:
    said = run("click_to_wav.py", tmp_path / "click.wav")
    with wave.open(str(tmp_path / "click.wav")) as file:
        heard = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    bars = [int(sample) for sample in re.findall(r"on sample (\d+)", said)]
    assert bars == [round(beat * 60 * 48_000 / 97) for beat in (4, 8, 12, 16)]
    assert [(heard[bar - 1], heard[bar] != 0) for bar in bars] == [(0, True)] * 4


def test_shapes_fingers_and_a_route_are_printed(run: Run) -> None:
    said = run("chord_shapes.py", "G")
    assert "3 2 0 0 0 3" in said.split("G as")[0]
    first, second = re.findall(r"cost ([\d.]+)", said)[:2]
    assert float(first) < float(second)
    assert re.findall(r"^  (Em|C|G|D) ", said, re.MULTILINE) == ["Em", "C", "G", "D"]


def test_the_ladder_closes_in_on_the_tempo_that_is_true(run: Run) -> None:
    said = run("climb_a_ladder.py", 92)
    widths = [int(high) - int(low) for low, high in re.findall(r"between (\d+) and (\d+)", said)]
    assert len(widths) == 15
    low_bpm, high_bpm = map(int, re.findall(r"between (\d+) and (\d+)", said)[-1])
    assert low_bpm <= 92 <= high_bpm
    assert widths[-1] < widths[0] / 3


def test_the_log_is_read_player_by_player(run: Run, tmp_path: Path) -> None:
    write_log(tmp_path, "Robin", {"Am F": 0.0}, days=8)
    write_log(tmp_path, "Ada", {"F": 0.0}, days=2)
    said = run("read_the_log.py", tmp_path)
    assert re.search(r"^Robin: \d+ minutes on 4 days$", said, re.MULTILINE)
    assert re.search(r"^  Robin, change Am F: (\d+) BPM, between \d+ and \d+$", said, re.MULTILINE)
    assert re.search(r"^  Ada, re-land F: ", said, re.MULTILINE)


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.py")), ids=lambda path: path.name)
def test_an_example_is_short(example: Path) -> None:
    assert len(example.read_text(encoding="utf-8").splitlines()) <= 40
