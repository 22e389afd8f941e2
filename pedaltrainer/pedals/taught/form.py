"""The form of a binding file: one device's switches as TOML, to and from plain data.

`HEADER` explains the form to whoever edits a file by hand.
"""

from __future__ import annotations

import contextlib
import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, NoReturn

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import FOOT, KEY, KEY_PROFILE, KEYBOARD, USUAL_PACE, Binding
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import LONGEST_WINDOW_S, SwitchKind, SwitchProfile
from pedaltrainer.pedals.midi.lights import MESSAGES, LightRow, Moment
from pedaltrainer.pedals.switch import WINDOW_S
from pedaltrainer.system.reading import parse_toml

HEADER = """\
# What the switches of one device do. Edit it by hand, or teach the pedal anew.
#
#   device       the device's name, as "pedaltrainer pedals" shows it; * stands for any letters
#   double_tap_ms, hold_ms   how quick a double tap and how long a hold is (may be left out)
#
# One [[switch]] for each switch:
#   name         as the live monitor shows it: "controller 64 on channel 1"; "on channel *" for any channel
#   kind         momentary, reversed, latching, press-only or continuous
#   debounce_ms  how long its contact may chatter, 0 to 50
#   low, high    values that count as let go and as pressed (may be left out)
#   tap, double_tap, hold    pass, fail, next, repeat, pause, undo or quit (leave out what it shall not do)
#   foot         switches with the same word here act as one (may be left out)
#
# [lights] names a note or a controller to send for pass, fail and listening (may be left out):
#   pass = { note = 60, channel = 1, value = 127, off = 0 }
"""

_GESTURE_KEYS: Mapping[str, GestureKind] = {
    "tap": GestureKind.TAP,
    "double_tap": GestureKind.DOUBLE,
    "hold": GestureKind.HOLD,
}
WINDOW_BOUNDS_MS = (100.0, 3000.0)


@dataclass(frozen=True, slots=True)
class SwitchRow:
    """One switch of a device: what kind it is and what its gestures do."""

    name: str
    profile: SwitchProfile
    controls: Mapping[GestureKind, Control]
    foot: str = ""


@dataclass(frozen=True, slots=True)
class DeviceBinding:
    """One binding file. Of device, match and match_switches a preset may leave all empty.

    lights carry the device's name too.
    """

    device: str
    switches: tuple[SwitchRow, ...]
    windows: GestureSettings | None = None
    lights: tuple[LightRow, ...] = ()
    match: tuple[str, ...] = ()
    match_switches: bool = False
    judge: str = ""

    def for_device(self, device: str) -> DeviceBinding:
        """The same for a device of this name: how a preset becomes a player's own."""
        lights = tuple(replace(row, device=device) for row in self.lights)
        return replace(self, device=device, lights=lights, match=(), match_switches=False)

    def rules(self, source: str, *, alone: bool = True) -> tuple[Binding, ...]:
        """As rules. alone: the device's other switches then do nothing (never so for the keyboard)."""
        judge = self.judge or (KEY if self.device == KEYBOARD else FOOT)
        windows = self.windows or USUAL_PACE
        rules = tuple(
            Binding(self.device, row.name, row.controls, judge, row.profile, windows, row.foot, source)
            for row in self.switches
        )
        if not alone or self.device == KEYBOARD:
            return rules
        return (*rules, Binding(self.device, "*", {}, judge, source=source))


def as_toml(binding: DeviceBinding) -> str:
    """The file's text, with comments for whoever edits it by hand."""
    lines = [HEADER]
    if binding.device:
        lines.append(f"device = {_text(binding.device)}")
    if binding.match:
        lines.append(f"match = [{', '.join(map(_text, binding.match))}]")
    if binding.match_switches:
        lines.append("match_switches = true")
    if binding.judge:
        lines.append(f"judge = {_text(binding.judge)}")
    if binding.windows is not None:
        lines.append(f"double_tap_ms = {_ms(binding.windows.double_tap_s)}")
        lines.append(f"hold_ms = {_ms(binding.windows.hold_s)}")
    for row in binding.switches:
        lines += ["", "[[switch]]", f"name = {_text(row.name)}", f'kind = "{row.profile.kind}"']
        lines.append(f"debounce_ms = {_ms(row.profile.debounce_s)}")
        if row.profile.low is not None:
            lines += [f"low = {row.profile.low}", f"high = {row.profile.high}"]
        lines += [
            f'{key} = "{row.controls[kind]}"' for key, kind in _GESTURE_KEYS.items() if kind in row.controls
        ]
        if row.foot:
            lines.append(f"foot = {_text(row.foot)}")
    if binding.lights:
        lines += ["", "[lights]"]
        lines += [
            f"{row.moment} = {{ {row.kind} = {row.number}, channel = {row.channel}, "
            f"value = {row.value}, off = {row.off_value} }}"
            for row in binding.lights
        ]
    return "\n".join(lines) + "\n"


