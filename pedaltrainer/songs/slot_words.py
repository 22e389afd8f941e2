"""The words of a bar as players spell them, made those that a bar is read from; and chords pushed. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import gcd, lcm

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.songs.bar_lines import GAPPED, UnreadableError, is_no_chord
from pedaltrainer.songs.degrees import chord_at, looks_like_degree
from pedaltrainer.songs.song import NO_CHORD, Bar, Mark, Slot

_AND_BEATS = re.compile(r"(?P<chord>[^/].*?)?(?P<beats>/+)|(?P<held>[A-G].*?)(?P<marks>-{2,}|\.{2,})")
_PUSHED = re.compile(r">(?P<before>[^<>]+)|(?P<after>[^<>]+)<")
_WRAPPED = re.compile(r"\[([^\[\]]+)\]")
_OF_ANOTHER_KEY = re.compile(r"(?i:[b#]?[iv]+7?/[b#]?[iv]+)")
_METRE = re.compile(r"\d{1,2}/(?:2|4|8|16)")
_LENGTH = re.compile(r"(?P<chord>.+)(?P<length>:\d{1,2}(?:/\d{1,2})?)")
EIGHTH = Fraction(1, 8)


@dataclass(slots=True)
class SlotSpelling:
    """What holds from bar to bar. key: of the degrees; told: how words were taken, a sentence each."""

    key: str = ""
    last: str = ""
    """The chord that sounds."""
    has_degrees: bool = False
    told: list[str] = field(default_factory=list)

    def bar(self, words: Sequence[str]) -> tuple[list[str], frozenset[int]]:
        """The words to read the bar from, and which of them are pushed."""
        spelt: list[str] = []
        pushes: set[int] = set()
        for word in self._unwrapped([part for written in words for part in _parted(written)]):
            if push := _PUSHED.fullmatch(word):
                word = push["before"] or push["after"]
                pushes.add(len(spelt))
            if gapped := GAPPED.fullmatch(word):
                word = gapped["chord"]
            beats = _AND_BEATS.fullmatch(word)
            one = self._one(word if beats is None else beats["chord"] or beats["held"] or "")
            if gapped:
                one = f"{one}({gapped['gap']})"
            spelt += [*((one,) if one else ()), *((beats["beats"] or beats["marks"]) if beats else ())]
        return spelt, frozenset(pushes)

    def _unwrapped(self, words: Sequence[str]) -> Sequence[str]:
        """Chords in square brackets without them, where all of a bar are."""
        inside = [_WRAPPED.fullmatch(word) for word in words]
        if not any(inside):
            return words
        if not all(found and _is_chord(found[1]) for found in inside):
            raise UnreadableError(
                f"“{next(found[0] for found in inside if found)}” stands between bar lines; "
                "begin a section on a line of its own"
            )
        return [self._said(found[1], found[0]) for found in inside if found]

    def _one(self, word: str) -> str:
        if not word or word in set(Mark) or set(word) == {"%"}:
            return word
        length = _LENGTH.fullmatch(word)
        plain, tail = (length["chord"], length["length"]) if length else (word, "")
        plain = plain.rstrip(",;")
        if is_no_chord(plain):
            return NO_CHORD + tail
        chord = self._chord(plain)
        self.last = chord if _is_chord(chord) else self.last
        return chord + tail

    def _chord(self, word: str) -> str:
        if word.startswith("/") and len(word) > 1 and self.last:
            root = str(replace(parse_chosen(self.last).symbol, bass=None))
            return self._said(f"{root}{word[0]}{word[1].upper()}{word[2:]}", word)
        if looks_like_degree(word) and not _is_chord(word):
            if not self.key and _METRE.fullmatch(word):
                raise UnreadableError(
                    f"“{word}” stands in a bar; write a metre on a line of its own, as in metre: 2/4"
                )
            if not self.key:
                raise UnreadableError(
                    f"“{word}” is no chord; were it a place in the key, write the key above, as in key: D"
                )
            self.has_degrees = True
            return self._said(chord_at(word, self.key) or word, word, quietly=not _METRE.fullmatch(word))
        if _OF_ANOTHER_KEY.fullmatch(word):
            raise UnreadableError(
                f"“{word}” is a chord of another key; write its place in this one, such as 2 for V/V, or its "
                "name"
            )
        if word.strip("(").lower() == "repeat":
            raise UnreadableError(
                f"“{word}” does not say how often in all; write x3 behind the line for three times"
            )
        capital = re.sub(r"(?:^|(?<=/))[a-g](?!dd)", lambda letter: letter[0].upper(), word)
        for other in (word, capital, word.strip("()*")):
            if _is_chord(other) and not _AND_BEATS.fullmatch(other):
                return self._said(other, word)
        if word[:1] in "Hh" and _is_chord(f"B{word[1:]}"):
            raise UnreadableError(
                f"“{word}” is no chord here; write B for the note below C, and Bb below that"
            )
        return word

    def _said(self, chord: str, word: str, quietly: bool = False) -> str:
        if chord != word and not quietly:
            self.told.append(f"“{word}” is read as {chord}.")
        return chord


def _parted(word: str) -> list[str]:
    """The chords of "C,G"; any other word as it is."""
    parts = word.rstrip(",;").split(",")
    return parts if len(parts) > 1 and not _is_chord(word) and all(map(_is_chord, parts)) else [word]


def _is_chord(word: str) -> bool:
    try:
        parse_chosen(word)
    except InputError:
        return False
    return True


def pushed(before: Bar | None, bar: Bar, pushes: frozenset[int]) -> tuple[Bar | None, Bar]:
    """Two bars with some chords of the second, by the number of their slot, an eighth early.

    A chord that is pushed rings on where it would have been struck. Raises UnreadableError for a push before
    the first bar and for one that leaves the chord before it no time.
    """
    early = EIGHTH / bar.beat_unit
    here = {slot.beat: slot for slot in bar.slots}
    ends = [*(slot.beat for slot in bar.slots[1:]), Fraction(bar.beats)]
    for number in sorted(pushes):
        slot, end = bar.slots[number], ends[number]
        here[slot.beat] = Slot(slot.beat, mark=Mark.HELD)
        if slot.beat + early < end:
            here.setdefault(slot.beat + early, Slot(slot.beat + early, mark=Mark.STRUCK))
        if slot.beat:
            _land(here, replace(slot, beat=slot.beat - early))
        elif before is None:
            raise UnreadableError(
                "a chord cannot be pushed before the first bar; write the bar that it is in"
            )
        else:
            there = {one.beat: one for one in before.slots}
            _land(there, replace(slot, beat=before.beats - EIGHTH / before.beat_unit))
            before = replace(before, slots=_even(there, before.beats))
    return before, replace(bar, slots=_even(here, bar.beats))


def _land(slots: dict[Fraction, Slot], chord: Slot) -> None:
    if chord.beat < 0 or (chord.beat in slots and slots[chord.beat].chord is not None):
        raise UnreadableError(
            f"the push of {chord.chord} leaves the chord before it no time; write it on its beat"
        )
    slots[chord.beat] = chord


def _even(slots: Mapping[Fraction, Slot], beats: int) -> tuple[Slot, ...]:
    """The same on an even division of the bar: what was struck on is struck on every place of it."""
    step = Fraction(1, lcm(*(beat.denominator for beat in slots)))
    step *= gcd(beats * step.denominator, *(int(beat / step) for beat in slots))
    found: list[Slot] = []
    mark = Mark.STRUCK
    for place in range(int(beats / step)):
        slot = slots.get(place * step) or Slot(place * step, mark=mark)
        if slot.chord is not None:
            mark = Mark.FREE if slot.chord == NO_CHORD else Mark.STRUCK
        elif slot.mark is not None:
            mark = slot.mark
        found.append(slot)
    return tuple(found)
