"""Binding files: written and read back unchanged, and every fault told with its line and mend."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import KEYBOARD, UNTAUGHT
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.keys import KEY_SWITCHES
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.lights import MESSAGES, LightRow, Moment
from pedaltrainer.pedals.taught.files import (
    load_bindings,
    load_lights,
    own_path,
    presets,
    read_binding,
    save_binding,
    slug,
)
from pedaltrainer.pedals.taught.form import (
    ONE_SWITCH_OF_BEFORE,
    DeviceBinding,
    SwitchRow,
    as_toml,
    parse_binding,
)

CONFIGS = Path(__file__).parents[2] / "configs"
TAP, DOUBLE, HOLD = GestureKind.TAP, GestureKind.DOUBLE, GestureKind.HOLD
OF_BEFORE = """
device = "board"
[[switch]]
name = "controller 80 on channel 1"
tap = "again"
"""
TWO = DeviceBinding(
    "Two Feet MIDI 1",
    (
        SwitchRow("controller 80 on channel 1", SwitchProfile(), {TAP: Control.PASS_}),
        SwitchRow("controller 81 on channel 1", SwitchProfile(SwitchKind.LATCHING), {TAP: Control.FAIL}),
    ),
)

names = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=30).filter(str.strip)
milliseconds = st.integers(0, 50).map(lambda ms: ms / 1000)


@st.composite
def profiles(draw: st.DrawFn) -> SwitchProfile:
    low, high = draw(st.one_of(st.just((None, None)), st.tuples(st.integers(0, 60), st.integers(61, 127))))
    return SwitchProfile(draw(st.sampled_from(SwitchKind)), draw(milliseconds), low, high)


@st.composite
def rows(draw: st.DrawFn) -> SwitchRow:
    profile = draw(profiles())
    gestures = [kind for kind in GestureKind if kind is not HOLD or profile.offers_hold]
    controls = draw(st.dictionaries(st.sampled_from(gestures), st.sampled_from(Control)))
    assume(controls != ONE_SWITCH_OF_BEFORE)
    return SwitchRow(draw(names), profile, controls, draw(st.one_of(st.just(""), names)))


@st.composite
def bindings(draw: st.DrawFn) -> DeviceBinding:
    device = draw(names)
    windows = st.builds(
        lambda a, b: GestureSettings(a / 1000, b / 1000), st.integers(100, 3000), st.integers(100, 3000)
    )
    lights = draw(
        st.dictionaries(
            st.sampled_from(Moment),
            st.tuples(st.sampled_from(sorted(MESSAGES)), *[st.integers(0, 127)] * 3, st.integers(1, 16)),
        )
    )
    return DeviceBinding(
        device,
        tuple(draw(st.lists(rows(), min_size=1, max_size=4))),
        draw(st.one_of(st.none(), windows)),
        tuple(
            LightRow(device, moment, kind, number, channel, value, off)
            for moment, (kind, number, value, off, channel) in lights.items()
        ),
        tuple(draw(st.lists(names, max_size=2))),
        draw(st.booleans()),
        draw(st.sampled_from(["", "foot", "key"])),
    )


@given(bindings())
def test_what_is_written_is_read_back(binding: DeviceBinding) -> None:
    assert parse_binding(as_toml(binding)) == binding


GOOD = """\
device = "Board"

[[switch]]
name = "controller 80 on channel 1"
kind = "momentary"
tap = "pass"

[[switch]]
name = "controller 81 on channel 1"
kind = "latching"
debounce_ms = 20
tap = "fail"

