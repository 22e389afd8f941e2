"""What is asked once and remembered on this machine: `settings.toml`, beside the log.

The file is meant to be read and edited by hand: one `name = value` a line
(TOML 1.0). Saving changes only the lines whose value changed, so the player's
own comments and order stay. A setting that was never saved has its default.
"""

from __future__ import annotations

import contextlib
import json
import math
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.records.rows import ANSWERS_CHOSEN, parse_utc
from pedaltrainer.system.files import write_whole
from pedaltrainer.system.reading import is_missing, parse_toml, read_text
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM
from pedaltrainer.timing.sound_device import BUFFERS, FRAMES

FILE_NAME = "settings.toml"
BOXES = ("in-take", "between")
MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class Preferences:
    """The remembered settings.

    screen_inches: the screen's diagonal. distance_m: from the eye to the screen.
    cautions_seen_utc: when the cautions were last shown, "" for never.
    reaction_ms: how long the foot takes to answer what the ear heard.
    volume: of the click, from 0 (silent) to 1 (the loudest that cannot clip).
    answer_style: "ask", "count" or "speak-up". answer_sounds: a short sound for each answer.
    left_handed: chord boxes with the lowest string at the right.
    boxes: where the stage shows chord boxes: "in-take" too, or only "between" takes.
    tuning: the open strings, lowest first, such as "D A D G B E".
    made_private_utc: when files that others could read were made private, "" for never.
    sound_delay_ms: how late the sound reaches the ear, 0 for as the program reckons it.
    sound_delays: the same by the device's name, for those of which it is known.
    sound_device: a part of the name of the device that is played to, "" for the system's own.
    sound_buffer: samples that it is handed at once.
    player: who plays here, "" for who is logged in.
    first_tempo_bpm: where a drill that was never practised begins, 0 for as the program has it.
    clock_out: the MIDI output that a clock is sent to, "" for none, "virtual" for a port of our own.
    clock_offset_ms: how much later it is sent than is heard; below 0 earlier.
    ear: does a microphone listen: "off", "tells" or "answers"? ear_input: by what stands in its name.
    backing: the feel of bass and drums under the click, or "off". backing_level: how loud beside it, 0 to 1.
    backing_pad: are soft chords heard in it too?
    """

    screen_inches: float = 15.6
    distance_m: float = 2.0
    cautions_seen_utc: str = ""
    reaction_ms: float = 250.0
    volume: float = 0.4
    answer_style: str = "ask"
    answer_sounds: bool = True
    left_handed: bool = False
    boxes: str = "in-take"
    tuning: str = "E A D G B E"
    made_private_utc: str = ""
    sound_delay_ms: float = 0.0
    sound_delays: Mapping[str, float] = field(default_factory=dict)
    sound_device: str = ""
    sound_buffer: int = FRAMES
    player: str = ""
    first_tempo_bpm: float = 0.0
    ear: str = "off"
    ear_input: str = ""
    backing: str = "off"
    backing_level: float = 0.6
    backing_pad: bool = False
    clock_out: str = ""
    clock_offset_ms: float = 0.0


LONGEST_PORT = 200
EARS = ("off", "tells", "answers")
BACKINGS = ("off", "straight", "shuffle", "waltz", "compound")
"""What can be heard under the click."""


class _Rule(NamedTuple):
    holds: Callable[[Any], bool]
    must_be: str


def _between(low: float, high: float) -> _Rule:
    def holds(value: Any) -> bool:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        return number and math.isfinite(value) and low <= value <= high

    return _Rule(holds, f"a number from {low:g} to {high:g}")


def _is_utc_or_empty(value: Any) -> bool:
    if value == "":
        return True
    with contextlib.suppress(ValueError, TypeError):
        parse_utc(value)
        return True
    return False


def _is_tuning(value: Any) -> bool:
    if not isinstance(value, str):
        return False
    with contextlib.suppress(InputError):
        parse_tuning(value)
        return True
    return False


def _is_player(value: Any) -> bool:
    return isinstance(value, str) and value == value.strip() and value.isprintable()


def _is_first_tempo(value: Any) -> bool:
    return _between(SLOWEST_BPM, FASTEST_BPM).holds(value) or (value == 0 and value is not False)


