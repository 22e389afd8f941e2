"""Kinds of drill of one's own: rows as in `practice.kinds`, from a TOML file or a session's settings. Pure.

    [roll]
    chords = [1, 2]
    example = "C G"
    what = "rolled from the lowest string to the highest"
    miss = "a string that is late or silent"
    stages = [
        { word = "land", says = "{chord}: land" },
        { word = "roll", says = "{chord}: roll it" },
    ]

Its name is the word that is typed and stands in the log: `play "roll C G"`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from fractions import Fraction
from pathlib import Path
from string import Formatter
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.packs.fields import YES_OR_NO, FieldRule, TableReader, tables_in, text_of, whole_of
from pedaltrainer.packs.places import Places
from pedaltrainer.practice.drill import OWN_NAME, PICKS, RESERVED, parse_drill
from pedaltrainer.practice.kinds import MOST_IN_TURN, HandStage, KindRow
from pedaltrainer.system.reading import is_missing, read_text
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM

FILE_NAME = "drills.toml"
MOST_BYTES = 1_000_000
MOST_STAGES = 16
SPOKEN_OF = ("chord", "next", "height", "finger", "step")
"""What a stage's sentence may name in braces."""
_WORD = re.compile(r"[a-z]\S{0,11}")
_EARLY = {"1/2": Fraction(1, 2), "1/4": Fraction(1, 4), "3/4": Fraction(3, 4)}

Kinds = Mapping[str, KindRow]


def _is_chords(value: Any) -> bool:
    if not isinstance(value, list) or len(value) != 2 or not all(type(one) is int for one in value):
        return False
    return bool(1 <= value[0] <= value[1] <= MOST_IN_TURN)


def _is_stage(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and set(value) == {"word", "says"}
        and all(
            isinstance(one, str) and "\n" not in one and len(one) <= LONGEST_SENTENCE
            for one in value.values()
        )
        and bool(_WORD.fullmatch(value["word"]))
        and _speaks_of_what_is_there(value["says"])
    )


LONGEST_SENTENCE = 50
"""Letters: a longer one cannot be read from where the player sits."""


def _speaks_of_what_is_there(sentence: str) -> bool:
    try:
        parts = list(Formatter().parse(sentence))
    except ValueError:
        return False
    return all(
        name is None or (name in SPOKEN_OF and not form and not turned) for _, name, form, turned in parts
    )


def _texts(most: int, longest: int) -> FieldRule:
    def holds(value: Any) -> bool:
        fits = isinstance(value, list) and 2 <= len(value) <= most
        return fits and all(isinstance(one, str) and len(one) <= longest and "\n" not in one for one in value)

    return FieldRule(holds, f"a list of 2 to {most} texts of {longest} characters at most")


_ROW: Mapping[str, FieldRule] = {
    "chords": FieldRule(
        _is_chords, f"the fewest and the most chords, such as [1, 2], {MOST_IN_TURN} at most"
    ),
    "example": text_of(80),
    "what": text_of(300),
    "miss": text_of(120),
    "stages": FieldRule(
        lambda value: (
            isinstance(value, list) and 1 <= len(value) <= MOST_STAGES and all(map(_is_stage, value))
        ),
        f'a list of 1 to {MOST_STAGES} such as {{ word = "land", says = "{{chord}}: land" }}: a word of 12 '
        f"letters at most, a small one first, and a sentence of {LONGEST_SENTENCE}, in braces nothing but "
        + ", ".join(SPOKEN_OF),
    ),
    "beats": whole_of(1, 16),
    "early": FieldRule(lambda value: value in _EARLY, f"one of {', '.join(_EARLY)} in quotation marks"),
    "rounds": YES_OR_NO,
    "gaps": YES_OR_NO,
    "slow_bpm": whole_of(SLOWEST_BPM, FASTEST_BPM),
    "drawn_anew": YES_OR_NO,
    "steps": _texts(24, 22),
    "landings": whole_of(1, 16),
    "by_string": YES_OR_NO,
    "picks": FieldRule(
        lambda value: isinstance(value, str) and bool(PICKS.fullmatch(value)),
        "an order of strings such as b321: 1 the highest, b the bass of the chord",
    ),
    "smaller": YES_OR_NO,
}
_NEEDED = {
    "chords": "chords = [1, 2], the fewest and the most",
    "example": 'example = "C G"',
    "what": 'what = "rolled from the lowest string to the highest"',
}
_EXCLUDE = (
    ("stages", "beats"),
    ("stages", "picks"),
    ("stages", "by_string"),
    ("picks", "by_string"),
    ("picks", "beats"),
)
"""Each says what happens in the beats of a landing, and how many there are."""


