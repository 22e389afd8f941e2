"""A chart's sections as they are written, and in the order in which they are played. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from itertools import groupby

from pedaltrainer.songs.bar_lines import TIMES, UnreadableError, times_of
from pedaltrainer.songs.jumps import JUMPS, SIGN_WORDS, Sign, followed, unused
from pedaltrainer.songs.song import Bar, Mark, Section

_INITIALS = {
    "i": "intro",
    "v": "verse",
    "c": "chorus",
    "b": "bridge",
    "o": "outro",
    "s": "solo",
    "p": "pre-chorus",
}
"""Letters that a form may have for sections (common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class WrittenPart:
    """A section: its written bars, in which order they are played with its repeats, which of them stand in
    endings but the last, how often all of it is played, and the signs at its bars."""

    name: str
    bars: tuple[Bar, ...]
    order: tuple[int, ...]
    passed_over: frozenset[int] = frozenset()
    times: int = 1
    signs: Mapping[int, Set[Sign]] = field(default_factory=dict)

    @property
    def section(self) -> Section:
        return Section(self.name, tuple(self.bars[bar] for bar in self.order), self.times)


def played(parts: Sequence[WrittenPart], form: str, told: Callable[[str], None]) -> tuple[Section, ...]:
    """The sections as they are played: in the order of the form, if there is one, with the jump followed.

    Raises UnreadableError for a form that names a section which is not there.
    """
    if form:
        parts = _in_form(parts, form, told)
        if not parts:
            raise UnreadableError("the form names no section; write their names, or delete it")
        slots = (slot for part in parts for bar in part.section.bars for slot in bar.slots)
        first = next((slot for slot in slots if slot.chord or slot.mark in (Mark.STRUCK, Mark.HELD)), None)
        if first is not None and first.chord is None:
            raise UnreadableError(
                f"the form begins with “{first.mark}” before any chord; write the chord there"
            )
    if not any(signs & JUMPS for part in parts for signs in map(set, part.signs.values())):
        for number, part in enumerate(parts):
            for bar, sign in unused(part.signs, set()):
                what = f"The {SIGN_WORDS[sign]} of {_place(parts, (number, bar))}"
                told(f"{what} is passed over, for there is no D.C. or D.S.")
        return tuple(part.section for part in parts)
    return _jumped(parts, told)


def _in_form(parts: Sequence[WrittenPart], form: str, told: Callable[[str], None]) -> list[WrittenPart]:
    named = {part.name: part for part in reversed(parts) if part.name}
    folded = {part.name.casefold(): named[part.name] for part in parts if part.name}
    longest_first = sorted(named, key=len, reverse=True)
    names = "|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in longest_first) or "(?!)"
    found: list[WrittenPart] = []
    coming = 1
    for word in re.finditer(f"(?P<name>{names})|{_IN_FORM}", form):
        if word["name"]:
            some = [named[word["name"]]]
        elif word["each"]:
            coming = int(word["each"])
            continue
        elif (times := times_of(word[0])) is not None and found:
            found[-1] = replace(found[-1], times=times)
            continue
        else:
            had = {part.name.casefold() for part in found}
            some = [folded[name] for name in _names_in(word[0], folded, had)]
        found += [replace(part, times=coming) for part in some]
        coming = 1
    music = {(part.name, part.bars) for part in found}
    for part in parts:
        if (part.name, part.bars) not in music:
            what = f"[{part.name}]" if part.name else "What has no name"
            told(f"{what} is not in the form, and is not played.")
        elif part.times > 1:
            told(f"The form says how often [{part.name}] is played: its x{part.times} is passed over.")
    return found


_IN_FORM = rf"(?:{TIMES})(?!\w)|(?P<each>[1-9])\s?(?:[x×]\s?)?(?=[^\W\d_])|[^\s,>→–-]+"


def _names_in(word: str, named: Mapping[str, WrittenPart], had: Set[str]) -> list[str]:
    """The sections that a word of a form names: by a name, its beginning, or letters in a row. Of Verse 1 and
    Verse 2 a "Verse" is the next that the form has not had."""
    wanted = word.casefold()
    for one in (wanted, _INITIALS.get(wanted, wanted)):
        if one in named:
            return [one]
        near = [name for name in named if name.startswith(one)]
        if len(near) == 1 or (
            near and all(name.partition(" ")[0] == near[0].partition(" ")[0] for name in near)
        ):
            return [next((name for name in near if name not in had), near[0])]
    if len(wanted) > 1 and all(letter in named for letter in wanted):
        return list(wanted)
    names = ", ".join(part.name for part in named.values()) or "none with a name"
    raise UnreadableError(f"the form names “{word}”, and the sections are {names}; use their names")


def _jumped(parts: Sequence[WrittenPart], told: Callable[[str], None]) -> tuple[Section, ...]:
    """All bars in a row, with the jump followed, and parted into sections again."""
    starts, order, signs, passed_over = [0], [], dict[int, set[Sign]](), set[int]()
    named: set[tuple[int, Sign]] = set()
    for part in parts:
        start = starts[-1]
        order += [start + bar for _ in range(part.times) for bar in part.order]
        signs |= {start + bar: set(those) for bar, those in part.signs.items()}
        for sign in (Sign.CODA, Sign.SEGNO):
            if part.name.casefold().startswith(sign):
                signs.setdefault(start, set()).add(sign)
                named.add((start, sign))
        passed_over |= {start + bar for bar in part.passed_over}
        starts.append(start + len(part.bars))
    places = [(index, bar) for index, part in enumerate(parts) for bar in range(len(part.bars))]
    sections = []
    _refuse_jumps_to_nowhere(set().union(*signs.values()))
    as_played, used = followed(order, starts[-1], signs, passed_over)
    for bar, sign in unused(signs, used):
        if (bar, sign) not in named:
            told(f"The {SIGN_WORDS[sign]} of {_place(parts, places[bar])} is passed over.")
    never = [bar for bar in range(starts[-1]) if bar not in set(as_played)]
    if never:
        some = "1 bar is" if len(never) == 1 else f"{len(never)} bars are"
        told(f"{some} never played: from {_place(parts, places[never[0]])} on.")
    for _, run in groupby(as_played, lambda bar: places[bar][0]):
        where = [places[bar] for bar in run]
        part = parts[where[0][0]]
        whole = part.section.bars
        bars = tuple(part.bars[bar] for _, bar in where)
        times = len(bars) // len(whole)
        if times > 1 and bars == whole * times:
            bars, count = whole, times
        else:
            count = 1
        sections.append(Section(part.name, bars, count))
    return tuple(sections)


def _place(parts: Sequence[WrittenPart], place: tuple[int, int]) -> str:
    """A written bar, in words."""
    name = parts[place[0]].name
    return f"bar {place[1] + 1}{f' of [{name}]' if name else ''}"


def _refuse_jumps_to_nowhere(there: Set[Sign]) -> None:
    if Sign.AL_FINE in there and Sign.FINE not in there:
        raise UnreadableError("al Fine needs a Fine; write it behind the bar that is the last")
    if Sign.AL_CODA in there and Sign.TO_CODA not in there:
        raise UnreadableError("al Coda needs a To Coda; write it behind the bar that leads there")
    if Sign.DAL_SEGNO in there and Sign.SEGNO not in there:
        raise UnreadableError("D.S. goes back to a Segno, and there is none; write Segno at its bar")
    if Sign.TO_CODA in there and Sign.CODA not in there:
        raise UnreadableError("To Coda needs a Coda; write Coda at its bar, or [Coda] above it")
