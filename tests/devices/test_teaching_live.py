"""Teaching a real pedal on the terminal, from the first press to the file that is written."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind
from pedaltrainer.pedals.taught.files import read_binding
from tests.devices.jack import JackServer, VirtualPedal, wait_until

ROOT = Path(__file__).parents[2]


class Lesson:
    """`pedaltrainer teach --terminal` under way, and what it has said."""

    def __init__(self, jack: JackServer, folder: Path) -> None:
        self.said = ""
        self._log = folder / "said.txt"
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pedaltrainer", "teach", "--terminal", "--data", str(folder)],
            stdout=self._log.open("w"),
            stderr=subprocess.STDOUT,
            cwd=ROOT,
            env=os.environ | jack.environment,
        )

    def says(self, words: str, within_s: float = 20) -> bool:
        def said() -> bool:
            self.said = self._log.read_text(encoding="utf-8")
            return words in self.said

        return wait_until(said, within_s)

    def end(self) -> int:
        return self._process.wait(timeout=60)


def teach_by_foot(lesson: Lesson, pedal: VirtualPedal) -> None:
    """Do what the lesson asks, as a foot would, until it asks for the next switch."""
    assert lesson.says("The switch for “clean”")
    for press in range(12):
        lesson.says("The switch for “missed”", within_s=0.3)
        if "The switch for “missed”" in lesson.said:
            return
        asked = lesson.said.rsplit("The switch for “clean”", 1)[-1]
        # No two presses of a foot are alike.
        pedal.tap((1.1 if "stay down" in asked else 0.14) + 0.03 * press)
        time.sleep(2.0)
    pytest.fail(lesson.said)


@pytest.fixture
def pedal(jack: JackServer):
    with VirtualPedal(jack.environment, client="old board") as pedal:
        yield pedal


def test_one_switch_taught_on_the_terminal_gives_a_file_that_a_player_can_read(jack, pedal, tmp_path):
    lesson = Lesson(jack, tmp_path)
    teach_by_foot(lesson, pedal)
    # Pressing the switch for “clean” again says that there is no other; its rhythm is then waited out.
    pedal.tap(0.15)
    assert lesson.end() == 0, lesson.said
    lesson.says("Kept in")
    (path,) = (tmp_path / "pedals").glob("*.toml")
    binding = read_binding(path)
    assert "old board" in binding.device
    (row,) = binding.switches
    assert row.name == "controller 64 on channel 1"
    assert row.profile.kind is SwitchKind.MOMENTARY
    assert row.controls == {
        GestureKind.TAP: Control.PASS_,
        GestureKind.DOUBLE: Control.FAIL,
        GestureKind.HOLD: Control.PAUSE,
    }
    assert str(path) in lesson.said


def test_the_monitor_says_each_message_in_words_and_which_preset_matched(jack, pedal, tmp_path):
    process = subprocess.Popen(
        [sys.executable, "-m", "pedaltrainer", "pedals", "--seconds", "6", "--data", str(tmp_path)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=os.environ | jack.environment,
    )
    assert process.stdout is not None
    first = process.stdout.readline()
    while "keyboard" not in first:
        first += process.stdout.readline()
    pedal.send("f8", "b0 40 7f", "b0 40 00", "99 3c 5a", "c0 05", "fe")
    rest = process.stdout.read()
    process.stdout.close()
    assert process.wait() == 0
    assert "old board" in first
    assert "controller 64 on channel 1 down, 127" in rest
    assert "note 60" in rest
    assert "channel 10" in rest
    assert "clock" not in rest