def _is_port(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_PORT and (not value or value.isprintable())


def _are_delays(value: Any) -> bool:
    is_delay = _between(0, 1000).holds
    return isinstance(value, Mapping) and all(is_delay(one) and _is_port(name) for name, one in value.items())


def _is_buffer(value: Any) -> bool:
    return type(value) is int and value in BUFFERS


_A_TIME = _Rule(_is_utc_or_empty, 'a time such as "2026-03-01T18:05:09.250Z", or ""')
_YES_OR_NO = _Rule(lambda value: isinstance(value, bool), "true or false")

_RULES: Mapping[str, _Rule] = {
    "screen_inches": _between(3, 200),
    "distance_m": _between(0.2, 10),
    "cautions_seen_utc": _A_TIME,
    "made_private_utc": _A_TIME,
    "reaction_ms": _between(0, 2000),
    "volume": _between(0, 1),
    "answer_style": _Rule(ANSWERS_CHOSEN.__contains__, '"ask", "count" or "speak-up"'),
    "answer_sounds": _YES_OR_NO,
    "left_handed": _YES_OR_NO,
    "sound_delay_ms": _between(0, 1000),
    "sound_delays": _Rule(_are_delays, 'numbers from 0 to 1000 by name, such as { "Headphones" = 180 }'),
    "sound_device": _Rule(_is_port, 'a part of a sound device\'s name, or ""'),
    "sound_buffer": _Rule(_is_buffer, f"one of {', '.join(map(str, BUFFERS))}"),
    "player": _Rule(_is_player, 'a name, or ""'),
    "first_tempo_bpm": _Rule(_is_first_tempo, f"0, or a tempo from {SLOWEST_BPM} to {FASTEST_BPM}"),
    "ear": _Rule(EARS.__contains__, " or ".join(f'"{one}"' for one in EARS)),
    "ear_input": _Rule(lambda value: isinstance(value, str), 'a part of the name of an input, or ""'),
    "backing": _Rule(BACKINGS.__contains__, " or ".join(f'"{one}"' for one in BACKINGS)),
    "backing_level": _between(0, 1),
    "backing_pad": _YES_OR_NO,
    "clock_out": _Rule(_is_port, 'the name of a MIDI output, "virtual", or ""'),
    "clock_offset_ms": _between(-500, 500),
    "boxes": _Rule(BOXES.__contains__, '"in-take" or "between"'),
    "tuning": _Rule(_is_tuning, 'the notes of 4 to 8 open strings, lowest first, such as "D A D G B E"'),
}

_DEFAULTS: Mapping[str, Any] = {one.name: one.default for one in fields(Preferences)}

_ASSIGNMENT = re.compile(r"""\s*["']?(?P<name>[A-Za-z0-9_-]+)["']?\s*=""")


def load(folder: Path) -> Preferences:
    """The settings kept in `folder`; the defaults when there is no file.

    Raises InputError naming the file, the line and the mend when the file
    cannot be read, is not TOML, or holds an unknown name or an unfit value.
    """
    path = folder / FILE_NAME
    text = _read(path)
    return Preferences() if text is None else _parse(path, text)


def save(folder: Path, settings: Preferences) -> None:
    """Keep the settings in `folder`, which is made if needed: the old file or the new one, never half of one.

    Raises InputError when the file that is there was edited wrongly (it is
    left alone) or cannot be written; ValueError for a setting out of its range.
    """
    for name, rule in _RULES.items():
        if not rule.holds(getattr(settings, name)):
            raise ValueError(f"{name} must be {rule.must_be}, not {getattr(settings, name)!r}")
    path = folder / FILE_NAME
    before = _read(path)
    text = _rewritten(path, before, settings)
    if text == before:
        return
    write_whole(path, text)


def _read(path: Path) -> str | None:
    return None if is_missing(path) else read_text(path, MOST_BYTES)


def _parse(path: Path, text: str) -> Preferences:
    try:
        found = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        at_line = re.search(r"at line (\d+)", str(error))
        line = int(at_line[1]) if at_line else text.count("\n") + 1
        raise InputError(
            f"{path}, line {line}: this is not a line of the form name = value; mend it or delete it."
        ) from error
    for name, value in found.items():
        rule = _RULES.get(name)
        if rule is None:
            known = ", ".join(_RULES)
            line = _line_of(text, name)
            raise InputError(f"{path}, line {line}: {name!r} is no setting; delete it or use one of {known}.")
        if not rule.holds(value):
            raise InputError(
                f"{path}, line {_line_of(text, name)}: {name} must be {rule.must_be}, not {_shown(value)}."
            )
    # A hand-written 2 is as good as 2.0 for a setting that is a number with a fraction.
    values: dict[str, Any] = {
        name: float(value) if type(value) is int and type(_DEFAULTS[name]) is float else value
        for name, value in found.items()
    }
    return Preferences(**values)


def _shown(value: Any) -> str:
    return (
        _toml(value) if isinstance(value, bool | int | float | str) else f"{type(value).__name__} {value!r}"
    )


def _line_of(text: str, name: str) -> int:
    heading = re.compile(rf"""\s*\[*\s*["']?{re.escape(name)}\b""")
    lines = text.split("\n")
    return next((number for number, line in enumerate(lines, start=1) if heading.match(line)), 1)


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{_toml(name)} = {_toml(one)}' for name, one in value.items())}}}"
    if isinstance(value, bool):
        return str(value).lower()
    # A TOML basic string takes the escapes of a JSON one, and Python's repr of a float is a TOML float.
    return json.dumps(value) if isinstance(value, str) else repr(value)


def _rewritten(path: Path, before: str | None, settings: Preferences) -> str:
    """The file's new text: its lines, those whose value changed written anew, what was missing added."""
    wanted: dict[str, Any] = {one.name: getattr(settings, one.name) for one in fields(Preferences)}
    fresh = (
        "# What pedaltrainer remembers on this machine. One setting a line; delete a line for its default.\n"
    )
    if before is None:
        before = fresh
    kept = _parse(path, before)
    missing = dict(wanted)
    # Not splitlines(), which also ends lines where TOML does not.
    lines = before.replace("\r\n", "\n").removesuffix("\n").split("\n")
    for index, line in enumerate(lines):
        assignment = _ASSIGNMENT.match(line)
        if assignment is None or assignment["name"] not in missing:
            continue
        value = missing.pop(assignment["name"])
        if value != getattr(kept, assignment["name"]):
            lines[index] = f"{assignment['name']} = {_toml(value)}"
    text = _joined(lines, missing)
    # A value that its author spread over several lines is the one thing that cannot be mended line by line.
    with contextlib.suppress(tomllib.TOMLDecodeError):
        if parse_toml(text) == wanted:
            return text
    return _joined(fresh.splitlines(), wanted)


def _joined(lines: list[str], added: Mapping[str, Any]) -> str:
    return "\n".join([*lines, *(f"{name} = {_toml(value)}" for name, value in added.items())]) + "\n"
