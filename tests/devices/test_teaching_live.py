"""Teaching a real pedal on the terminal, from the first press to the file that is written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.kinds import SwitchKind
from pedaltrainer.pedals.taught.files import read_binding
from tests.devices.jack import JackServer, VirtualPedal, wait_until

ROOT = Path(__file__).parents[2]


class Lesson:
    """`pedaltrainer teach --terminal` under way, and what it has said."""

    def __init__(self, folder: Path) -> None:
        self.said = ""
        self._log = folder / "said.txt"
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pedaltrainer", "teach", "--terminal", "--data", str(folder)],
            stdout=self._log.open("w"),
            stderr=subprocess.STDOUT,
            cwd=ROOT,
        )

    def says(self, words: str, within_s: float = 20) -> bool:
        return wait_until(lambda: words in self._read(), within_s)

    def goes_on(self) -> bool:
        """Whether it comes to say more than was read of it last."""
        before = self.said
        return wait_until(lambda: self._read() != before)

    def _read(self) -> str:
        self.said = self._log.read_text(encoding="utf-8")
        return self.said

    def end(self) -> int:
        return self._process.wait(timeout=60)


def teach_by_foot(lesson: Lesson, pedal: VirtualPedal) -> None:
    """Do what the lesson asks, as a foot would, until it asks for the next switch."""
    assert lesson.says("The switch for “clean”")
    for press in range(12):
        if "The switch for “missed”" in lesson.said:
            return
        asked = lesson.said.rsplit("The switch for “clean”", 1)[-1]
        # No two presses of a foot are alike.
        pedal.tap((1.1 if "stay down" in asked else 0.14) + 0.03 * press)
        assert lesson.goes_on(), lesson.said
    pytest.fail(lesson.said)


@pytest.fixture
def pedal(steady_jack: JackServer):
    with VirtualPedal(steady_jack.environment, client="old board") as pedal:
        yield pedal


def test_one_switch_taught_on_the_terminal_gives_a_file_that_a_player_can_read(pedal, tmp_path):
    lesson = Lesson(tmp_path)
    teach_by_foot(lesson, pedal)
    pedal.tap(0.15)  # the switch for “clean” again: there is no other
    for which in ("(1 of 2)", "(2 of 2)"):
        assert lesson.says(which), lesson.said
        pedal.tap(0.08)
        pedal.send("@0.12")
        pedal.tap(0.08)
    assert lesson.end() == 0, lesson.said
    lesson.says("Kept in")
    (path,) = (tmp_path / "pedals").glob("*.toml")
    binding = read_binding(path)
    assert "old board" in binding.device
    (row,) = binding.switches
    assert row.name == "controller 64 on channel 1"
    assert row.profile.kind is SwitchKind.MOMENTARY
    assert binding.windows is not None, "this foot's own pace was learnt"
    assert row.controls == {
        GestureKind.TAP: Control.PASS_,
        GestureKind.DOUBLE: Control.FAIL,
        GestureKind.HOLD: Control.PAUSE,
    }
    assert str(path) in lesson.said


def test_the_monitor_says_each_message_in_words_and_which_preset_matched(pedal, tmp_path):
    process = subprocess.Popen(
        [sys.executable, "-m", "pedaltrainer", "pedals", "--seconds", "2", "--data", str(tmp_path)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
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
