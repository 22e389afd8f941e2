"""On which line of a TOML file something stands: what the standard library's reader does not tell. Pure."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass, field

from pedaltrainer.system.reading import parse_toml

_HEADING = re.compile(r"\s*(?P<open>\[\[?)(?P<name>[^\[\]\n]+)\]")
_KEY = re.compile(r"""\s*(?P<name>[A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*=\s*(?P<value>.*)""")
_DELIMITERS = ('"""', "'''")

Path = tuple[str | int, ...]


@dataclass(slots=True)
class Places:
    """Lines by path: ("drill", 0, "words") is the words of the first [[drill]].

    Made for tables and keys a line each, as people write them; what stands otherwise is found at the
    nearest thing around it.
    """

    text: str
    _lines: dict[Path, int] = field(init=False, default_factory=dict)
    _texts: dict[Path, int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        table: Path = ()
        counts: dict[Path, int] = {}
        until = ""
        for number, line in enumerate(self.text.replace("\r\n", "\n").split("\n"), start=1):
            if until:
                until = "" if until in line else until
            elif heading := _HEADING.match(line):
                table = _path(heading["name"])
                if heading["open"] == "[[":
                    counts[table] = counts.get(table, -1) + 1
                    table = (*table, counts[table])
                self._lines.setdefault(table, number)
            elif key := _KEY.match(line):
                path = (*table, *_path(key["name"]))
                self._lines.setdefault(path, number)
                until = next((mark for mark in _DELIMITERS if key["value"].startswith(mark)), "")
                rest = key["value"][len(until) :]
                self._texts.setdefault(path, number + (bool(until) and not rest.strip()))
                until = "" if until in rest else until

    def line(self, *path: str | int) -> int:
        """The line, from 1, of a table or a key; of what it is in, where it cannot be told."""
        while path and path not in self._lines:
            path = path[:-1]
        return self._lines.get(path, 1)

    def first_line_of_text(self, *path: str | int) -> int:
        """The line on which the first character of a string is."""
        return self._texts.get(path, self.line(*path))


def _path(name: str) -> Path:
    """The parts of a dotted name: shapes."F#m"."""
    try:
        found = parse_toml(f"{name} = 0")
    except tomllib.TOMLDecodeError:
        return (json.dumps(name),)
    path: list[str | int] = []
    inside: object = found
    while isinstance(inside, dict):
        key, inside = next(iter(inside.items()))
        path.append(key)
    return tuple(path)
