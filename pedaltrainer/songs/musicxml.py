"""From a MusicXML score to a song: the chords of its first part that has any, over its bars.

MusicXML is a standard of the W3C Music Notation Community Group (version 4.0; earlier ones are read as well).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from xml.etree.ElementTree import Element

from pedaltrainer.errors import InputError
from pedaltrainer.songs.bar_lines import MOST_SLOTS_A_BEAT, divides
from pedaltrainer.songs.bar_reader import MOST_BARS, MOST_SLOTS
from pedaltrainer.songs.header_reader import as_name
from pedaltrainer.songs.heads import HIGHEST_CAPO, LEAST_BPM, MOST_BPM, USUAL_BPM
from pedaltrainer.songs.jumps import JUMPS, SIGN_WORDS, Sign, followed, unused
from pedaltrainer.songs.measures import QUARTER, Measure, measures_of, parts_of
from pedaltrainer.songs.metre import MOST_BEATS, Metre
from pedaltrainer.songs.play_order import play_order
from pedaltrainer.songs.score_files import read_elements
from pedaltrainer.songs.song import Bar, Mark, Section, Slot, Song


def read_musicxml(path: Path) -> Song:
    """Read the chords, metres, tempos and repeats of a score (.musicxml, .xml or .mxl), written out.

    A tempo that changes within a bar holds from the next bar on. The first jump (D.C., D.S.) is followed. A
    chord that cannot be read is passed over, and told of. Raises InputError, one sentence with the mend, when
    it is no score, has no chords or is unsafe.
    """
    root = read_elements(path)
    if root.tag not in ("score-partwise", "score-timewise"):
        raise InputError(
            f"{path} is XML but no MusicXML score; save the song as MusicXML (.musicxml or .mxl)."
        )
    parts = parts_of(root)
    chords_in = (part for part, sources in parts.items() if _has_chords(source.content for source in sources))
    part = next(chords_in, None)
    if part is None:
        raise InputError(
            f"{path} has no chord symbols; write them above the notes, or write the song as a chart."
        )
    measures = measures_of(str(path), parts[part])
    others = (sources for other, sources in parts.items() if other != part)
    _share_tempos(measures, [measures_of(str(path), sources, with_chords=False) for sources in others])
    _copy_repeated(str(path), measures)
    order = play_order([measure.signs for measure in measures], MOST_BARS)
    if order is None:
        raise _too_long(path)
    signs = _signs(measures)
    order, used = followed(order, len(measures), signs, _passed_over(measures), _targets(measures, signs))
    if len(order) > MOST_BARS:
        raise _too_long(path)
    if not any(measure.chords for measure in measures):
        raise InputError(f"{path} has no chord symbols that can be read; write the song as a chart.")
    for number, sign in unused(signs, used):
        measures[number].tell(f"the {SIGN_WORDS[sign]} is passed over.")
    if any(number < 0 for number, _ in used):
        measures[0].tell("there is no segno for the D.S., which goes back to the beginning.")
    keys = [measure for measure in measures if measure.key]
    for measure in keys[1:]:
        if measure.key != keys[0].key:
            measure.tell(f"the key changes to {measure.key}; the song's is {keys[0].key}.")
    never = sorted(set(range(len(measures))) - set(order))
    if never:
        measures[never[0]].tell(f"it is never played{', nor are others' if len(never) > 1 else ''}.")
    return Song(
        _title(root) or as_name(path.stem) or "Song",
        _sections(path, measures, order),
        key=keys[0].key if keys else "",
        capo=next((measure.capo for measure in measures if 0 < measure.capo <= HIGHEST_CAPO), 0),
        told=tuple(sentence for measure in measures for sentence in measure.told),
    )


def _signs(measures: Sequence[Measure]) -> dict[int, set[Sign]]:
    """The signs by measure. A coda sign is where the coda is left for before the jump, and the coda after it;
    at the very beginning of a measure it is left for at the end of the one before."""
    jump = next((number for number, measure in enumerate(measures) if measure.jumps & JUMPS), len(measures))
    signs: dict[int, set[Sign]] = {}
    for number, measure in enumerate(measures):
        there = {sign for sign in measure.jumps if sign is not Sign.CODA_SIGN}
        if there:
            signs.setdefault(number, set()).update(there)
        if Sign.CODA_SIGN in measure.jumps:
            leaves = number <= jump
            at = number - 1 if leaves and measure.begins_with_coda and number else number
            signs.setdefault(at, set()).add(Sign.TO_CODA if leaves else Sign.CODA)
    return signs


def _targets(measures: Sequence[Measure], signs: Mapping[int, Set[Sign]]) -> dict[int, int]:
    """Where a D.S. and a To Coda go that name their segno and their coda."""
    found = {}
    for leaving, there in ((Sign.DAL_SEGNO, Sign.SEGNO), (Sign.TO_CODA, Sign.CODA)):
        named = {
            measures[at].names[there]: at for at in sorted(signs, reverse=True) if there in measures[at].names
        }
        for at, measure in enumerate(measures):
            if (target := named.get(measure.names.get(leaving, ""))) is not None:
                found[at] = target
    return found


def _passed_over(measures: Sequence[Measure]) -> frozenset[int]:
    """The measures of endings that another one follows."""
    rows: list[list[int]] = [[]]
    for number, measure in enumerate(measures):
        rows[-1:] = [[*rows[-1], number]] if measure.signs.endings else [rows[-1], []]
    found: set[int] = set()
    for row in rows:
        last = max((max(measures[number].signs.endings) for number in row), default=0)
        found |= {number for number in row if last not in measures[number].signs.endings}
    return frozenset(found)


def _has_chords(contents: Iterable[Element]) -> bool:
    return any(content.find("harmony") is not None for content in contents)


def _title(root: Element) -> str:
    return as_name(root.findtext("work/work-title") or "") or as_name(root.findtext("movement-title") or "")


def _share_tempos(measures: Sequence[Measure], others: Iterable[Sequence[Measure]]) -> None:
    """Give the measures the tempos that stand in other parts; their own come first."""
    for other in others:
        for measure, same in zip(measures, other, strict=False):
            measure.tempos = same.tempos | measure.tempos


def _copy_repeated(name: str, measures: Sequence[Measure]) -> None:
    """Give a measure that repeats earlier ones their chords."""
    for index, measure in enumerate(measures):
        if measure.again and not measure.chords:
            if not 0 < measure.again <= index:
                raise InputError(
                    f"{name}, measure {measure.number}: it repeats {measure.again} measures before it, "
                    "and there are not so many; write them out."
                )
            measure.chords = dict(measures[index - measure.again].chords)


def _sections(path: Path, measures: Sequence[Measure], order: Sequence[int]) -> tuple[Section, ...]:
    """The bars in the order they are played; a rehearsal mark begins a section."""
    sections: list[Section] = [Section("", ())]
    quarters, has_chord, slots = None, False, 0
    for index in order:
        measure = measures[index]
        if measure.rehearsal:
            sections.append(Section(as_name(measure.rehearsal), ()))
        quarters = measure.tempos.get(Fraction(0), quarters)
        bar = _bar(path, measure, quarters, has_chord)
        slots += len(bar.slots)
        if slots > MOST_SLOTS:
            raise _too_long(path)
        sections[-1] = replace(sections[-1], bars=(*sections[-1].bars, bar))
        has_chord = has_chord or bool(measure.chords)
        if measure.tempos:
            quarters = measure.tempos[max(measure.tempos)]
    return tuple(section for section in sections if section.bars)


def _bar(path: Path, measure: Measure, quarters: float | None, has_chord: bool) -> Bar:
    unit = measure.metre.beat_unit
    length, beats = _length(measure)
    if beats > MOST_BEATS:
        raise InputError(
            f"{path}, measure {measure.number}: it is longer than {MOST_BEATS} beats; part it in two."
        )
    # A pickup of less than whole beats comes after a rest.
    rest = beats - length if length < measure.metre.beats else Fraction(0)
    chords = {at * QUARTER / unit + rest: chord for at, chord in measure.chords.items()}
    tempo_bpm = USUAL_BPM if quarters is None else round(float(Fraction(quarters) * QUARTER / unit), 2)
    if not LEAST_BPM <= tempo_bpm <= MOST_BPM:
        raise InputError(
            f"{path}, measure {measure.number}: {tempo_bpm:g} beats a minute "
            f"is not {LEAST_BPM} to {MOST_BPM}; mend the tempo in the program that wrote it."
        )
    slots = _slots(chords, Metre(beats, unit), Mark.STRUCK if has_chord else Mark.FREE)
    return Bar(slots, beats, unit, tempo_bpm)


def _length(measure: Measure) -> tuple[Fraction, int]:
    """How long a measure is, in beats, and how many beats it takes. A measure that says that it is a pickup,
    and the first one, may be shorter than its metre; any may be longer."""
    length = measure.length * QUARTER / measure.metre.beat_unit
    nominal = Fraction(measure.metre.beats)
    # Where a chord comes after all that is written the writer left the rest of the bar out.
    is_whole = all(at < measure.length for at in measure.chords)
    is_short = measure.is_pickup and is_whole and 0 < length <= nominal - _A_LITTLE
    if not is_short and length < nominal + _A_LITTLE:
        length = nominal
    return length, math.ceil(length)


_A_LITTLE = Fraction(1, 12)
"""Of a beat: less is the rounding of triplets in a file whose divisions have no thirds."""


def _slots(chords: Mapping[Fraction, str], metre: Metre, mark: Mark) -> tuple[Slot, ...]:
    """The fewest even slots on which all the chords fall; where they fall on none, each moves to the nearest
    of the finest slots."""
    counts = [count for count in range(1, metre.beats * MOST_SLOTS_A_BEAT + 1) if divides(count, metre)]
    count = next((count for count in counts if _all_fit(chords, count, metre.beats)), counts[-1])
    at_slot = {min(round(at * count / metre.beats), count - 1): chord for at, chord in sorted(chords.items())}
    slots = []
    for index in range(count):
        beat, chord = Fraction(index * metre.beats, count), at_slot.get(index)
        slots.append(Slot(beat, chord, None if chord else mark))
        if chord:
            mark = Mark.STRUCK
    return tuple(slots)


def _all_fit(positions: Iterable[Fraction], count: int, beats: int) -> bool:
    exact = (at * count / beats for at in positions)
    return all(abs(place - round(place)) * beats <= _NO_DIFFERENCE * count for place in exact)


_NO_DIFFERENCE = Fraction(1, 200)
"""Of a beat: writers round the places of chords to their divisions."""


def _too_long(path: Path) -> InputError:
    return InputError(
        f"{path} has more than {MOST_BARS:,} bars or {MOST_SLOTS:,} slots, written out; save a part of it."
    )