[lights]
pass = { note = 60, value = 5 }
"""


@pytest.mark.parametrize(
    ("right", "wrong", "line", "mend"),
    [
        ('device = "Board"', "device = Board", 1, "quotes"),
        ('device = "Board"', "device = 3", 1, "a name in quotes"),
        ('device = "Board"', 'dveice = "Board"', 1, "use one of device"),
        ('device = "Board"', 'device = "Board"\nhold_ms = 5', 2, "from 100 to 3000"),
        ('device = "Board"', 'device = "Board"\nmatch = "x"', 2, "a list"),
        ('device = "Board"', 'device = "Board"\njudge = "ear"', 2, '"foot" or "key"'),
        ('kind = "latching"', 'kind = "sticky"', 10, '"momentary", "reversed", "latching"'),
        ("debounce_ms = 20", "debounce_ms = 200", 11, "from 0 to 50"),
        ("debounce_ms = 20", "debounce_ms = nan", 11, "from 0 to 50"),
        ("debounce_ms = 20", "debounce_ms = true", 11, "a number"),
        ("debounce_ms = 20", "low = 90\nhigh = 20", 11, "low must be below high"),
        ("debounce_ms = 20", "low = 90", 11, "give both or neither"),
        ("debounce_ms = 20", "high = 900", 11, "from 0 to 127"),
        ("debounce_ms = 20", 'hold = "next"', 11, "delete this line"),
        ('tap = "fail"', 'tap = "explode"', 12, '"pass", "fail"'),
        ('tap = "fail"', 'tip = "fail"', 12, "use one of name"),
        ('name = "controller 81 on channel 1"\n', "", 8, "has no name"),
        ("pass = { note = 60, value = 5 }", "pass = 60", 15, "{ note = 60"),
        ("pass = { note = 60, value = 5 }", "joy = { note = 60 }", 15, "listening"),
        ("pass = { note = 60, value = 5 }", "pass = { note = 600 }", 15, "0 to 127"),
        ("pass = { note = 60, value = 5 }", 'pass = { note = "C" }', 15, "whole"),
        ("pass = { note = 60, value = 5 }", "pass = { note = 6, controller = 7 }", 15, "{ note = 60"),
        ("[lights]", "[lihgts]", 14, "use one of device"),
        ("[[switch]]", "[[swithc]]", 3, "use one of device"),
    ],
)
def test_a_fault_is_told_with_its_line_and_its_mend(right: str, wrong: str, line: int, mend: str) -> None:
    assert parse_binding(GOOD)
    with pytest.raises(InputError) as told:
        parse_binding(GOOD.replace(right, wrong), "board.toml")
    assert f"board.toml, line {line}: " in str(told.value)
    assert mend in str(told.value)
    assert str(told.value).endswith(".")


def test_a_file_without_a_switch_or_with_bad_bytes_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"line 1: there is no switch; add one"):
        parse_binding('device = "Board"\n')
    path = tmp_path / "board.toml"
    path.write_bytes(b'device = "Board"\n# \xff\n')
    with pytest.raises(InputError, match=r"board.toml, line 2: this is not UTF-8"):
        read_binding(path)
    with pytest.raises(InputError, match=r"none.toml cannot be read"):
        read_binding(tmp_path / "none.toml")


@given(st.text(max_size=200))
def test_any_text_is_a_binding_or_an_error_for_the_player(text: str) -> None:
    with contextlib.suppress(InputError):
        assert parse_binding(text).switches


def test_teaching_again_replaces_and_keeps_the_lights_written_by_hand(tmp_path: Path) -> None:
    path = save_binding(tmp_path, TWO)
    assert path == tmp_path / "pedals" / "two-feet-midi-1.toml"
    path.write_text(path.read_text() + "\n[lights]\npass = { note = 1 }\n")
    one = DeviceBinding(TWO.device, TWO.switches[:1])
    assert save_binding(tmp_path, one) == path
    assert [file.name for file in path.parent.iterdir()] == [path.name]
    found = read_binding(path)
    assert found.switches == one.switches
    assert [light.number for light in load_lights(tmp_path)] == [1]
    moved = path.rename(path.with_name("my board.toml"))
    assert own_path(tmp_path, TWO.device) == moved


def test_two_devices_whose_names_look_alike_have_two_files(tmp_path: Path) -> None:
    first = save_binding(tmp_path, TWO)
    second = save_binding(tmp_path, TWO.for_device("Two Feet (MIDI 1)"))
    assert slug("Two Feet (MIDI 1)") == slug(TWO.device)
    assert {first.name, second.name} == {"two-feet-midi-1.toml", "two-feet-midi-1-2.toml"}


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "pedals").write_text("a file in the way")
    with pytest.raises(InputError, match="cannot be written"):
        save_binding(tmp_path, TWO)


def test_the_players_own_file_comes_first_and_silences_the_switches_it_does_not_name(tmp_path: Path) -> None:
    save_binding(tmp_path, TWO.for_device("My expression pedal"))
    found = load_bindings(tmp_path, CONFIGS, ["My expression pedal", "Your expression pedal"])
    mine, yours = "My expression pedal", "Your expression pedal"
    assert found.find(mine, "controller 80 on channel 1").controls == {TAP: Control.PASS_}  # type: ignore[union-attr]
    assert found.find(mine, "controller 64 on channel 1").controls == {}  # type: ignore[union-attr]
    assert found.find(yours, "controller 11 on channel 3").profile.kind is SwitchKind.CONTINUOUS  # type: ignore[union-attr]
    assert found.matched(mine) == "your own file my-expression-pedal.toml"
    assert found.matched(yours) == "preset expression_pedal"
    assert found.matched("Some keys") == UNTAUGHT
    assert found.matched(KEYBOARD) == UNTAUGHT
    hat = found.find("Gamepad", "hat left")
    assert hat is not None
    assert hat.source == "preset game_controller"


def test_an_own_file_without_a_device_is_told(tmp_path: Path) -> None:
    (tmp_path / "pedals").mkdir()
    (tmp_path / "pedals" / "mine.toml").write_text('[[switch]]\nname = "note 1 on channel 1"\ntap = "pass"\n')
    with pytest.raises(InputError, match="the device is missing"):
        load_bindings(tmp_path, CONFIGS)


def test_without_any_files_everything_is_as_before_it_was_taught(tmp_path: Path) -> None:
    found = load_bindings(tmp_path / "none", tmp_path / "none")
    assert found.find("Any", "controller 64 on channel 1").controls[TAP] is Control.PASS_  # type: ignore[union-attr]


SHIPPED = presets(CONFIGS)


def test_the_presets_that_were_promised_are_there() -> None:
    assert set(SHIPPED) == {
        "one_sustain_pedal",
        *(f"{n}_switches_by_{what}" for n in ("two", "three") for what in ("controller", "note", "program")),
        "page_turner",
        "pads_or_keys",
        "expression_pedal",
        "game_controller",
    }


@pytest.mark.parametrize("name", SHIPPED)
def test_with_every_preset_pass_fail_and_the_pause_menu_are_in_reach(name: str) -> None:
    """By a stop, or by a rest of the foot in the menu that no opens."""
    rules = SHIPPED[name].for_device("X").rules("")
    given_controls = {rule.controls[kind] for rule in rules for kind in rule.gestures}
    assert {Control.PASS_, Control.FAIL} <= given_controls
    assert {Control.NEXT, Control.PAUSE} & given_controls
    assert as_toml(parse_binding(as_toml(SHIPPED[name]))) == as_toml(SHIPPED[name])


def test_the_page_turner_needs_no_hold_and_names_keys_that_exist() -> None:
    turner = SHIPPED["page_turner"]
    assert {row.name for row in turner.switches} <= set(KEY_SWITCHES.values())
    two_keys = [row for row in turner.switches if row.name in ("key page down", "key page up")]
    assert [dict(row.controls) for row in two_keys] == [
        {TAP: Control.PASS_, DOUBLE: Control.NEXT},
        {TAP: Control.FAIL, DOUBLE: Control.PAUSE},
    ]


def test_a_file_of_before_that_says_again_means_repeat():
    (row,) = parse_binding(OF_BEFORE).switches
    assert row.controls == {TAP: Control.REPEAT}


def test_one_switch_of_before_that_held_for_next_stops_now():
    text = as_toml(DeviceBinding("board", (SwitchRow("note 1", SwitchProfile(), ONE_SWITCH_OF_BEFORE),)))
    (row,) = parse_binding(text).switches
    assert row.controls == {TAP: Control.PASS_, DOUBLE: Control.FAIL, HOLD: Control.PAUSE}
