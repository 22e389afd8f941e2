"""Tables in TOML written by hand: each entry checked by a rule, each trouble told with its line. Pure."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.packs.places import Places
from pedaltrainer.system.reading import parse_toml

LONGEST_LINE = 120
"""Characters."""


class FieldRule(NamedTuple):
    holds: Callable[[Any], bool]
    must_be: str


def text_of(longest: int, lines: bool = False) -> FieldRule:
    def holds(value: Any) -> bool:
        return isinstance(value, str) and len(value) <= longest and (lines or "\n" not in value)

    return FieldRule(holds, f"a text of {longest:,} characters at most" + ("" if lines else " on one line"))


def number_of(low: float, high: float) -> FieldRule:
    def holds(value: Any) -> bool:
        return isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high

    return FieldRule(holds, f"a number from {low:g} to {high:g}")


def whole_of(low: int, high: int) -> FieldRule:
    return FieldRule(
        lambda value: type(value) is int and low <= value <= high, f"a whole number from {low} to {high}"
    )


YES_OR_NO = FieldRule(lambda value: isinstance(value, bool), "true or false")


def tables_in(text: str, name: str) -> dict[str, Any]:
    """What a file of TOML says. Raises InputError, naming the line, for what is no TOML."""
    try:
        return parse_toml(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"at line (\d+)", str(error))
        line = int(at[1]) if at else text.count("\n") + 1
        mend = "this is not TOML; mend quotation marks and brackets there"
        raise InputError(f"{name}, line {line}: {mend}.") from None


@dataclass(slots=True)
class TableReader:
    """Reads the tables of one file, and collects every trouble in it."""

    name: str
    places: Places
    troubles: list[str] = field(default_factory=list)

    def say(self, line: int, what: str) -> None:
        self.troubles.append(f"{self.name}, line {line}: {what.rstrip('.')}.")

    def checked(
        self, found: Mapping[str, Any], rules: Mapping[str, FieldRule], where: tuple[str | int, ...]
    ) -> dict[str, Any]:
        """The entries of a table that are as they must be; of the others it is told."""
        good = {}
        for key, value in found.items():
            rule, line = rules.get(key), self.places.line(*where, key)
            if rule is None:
                self.say(line, f"“{key[:LONGEST_LINE]}” is not known here; use one of {', '.join(rules)}")
            elif not rule.holds(value):
                self.say(line, f"{key} must be {rule.must_be}")
            else:
                good[key] = value
        return good
