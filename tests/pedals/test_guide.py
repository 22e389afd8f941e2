"""The guide for players says what the code does."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from pedaltrainer.pedals.bindings import DIRECT_KEYS, ONE_SWITCH
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.messages import ROWS
from pedaltrainer.pedals.taught.form import parse_binding
from pedaltrainer.session.causes import Action, Choice
from pedaltrainer.session.state import LISTS, Phase
from pedaltrainer.session.step import begin
from pedaltrainer.session.transitions import TABLE, meaning
from pedaltrainer.showing.words import CHOICES, action_words
from tests.session.playing import settings

GUIDE = (Path(__file__).parents[2] / "docs" / "guide" / "pedals.md").read_text(encoding="utf-8")


def table(first_heading: str) -> list[list[str]]:
    """The rows under the table whose first column has this heading, cells stripped."""
    lines = GUIDE.split("\n")
    start = next(n for n, line in enumerate(lines) if line.startswith(f"| {first_heading} |")) + 2
    rows = []
    for line in lines[start:]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


def said(phase: Phase, control: Control) -> str:
    """What the stage calls this control in this phase, in the ask style, with drills still to come."""
    state = replace(begin(settings("Am E", "G D")), phase=phase)
    if phase in LISTS and control is Control.FAIL:
        return "move twice"
    action = meaning(state, control)
    return "-" if action is Action.NOTHING else action_words(state, action)


def test_the_table_of_moments_is_what_the_stage_does() -> None:
    written = {row[0]: row[1:] for row in table("Moment")}
    silent = {Phase.CLOSED, Phase.TEACHING}
    gestures = (GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD)
    assert written == {
        phase.value: [said(phase, ONE_SWITCH[gesture]) for gesture in gestures]
        for phase in Phase
        if phase not in silent
    }


def test_every_choice_of_the_pause_menu_is_named() -> None:
    of_the_menu = [
        cause
        for row in TABLE
        for cause in row.causes
        if isinstance(cause, Choice) and Phase.PAUSED in row.phases
    ]
    menu = re.search(r"The menu \((.*?)\)", GUIDE)
    assert menu is not None
    assert menu[1].split(", ") == [CHOICES[choice].lower() for choice in of_the_menu]


def test_the_one_switch_and_the_keys_are_as_written() -> None:
    assert {row[0]: row[1] for row in table("Gesture")} == {
        str(gesture): str(control) for gesture, control in ONE_SWITCH.items()
    }
    keys = {key: row[1] for row in table("Key")[:2] for key in row[0].split(", ")}
    direct = {key.removeprefix("key "): str(control) for key, control in DIRECT_KEYS.items()}
    assert all(direct[key] == control for key, control in keys.items())
    letters, controls = (cell.split(", ") for cell in next(row for row in table("Key") if "n, a" in row[0]))
    assert [direct[letter] for letter in letters] == controls


def test_the_windows_are_as_written() -> None:
    usual = GestureSettings()
    assert f"within {usual.double_tap_s:.2f} s of the first way *down*" in GUIDE
    assert f"a hold is known after {usual.hold_s:.2f} s" in GUIDE


def test_every_kind_of_switch_is_explained() -> None:
    written = {row[0]: row[2] == "yes" for row in table("Kind")}
    assert written == {str(kind): SwitchProfile(kind).offers_hold for kind in SwitchKind}


def test_the_example_binding_can_be_used_as_it_is() -> None:
    example = re.search(r"```toml\n(.*?)```", GUIDE, re.DOTALL)
    assert example is not None
    binding = parse_binding(example[1])
    assert binding.windows == GestureSettings(0.3, 0.6)
    assert binding.lights[0].number == 60


def test_the_sections_of_the_specification_are_those_of_the_code() -> None:
    told = set(re.findall(r"\b[IV]+\b", " ".join(row[3] for row in table("Message"))))
    known = set(re.findall(r"\b[IV]+\b", " ".join(row.section for row in ROWS.values())))
    assert told == known