def parse_binding(text: str, path: str = "binding") -> DeviceBinding:
    """As read_binding, for a text; path is what errors call it."""
    try:
        found = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        at_line = re.search(r"at line (\d+)", str(error))
        line = int(at_line[1]) if at_line else text.count("\n") + 1
        raise InputError(
            f"{path}, line {line}: this is not TOML; write name = value, with quotes around words."
        ) from error
    return _FormReader(text, path).binding(found)


def _text(text: str) -> str:
    # A TOML basic string takes the escapes of a JSON one; DEL, which JSON leaves bare, needs one too.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _ms(seconds: float) -> str:
    return f"{round(seconds * 1000, 3):g}"


@dataclass(frozen=True, slots=True)
class _FormPlace:
    """Where in the text something stands: a table ("" for the top), which one of its name, a key."""

    table: str = ""
    index: int = 0
    key: str = ""


class _FormReader:
    """Turns what tomllib found into a binding, and every fault into a sentence with its line."""

    def __init__(self, text: str, path: str) -> None:
        self._lines = text.split("\n")
        self._path = path

    def binding(self, found: Mapping[str, Any]) -> DeviceBinding:
        self._known(found, _TOP, _FormPlace())
        device = self._take(found, "device", "", _is_text, "a name in quotes", _FormPlace())
        judge = self._take(found, "judge", "", (FOOT, KEY).__contains__, '"foot" or "key"', _FormPlace())
        match = self._take(found, "match", [], _is_texts, 'a list such as ["*pedal*"]', _FormPlace())
        everywhere = self._take(found, "match_switches", False, _is_bool, "true or false", _FormPlace())
        tables = self._take(found, "switch", [], _is_tables, "tables headed [[switch]]", _FormPlace())
        if not tables:
            self._fail(_FormPlace(), "there is no switch; add one, headed [[switch]], or delete the file")
        rows = tuple(self._row(table, index, device == KEYBOARD) for index, table in enumerate(tables))
        lights = self._take(found, "lights", {}, _is_table, "a table headed [lights]", _FormPlace())
        return DeviceBinding(
            device,
            rows,
            self._windows(found),
            tuple(self._light(device, moment, value) for moment, value in lights.items()),
            tuple(match),
            everywhere,
            judge,
        )

    def _windows(self, found: Mapping[str, Any]) -> GestureSettings | None:
        keys = ("double_tap_ms", "hold_ms")
        if not any(key in found for key in keys):
            return None
        usual = USUAL_PACE
        defaults = (usual.double_tap_s * 1000, usual.hold_s * 1000)
        values = [
            self._take(
                found, key, default, _between(*WINDOW_BOUNDS_MS), "a number from 100 to 3000", _FormPlace()
            )
            for key, default in zip(keys, defaults, strict=True)
        ]
        return GestureSettings(*(value / 1000 for value in values))

    def _row(self, table: Mapping[str, Any], index: int, is_key: bool) -> SwitchRow:
        place = _FormPlace("switch", index)
        self._known(table, _SWITCH, place)
        name = self._take(table, "name", None, _is_text, 'a name such as "controller 64 on channel 1"', place)
        if not name:
            self._fail(place, 'the switch has no name; add name = "controller 64 on channel 1"')
        kinds = _listed(SwitchKind)
        kind = self._take(table, "kind", SwitchKind.MOMENTARY, _is_one_of(SwitchKind), kinds, place)
        usual_s = KEY_PROFILE.debounce_s if is_key else WINDOW_S
        most_ms = LONGEST_WINDOW_S * 1000
        debounce_ms = self._take(
            table,
            "debounce_ms",
            usual_s * 1000,
            _between(0, most_ms),
            f"a number from 0 to {most_ms:g}",
            place,
        )
        whole = "a whole number from 0 to 127"
        low = self._take(table, "low", None, _is_value, whole, place)
        high = self._take(table, "high", None, _is_value, whole, place)
        controls = {
            gesture: Control(self._take(table, key, None, _is_control, _listed(Control), place))
            for key, gesture in _GESTURE_KEYS.items()
            if key in table
        }
        if controls == ONE_SWITCH_OF_BEFORE:
            controls[GestureKind.HOLD] = Control.PAUSE
        foot = self._take(table, "foot", "", _is_text, "a word in quotes", place)
        try:
            profile = SwitchProfile(SwitchKind(kind), debounce_ms / 1000, low, high)
        except ValueError as error:
            key = "low" if "low" in table else "high"
            self._fail(replace(place, key=key), f"{error}; mend or delete both lines")
        if GestureKind.HOLD in controls and not profile.offers_hold:
            self._fail(
                replace(place, key="hold"),
                f"a {kind} switch does not tell how long it is held; delete this line or use double_tap",
            )
        return SwitchRow(name, profile, controls, foot)

    def _light(self, device: str, moment: str, value: Any) -> LightRow:
        place = _FormPlace("lights", 0, moment)
        if moment not in set(Moment):
            self._fail(place, f"{moment!r} is no moment of a light; use {_listed(Moment)}")
        kinds = [kind for kind in MESSAGES if isinstance(value, dict) and kind in value]
        if len(kinds) != 1 or not set(value) <= {kinds[0], "channel", "value", "off"}:
            self._fail(place, "a light is written { note = 60, channel = 1, value = 127, off = 0 }")
        numbers = (value[kinds[0]], value.get("channel", 1), value.get("value", 127), value.get("off", 0))
        if not all(type(number) is int for number in numbers):
            self._fail(place, "the numbers of a light are whole ones; write them without quotes")
        number, channel, on, off = numbers
        try:
            return LightRow(device, Moment(moment), kinds[0], number, channel, on, off)
        except ValueError as error:
            self._fail(place, f"{error}; mend the number")

    def _take(
        self,
        table: Mapping[str, Any],
        key: str,
        default: Any,
        holds: Callable[[Any], bool],
        must_be: str,
        place: _FormPlace,
    ) -> Any:
        if key not in table:
            return default
        if not holds(table[key]):
            self._fail(replace(place, key=key), f"{key} must be {must_be}, not {_shown(table[key])}")
        return table[key]

    def _known(self, table: Mapping[str, Any], known: tuple[str, ...], place: _FormPlace) -> None:
        for key in table:
            if key not in known:
                self._fail(
                    replace(place, key=key), f"{key!r} means nothing here; use one of {', '.join(known)}"
                )

    def _fail(self, place: _FormPlace, words: str) -> NoReturn:
        raise InputError(f"{self._path}, line {self._line(place)}: {words}.")

    def _line(self, place: _FormPlace) -> int:
        """The line of a key in a table; of the table's heading when it is not found; else 1."""
        table, index, at = "", -1, 1
        for number, line in enumerate(self._lines, start=1):
            heading = re.match(r"\s*\[+\s*[\"']?([\w-]+)", line)
            if heading:
                index = index + 1 if heading[1] == table else 0
                table = heading[1]
                if place.key == table and not place.table:
                    return number
            here = table == place.table and (not table or index == place.index)
            if here and heading:
                at = number
            if here and place.key and re.match(rf"\s*[\"']?{re.escape(place.key)}[\"']?\s*[=.]", line):
                return number
        return at