@dataclass(slots=True)
class _Reader(TableReader):
    def kinds(self, found: Mapping[str, Any]) -> dict[str, KindRow]:
        rows = {}
        for name, table in found.items():
            line = self.places.line(name)
            if not OWN_NAME.fullmatch(name) or name in RESERVED:
                self.say(
                    line,
                    f"“{name[:40]}” cannot be the name of a kind of drill; write a word of 2 to 20 "
                    "small letters that is no kind already (pedaltrainer drills lists them)",
                )
            elif not isinstance(table, dict):
                self.say(line, f"{name} must be a table; write its entries below [{name}]")
            elif (row := self._row(name, table)) is not None:
                rows[name] = row
        return rows

    def _row(self, name: str, table: Mapping[str, Any]) -> KindRow | None:
        told = len(self.troubles)
        values = self.checked(table, _ROW, (name,))
        for needed, such_as in _NEEDED.items():
            if needed not in table:
                self.say(self.places.line(name), f"{name} needs {needed}, such as {such_as}")
        for one, other in _EXCLUDE:
            if values.get(one) and values.get(other):
                self.say(
                    self.places.line(name, other), f"{other} and {one} cannot go together; leave one out"
                )
        if values.get("by_string") and values.get("chords") != [1, 1]:
            self.say(
                self.places.line(name, "chords"),
                "one chord alone is played string by string: chords = [1, 1]",
            )
        if len(self.troubles) > told:
            return None
        row = row_of(name, values)
        try:
            parse_drill(f"{name} {row.example}", own={name: row})
        except InputError as trouble:
            self.say(self.places.line(name, "example"), f"the example is no such drill: {trouble}")
            return None
        return row


def row_of(name: str, values: Mapping[str, Any]) -> KindRow:
    """The row of checked entries; its chords keep the order in which they are typed."""
    made = dict(values)
    made["chords"] = tuple(values["chords"])
    if "stages" in values:
        made["stages"] = tuple(HandStage(one["word"], one["says"]) for one in values["stages"])
    if "steps" in values:
        made["steps"] = tuple(values["steps"])
    if "early" in values:
        made["early"] = _EARLY[values["early"]]
    if made.get("by_string"):
        made.setdefault("beats", 8)
    return KindRow(**{"title": name.replace("-", " "), "in_order": True, **made})


def read_kinds(text: str, name: str) -> dict[str, KindRow]:
    """The kinds in a file. name: what to call it in a message.

    Raises InputError for the first trouble in it, naming the file, the line and the mend.
    """
    reader = _Reader(name, Places(text))
    rows = reader.kinds(tables_in(text, name))
    if reader.troubles:
        raise InputError(reader.troubles[0])
    return rows


def own_kinds(folder: Path) -> dict[str, KindRow]:
    """The kinds of the player whose folder this is, if any. Raises InputError for a file that is broken."""
    path = folder / FILE_NAME
    return {} if is_missing(path) else read_kinds(read_text(path, MOST_BYTES), str(path))


# --- in a session's settings ------------------------------------------------------------------


def kind_to_plain(row: KindRow) -> dict[str, Any]:
    """A row of one's own as plain data, as the file has it."""
    usual = {one.name: one.default for one in fields(KindRow)}
    plain = {key: value for key, value in asdict(row).items() if value != usual[key]}
    plain |= {"chords": list(row.chords)}
    if row.stages:
        plain["stages"] = [stage._asdict() for stage in row.stages]
    if row.early:
        plain["early"] = str(row.early)
    return {key: list(value) if key == "steps" else value for key, value in plain.items() if key in _ROW}


def kind_from_plain(name: str, plain: Any) -> KindRow:
    """The row again. Raises ValueError for what is none."""
    reader = _Reader(name, Places(""))
    rows = reader.kinds({name: plain})
    if reader.troubles:
        raise ValueError(reader.troubles[0])
    return rows[name]
