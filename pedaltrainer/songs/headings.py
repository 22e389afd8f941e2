"""How a section of a chart is begun, and how it is said how often something is played. Pure."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import NamedTuple

from pedaltrainer.songs.bar_lines import TIMES, times_of

_USUAL = re.compile(
    r"(?:(?:pre|post)[ -]?chorus|intro|chorus|bridge|outro|solo|interlude|refrain|instrumental|hook|break|"
    r"ending|tag|vamp|turnaround|riff|theme|head|middle (?:8|eight))(?: \d{1,2})?|"
    r"verse(?: \d{1,2}| [IV]{1,3}(?!\w))?|[A-H] (?:part|section)(?!\w)|"
    r"(?:part|section) (?:\d{1,2}|[A-H]|[IV]{1,3})(?!\w)",
    re.IGNORECASE,
)
"""What sections are called (common practice, no published source)."""
_WITH_REST = re.compile(
    rf"(?P<heading>(?:{_USUAL.pattern})(?:\s+{TIMES})?)\s*(?P<rest>(?:(?<=\s)\S|\|).*)", re.IGNORECASE
)
_AGAIN = re.compile(r"(?:repeat|play)\s+(?:the\s+)?(?P<name>.+?)(?:\s+again)?", re.IGNORECASE)
_AND_TIMES = re.compile(rf"(?P<name>.*?\S)[\s,:–—-]*(?:{TIMES})\s*", re.IGNORECASE)
_LONGEST = 200
"""Characters of a line that may be a name."""
_TRIMMED = " =*_~.:–—-"
_PAIRS = {"(": ")", "<": ">", "{": "}"}


class Heading(NamedTuple):
    """A section's name, how often it is played, and whether it is only played again: what follows is no
    part of it."""

    name: str
    times: int = 1
    again: bool = False


def name_and_times(text: str) -> tuple[str, int | None]:
    """ "Chorus 2x" as "Chorus" and 2; None where it is not said how often."""
    found = _AND_TIMES.fullmatch(text) if len(text) <= _LONGEST else None
    if found is None:
        return text.strip(), None
    return found["name"].strip(), int(found["x_times"] or found["times_x"])


def bare_heading(line: str, known: Collection[str]) -> Heading | None:
    """A line that is a section's name without square brackets: "Verse 1", "Chorus (x2)", "<Verse>", "(Repeat
    Chorus)". A name that is not a usual one has to be known and to have something with it."""
    if len(line) > _LONGEST:
        return None
    name, times = name_and_times(line.strip(_TRIMMED))
    is_wrapped = name[:1] in _PAIRS and name.endswith(_PAIRS[name[0]])
    if is_wrapped:
        name, inside = name_and_times(name[1:-1])
        times = times if inside is None else inside
    again = _AGAIN.fullmatch(name)
    name = " ".join((again["name"] if again else name).split())
    has_more = bool(again) or is_wrapped or times is not None
    is_known = has_more and name.casefold() in {one.casefold() for one in known}
    if not is_known and _USUAL.fullmatch(name) is None:
        return None
    return Heading(name, 1 if times is None else times, bool(again))


def letter(line: str) -> Heading | None:
    """A letter on a line of its own, "A", "(B)", "C) x2": a section's name where there are bar lines, and
    else a chord."""
    name, times = name_and_times(line)
    found = re.fullmatch(r"\(?([A-H]'?)[.)]?", name)
    return Heading(found[1], 1 if times is None else times) if found else None


def has_usual_name(line: str) -> bool:
    """Is one of the usual names among its words?"""
    return any(_USUAL.fullmatch(word) for word in re.findall(r"\w+", line))


def heading_and_rest(line: str) -> tuple[str, str] | None:
    """A usual name and what stands behind it, as in "Intro G D" and "Chorus x2 | G | D |"."""
    found = _WITH_REST.fullmatch(line)
    return (found["heading"].rstrip(), found["rest"]) if found else None


def times_on_a_line(line: str) -> int | None:
    """How often a line that has nothing else says that something is played: "x2", "(2 times)", "repeat"."""
    return 2 if line.strip("()").lower() in {"repeat", "twice"} else times_of(line)