ONE_SWITCH_OF_BEFORE = {
    GestureKind.TAP: Control.PASS_,
    GestureKind.DOUBLE: Control.FAIL,
    GestureKind.HOLD: Control.NEXT,
}
"""What one switch said in files of before; its hold is a stop now."""
_TOP = ("device", "match", "match_switches", "judge", "double_tap_ms", "hold_ms", "switch", "lights")
_SWITCH = ("name", "kind", "debounce_ms", "low", "high", *_GESTURE_KEYS, "foot")


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def _is_texts(value: Any) -> bool:
    return isinstance(value, list) and all(map(_is_text, value))


def _is_bool(value: Any) -> bool:
    return isinstance(value, bool)


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and all(map(_is_table, value))


def _is_value(value: Any) -> bool:
    return type(value) is int and 0 <= value <= 127


def _between(least: float, most: float) -> Callable[[Any], bool]:
    return lambda value: type(value) in (int, float) and least <= value <= most


def _is_one_of(words: Iterable[str]) -> Callable[[Any], bool]:
    known = {str(word) for word in words}
    return lambda value: isinstance(value, str) and value in known


def _is_control(value: Any) -> bool:
    with contextlib.suppress(ValueError):
        return isinstance(value, str) and Control(value) in Control
    return False


def _listed(words: Iterable[str]) -> str:
    quoted = [f'"{word}"' for word in words]
    return f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def _shown(value: Any) -> str:
    return json.dumps(value) if isinstance(value, bool | int | float | str) else f"a {type(value).__name__}"
