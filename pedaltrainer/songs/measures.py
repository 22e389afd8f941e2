"""From the elements of a MusicXML part to its measures: lengths, chords, tempos, signs. Pure.

Positions and lengths are in quarters, whatever the file's divisions.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple
from xml.etree.ElementTree import Element

from pedaltrainer.errors import InputError
from pedaltrainer.songs.bar_lines import is_no_chord, signs_in
from pedaltrainer.songs.harmony import chord_symbol
from pedaltrainer.songs.heads import short, unmarked
from pedaltrainer.songs.jumps import Sign
from pedaltrainer.songs.loose_lines import looks_like_times
from pedaltrainer.songs.metre import FOUR_FOUR, MOST_BEATS, UNITS, Metre, usual_metre
from pedaltrainer.songs.play_order import Signs
from pedaltrainer.songs.song import NO_CHORD

QUARTER = Fraction(1, 4)
_NUMBER = re.compile(r"\s*([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)\s*")
_SOME_NUMBER = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,6})?")
_BEAT_UNITS = {
    "whole": Fraction(1),
    "half": Fraction(1, 2),
    "quarter": Fraction(1, 4),
    "eighth": Fraction(1, 8),
    "16th": Fraction(1, 16),
    "32nd": Fraction(1, 32),
}


class RawMeasure(NamedTuple):
    """One measure of one part as the file has it: its `measure` element, and the one with the music."""

    measure: Element
    content: Element


@dataclass(slots=True)
class Measure:
    """One measure. tempos: quarters a minute, from a position on. again: how many measures before is the one
    that it repeats, 0 for none. jumps: the signs at it: D.C., D.S., Fine, Coda, Segno; names: what some of
    them are called, for a D.S. goes to the segno of its name; begins_with_coda: a coda sign stands at its
    very beginning. key: that begins there, "" for none; capo: its fret. told: how what is written was taken
    where that may not be plain, a sentence each."""

    number: str
    metre: Metre
    is_pickup: bool
    length: Fraction = Fraction(0)
    chords: dict[Fraction, str] = field(default_factory=dict)
    tempos: dict[Fraction, float] = field(default_factory=dict)
    rehearsal: str = ""
    signs: Signs = field(default_factory=Signs)
    again: int = 0
    jumps: set[Sign] = field(default_factory=set)
    names: dict[Sign, str] = field(default_factory=dict)
    begins_with_coda: bool = False
    key: str = ""
    capo: int = 0
    told: list[str] = field(default_factory=list)

    def tell(self, sentence: str) -> None:
        self.told.append(f"Measure {self.number}: {sentence}")


def parts_of(root: Element) -> dict[str, list[RawMeasure]]:
    """The parts of a score by their id, in order. Both layouts of the standard are read."""
    parts: dict[str, list[RawMeasure]] = {}
    is_partwise = root.tag == "score-partwise"
    outer, inner = ("part", "measure") if is_partwise else ("measure", "part")
    for first in root.findall(outer):
        for second in first.findall(inner):
            part, measure = (first, second) if is_partwise else (second, first)
            parts.setdefault(part.get("id", ""), []).append(RawMeasure(measure, second))
    return parts


def measures_of(name: str, sources: Sequence[RawMeasure], with_chords: bool = True) -> list[Measure]:
    """The measures of a part. Raises InputError naming the file, the measure and the mend."""
    reader = _MeasureReader(name, with_chords)
    return [reader.read(index, source) for index, source in enumerate(sources)]


@dataclass(slots=True)
class _MeasureReader:
    """What holds from measure to measure."""

    name: str
    with_chords: bool
    divisions: Fraction = Fraction(1)
    metre: Metre = FOUR_FOUR
    endings: frozenset[int] = frozenset()
    again: int = 0
    position: Fraction = Fraction(0)

    def read(self, index: int, source: RawMeasure) -> Measure:
        number = source.measure.get("number", str(index + 1))
        is_pickup = index == 0 or source.measure.get("implicit") == "yes"
        measure = Measure(number, self.metre, is_pickup)
        self.position = Fraction(0)
        signs = _Signs(self.endings)
        for element in source.content:
            if element.tag == "barline":
                signs.read(element)
            elif element.tag in _READ:
                _READ[element.tag](self, measure, element)
            measure.length = max(measure.length, self.position)
        measure.metre, measure.again = self.metre, self.again
        measure.signs, self.endings = signs.made(), signs.endings_after
        return measure

    def _attributes(self, measure: Measure, element: Element) -> None:
        if (text := element.findtext("divisions")) is not None:
            self.divisions = self._number(measure, "divisions", text)
            if self.divisions <= 0:
                raise self._trouble(measure, f"divisions of {text}")
        time = element.find("time")
        if time is not None and time.find("senza-misura") is None:
            self.metre = self._metre(measure, time)
        if self.with_chords:
            self._key_and_pitch(measure, element)
        for repeat in element.iterfind("measure-style/measure-repeat"):
            starts = repeat.get("type") == "start"
            self.again = int(self._number(measure, "measure-repeat", repeat.text or "1")) if starts else 0

    def _key_and_pitch(self, measure: Measure, element: Element) -> None:
        for key in element.findall("key")[:1]:
            measure.key, said = _key_of(key)
            if said:
                measure.tell(said)
        if (capo := element.findtext("staff-details/capo")) is not None:
            self._capo(measure, int(self._number(measure, "capo", capo)))
        chromatic = element.findtext("transpose/chromatic") or "0"
        higher = int(self._number(measure, "transpose", chromatic))
        if higher % 12:
            measure.tell(
                f"the part sounds {abs(higher)} semitones {'higher' if higher > 0 else 'lower'} than it is "
                "written; its chords are kept as written."
            )

    def _capo(self, measure: Measure, fret: int) -> None:
        measure.capo = fret
        measure.tell(f"the capo is at fret {fret}; the chords are taken for those you finger.")

    def _words(self, measure: Measure, text: str, at: Fraction) -> None:
        """Words that say what a sign or a chord symbol would."""
        header = unmarked(text)
        if is_no_chord(text):
            measure.chords.setdefault(at, NO_CHORD)
        elif header is not None and header[0] == "capo" and header[1].isdecimal():
            self._capo(measure, int(header[1]))
        elif looks_like_times(text):
            measure.tell(f"“{short(text)}” is taken for words.")

    def _metre(self, measure: Measure, time: Element) -> Metre:
        counts = [text.text or "" for text in time.findall("beats")]
        units = [text.text or "" for text in time.findall("beat-type")]
        try:
            pairs = [
                (sum(map(int, count.split("+"))), int(unit))
                for count, unit in zip(counts, units, strict=True)
            ]
            smallest = max(unit for _, unit in pairs)
            count = sum(count * smallest // unit for count, unit in pairs)
        except (ValueError, ZeroDivisionError):
            count, smallest = 0, 0
        if smallest not in UNITS or not 1 <= count <= MOST_BEATS:
            raise self._trouble(measure, f"the metre {'+'.join(counts)}/{'+'.join(units)}")
        return usual_metre(count, smallest)

    def _note(self, measure: Measure, element: Element) -> None:
        if element.find("chord") is None and element.find("grace") is None:
            self._move(measure, element, 1)

    def _forward(self, measure: Measure, element: Element) -> None:
        self._move(measure, element, 1)

    def _backup(self, measure: Measure, element: Element) -> None:
        self._move(measure, element, -1)

    def _move(self, measure: Measure, element: Element, sign: int) -> None:
        duration = self._length(measure, element.findtext("duration"))
        self.position = max(Fraction(0), self.position + sign * duration)

    def _harmony(self, measure: Measure, element: Element) -> None:
        if not self.with_chords:
            return
        symbol = chord_symbol(element)
        if symbol is None:
            root = element.findtext("root/root-step") or ""
            kind = element.find("kind")
            text = "" if kind is None else kind.get("text") or kind.text or ""
            measure.tell(f"the chord “{root}{text}” cannot be read, and is passed over.")
            return
        at = self.position + self._length(measure, element.findtext("offset"))
        measure.chords[max(Fraction(0), at)] = symbol

    def _direction(self, measure: Measure, element: Element) -> None:
        at = max(Fraction(0), self.position + self._length(measure, element.findtext("offset")))
        sound = element.find("sound")
        rehearsal = element.findtext("direction-type/rehearsal")
        measure.rehearsal = rehearsal or measure.rehearsal
        signs = {sign for kind in element.iterfind("direction-type/*") for sign in _signs_of(kind)}
        if sound is not None:
            signs |= {sign for name, sign in _SOUND_SIGNS.items() if name in sound.attrib}
        if self.with_chords:
            for words in element.iterfind("direction-type/words"):
                self._words(measure, " ".join((words.text or "").split()), at)
        if signs & {Sign.CODA, Sign.TO_CODA, Sign.DAL_SEGNO, Sign.DA_CAPO}:
            signs.discard(Sign.CODA_SIGN)
        measure.begins_with_coda |= Sign.CODA_SIGN in signs and not at
        measure.jumps |= signs
        quarters = None if sound is None else self._sound(measure, sound)
        if quarters is None:
            quarters = next(filter(None, map(_metronome, element.iterfind("direction-type/metronome"))), None)
        if quarters:
            measure.tempos[at] = quarters

    def _sound_alone(self, measure: Measure, element: Element) -> None:
        quarters = self._sound(measure, element)
        if quarters:
            at = self.position + self._length(measure, element.findtext("offset"))
            measure.tempos[max(Fraction(0), at)] = quarters

    def _sound(self, measure: Measure, element: Element) -> float | None:
        named = {sign: element.attrib[name] for name, sign in _SOUND_SIGNS.items() if name in element.attrib}
        measure.jumps |= set(named)
        measure.names |= named
        tempo = element.get("tempo")
        return None if tempo is None else float(self._number(measure, "tempo", tempo))

    def _length(self, measure: Measure, text: str | None) -> Fraction:
        return Fraction(0) if text is None else self._number(measure, "length", text) / self.divisions

    def _number(self, measure: Measure, what: str, text: str) -> Fraction:
        found = _NUMBER.fullmatch(text)
        if found is None:
            raise self._trouble(measure, f"{what} of “{text[:20]}”")
        return Fraction(found[1])

    def _trouble(self, measure: Measure, what: str) -> InputError:
        return InputError(
            f"{self.name}, measure {measure.number}: {what} cannot be read; "
            "mend it in the program that wrote it."
        )


_READ = {
    "attributes": _MeasureReader._attributes,
    "note": _MeasureReader._note,
    "forward": _MeasureReader._forward,
    "backup": _MeasureReader._backup,
    "harmony": _MeasureReader._harmony,
    "direction": _MeasureReader._direction,
    "sound": _MeasureReader._sound_alone,
}


_SOUND_SIGNS = {
    "dacapo": Sign.DA_CAPO,
    "dalsegno": Sign.DAL_SEGNO,
    "fine": Sign.FINE,
    "tocoda": Sign.TO_CODA,
    "coda": Sign.CODA,
    "segno": Sign.SEGNO,
}
"""The attributes of a `sound` element that say in which order measures are played."""


_DRAWN = {"segno": Sign.SEGNO, "coda": Sign.CODA_SIGN}
_MAJOR_KEYS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR_KEYS = ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")
"""From seven flats to seven sharps (the circle of fifths)."""


def _key_of(element: Element) -> tuple[str, str]:
    """A key as a chart has it, "" for one that cannot be told, and what is to be said of it."""
    fifths, mode = (
        (element.findtext("fifths") or "").strip(),
        (element.findtext("mode") or "").strip().lower(),
    )
    if not re.fullmatch("[+-]?[0-7]", fifths) or mode not in ("", "major", "minor"):
        return "", f"the key ({mode or 'not a usual one'}) is not kept."
    place = int(fifths) + 7
    key = f"{_MINOR_KEYS[place]}m" if mode == "minor" else _MAJOR_KEYS[place]
    return key, "" if mode else f"the key is taken for {key} major, for its mode is not written."


def _signs_of(kind: Element) -> set[Sign]:
    """The signs that a direction shows: as a sign, or in words that are nothing else."""
    if kind.tag in _DRAWN:
        return {_DRAWN[kind.tag]}
    return set(signs_in(kind.text or "")) if kind.tag == "words" else set()


def _metronome(element: Element) -> float | None:
    """Quarters a minute of a metronome mark; None when it sets one note equal to another."""
    unit = _BEAT_UNITS.get((element.findtext("beat-unit") or "").strip())
    found = _SOME_NUMBER.search(element.findtext("per-minute") or "")
    if unit is None or found is None or len(element.findall("beat-unit")) != 1:
        return None
    dots = len(element.findall("beat-unit-dot"))
    dotted = unit * (2 - Fraction(1, 2 ** min(dots, 4)))
    return float(Fraction(found[0]) * dotted / QUARTER)


@dataclass(slots=True)
class _Signs:
    """The barlines of one measure as they are read."""

    endings: frozenset[int]
    forward: bool = False
    backward: int = 0
    ends: bool = False

    def read(self, barline: Element) -> None:
        ending, repeat = barline.find("ending"), barline.find("repeat")
        if ending is not None:
            if ending.get("type") == "start":
                numbers = re.findall("[0-9]{1,2}", ending.get("number", ""))
                self.endings = frozenset(map(int, numbers)) - {0}
            else:
                self.ends = True
        if repeat is not None and repeat.get("direction") == "forward":
            self.forward = True
        elif repeat is not None:
            times = repeat.get("times", "2")
            self.backward = int(times) if re.fullmatch("[0-9]{1,4}", times) else 2

    def made(self) -> Signs:
        return Signs(self.forward, self.backward, self.endings)

    @property
    def endings_after(self) -> frozenset[int]:
        return frozenset() if self.ends else self.endings
