"""Songs for hypothesis: whatever the grammar can say."""

import re
from datetime import date
from fractions import Fraction

from hypothesis import strategies as st

from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.bar_lines import divides
from pedaltrainer.songs.header_reader import as_name
from pedaltrainer.songs.heads import STRUMS
from pedaltrainer.songs.metre import Metre, usual_metre
from pedaltrainer.songs.song import NO_CHORD, Bar, Mark, Section, Slot, Song

CHORDS = ("Am", "G", "F", "C/G", "F#m7b5", "Bbmaj7", "G[320003]", "Am[x.0.14.14.13.12]", "E7(#9)", NO_CHORD)
METRES = [usual_metre(4, 4), usual_metre(3, 4), usual_metre(6, 8), usual_metre(12, 8), usual_metre(7, 8)]
METRES += [Metre(6, Fraction(1, 8)), Metre(1, Fraction(1, 4)), usual_metre(2, 2), Metre(1, Fraction(3, 8))]
NAMES = (
    st.text(max_size=12)
    .map(as_name)
    .filter(lambda name: re.search(r"[x×]\s?\d|\d\s?[x×]", name) is None and not name.startswith(":"))
)


@st.composite
def bars(draw: st.DrawFn, is_first: bool) -> Bar:
    metre = draw(st.sampled_from(METRES))
    count = draw(st.sampled_from([n for n in range(1, 17) if divides(n, metre)]))
    first = [Slot(Fraction(0), chord=draw(st.sampled_from(CHORDS)))] if is_first else []
    slots = first + [
        Slot(Fraction(index * metre.beats, count), mark=choice)
        if isinstance(choice, Mark)
        else Slot(Fraction(index * metre.beats, count), choice)
        for index in range(len(first), count)
        for choice in [draw(st.sampled_from((*Mark, *CHORDS)))]
    ]
    tempo = draw(st.one_of(st.integers(40, 200).map(float), st.floats(10, 600)))
    return Bar(tuple(slots), metre.beats, metre.beat_unit, tempo)


@st.composite
def songs(draw: st.DrawFn) -> Song:
    sections: list[Section] = []
    for index in range(draw(st.integers(1, 4))):
        again = draw(st.sampled_from([None, *sections]))
        new = tuple(draw(bars(is_first=index == place == 0)) for place in range(draw(st.integers(1, 5))))
        name, music = (again.name, again.bars) if again else (draw(NAMES), new)
        sections.append(Section(name, music, draw(st.integers(1, 3))))
    return Song(
        draw(NAMES.filter(bool)),
        tuple(sections),
        draw(st.sampled_from(list(STRUMS.values()))),
        draw(st.sampled_from(Gap)),
        draw(st.none() | st.dates(date(1000, 1, 1))),
        tuple(draw(st.lists(st.text(max_size=20).map(lambda text: " ".join(text.split())).filter(bool)))),
    )
