"""A song that is written by foot: its chords bar by bar, from those just used. Pure.

The draft is the value of the page: "104 4 G D Em" is 104 BPM, four beats a bar, and a chord for each bar. So
going back takes the last bar away, and a walk replays.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from statistics import fmean

from pedaltrainer.neck.chords.notes import pitch_class
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import root_name
from pedaltrainer.session.home import Errand, Leaf, LeafRow, Verb
from pedaltrainer.showing.home.pages import do, page, turn
from pedaltrainer.songs.song import Bar, Section, Slot, Song

COMMON = (
    *(
        "G",
        "C",
        "D",
        "Em",
        "Am",
        "E",
        "A",
        "F",
        "Dm",
        "Bm",
        "F#m",
        "B",
        "C#m",
        "G#m",
        "E7",
        "A7",
        "D7",
        "G7",
        "B7",
    ),
    *("Bb", "Gm", "Cm", "Eb", "Fm"),
)
"""Chords that are offered to whoever has no songs yet (common practice, no published source)."""
ROOTS = ("G", "C", "D", "A", "E", "F", "B", "Bb", "F#", "Eb", "Ab", "C#")
KINDS = ("", "m", "7", "m7", "maj7", "sus4", "sus2", "5", "add9", "6", "dim", "aug")
"""Roots and kinds in the order of their use on the guitar (common practice, no published source)."""
OFFERED, MORE = 5, 8
"""Chords on the page of a bar, and on the one after it."""
RARER = 0.15
"""Fifths that a place further down among the common chords counts for."""
PHRASE = 4
"""Bars after which a song most often comes round (common practice, no published source)."""
METRES = (4, 3, 2)
MOST_BARS = 64


@dataclass(frozen=True, slots=True)
class Draft:
    """A song as far as it is written: a chord for each bar."""

    bpm: int
    beats: int = 4
    chords: tuple[str, ...] = ()

    @property
    def value(self) -> str:
        """As the value of an errand; `read_draft` reads it back."""
        return " ".join((str(self.bpm), str(self.beats), *self.chords))

    def then(self, *chords: str) -> str:
        """The value with more bars."""
        return replace(self, chords=(*self.chords, *chords)).value


def read_draft(value: str) -> Draft:
    bpm, beats, *chords = value.split()
    return Draft(int(bpm), int(beats), tuple(chords))


def song_of(draft: Draft, title: str) -> Song:
    """The draft as a song."""
    bars = (
        Bar((Slot(Fraction(0), chord),), draft.beats, Fraction(1, 4), float(draft.bpm))
        for chord in draft.chords
    )
    return Song(title, (Section("", tuple(bars)),))


def new_title(titles: Iterable[str]) -> str:
    """ "Song 1", or with the first number that no song has."""
    taken = {title.casefold() for title in titles}
    number = 1
    while f"song {number}" in taken:
        number += 1
    return f"Song {number}"


def likeliest(draft: Draft, known: Sequence[str]) -> list[str]:
    """Chords for the next bar, those of the page first. known: of the player's songs, the most used first.

    After a phrase it is the one that stood a phrase ago, then the others that were used, those left longest
    ago first. Before that it is one not used yet, near to the used ones; and each of those again.
    """
    used = list(dict.fromkeys(reversed(draft.chords)))
    new = [chord for chord in dict.fromkeys((*known, *COMMON)) if chord not in used]
    if used:
        places = {chord: RARER * place for place, chord in enumerate(new)}
        new.sort(key=lambda chord: places[chord] + _fifths_away(chord, used))
    if len(draft.chords) < PHRASE:
        room = max(2, OFFERED - len(used))
        return [*new[:room], *used, *new[room:]]
    return list(dict.fromkeys((draft.chords[-PHRASE], *reversed(used), *new)))


def _fifths_away(chord: str, used: Sequence[str]) -> float:
    """How far a chord is from others in a key, in fifths; a minor one stands at its relative major."""
    there = _fifths(chord)
    return fmean(min((there - _fifths(one)) % 12, (_fifths(one) - there) % 12) for one in used)


def _fifths(chord: str) -> int:
    symbol = parse_chosen(chord).symbol
    fifths = pitch_class(symbol.root) * 7
    return fifths - 3 if symbol.quality.startswith("m") and not symbol.quality.startswith("maj") else fifths


def write(draft: Draft, known: Sequence[str]) -> Leaf:
    """What stands in the next bar?"""
    bars = len(draft.chords)
    rows = []
    if bars < MOST_BARS:
        offered = likeliest(draft, known)[:OFFERED]
        rows += [turn(_row(chord, draft), "write a song", draft.then(chord)) for chord in offered]
        rows.append(turn("Another chord", "chord of a song", draft.value))
    if 1 < bars <= MOST_BARS // 2:
        again = draft.chords
        rows.append(turn(f"All {bars} bars again", "write a song", draft.then(*again)))
    if bars:
        rows.append(do("Done", "keep a song", draft.value, "songs"))
    else:
        others = replace(draft, beats=METRES[(METRES.index(draft.beats) + 1) % len(METRES)])
        rows.append(
            LeafRow(f"Beats in a bar: {draft.beats}", Errand(Verb.ACROSS, "write a song", others.value))
        )
    marked = 0
    if bars and bars % (2 * PHRASE) == 0:
        marked = len(rows) - 1
    return page(
        "write a song",
        f"Bar {bars + 1}, {draft.bpm} BPM",
        rows,
        value=draft.value,
        lines=(_so_far(draft),) if bars else (),
        marked=marked,
    )


def _row(chord: str, draft: Draft) -> str:
    return f"{chord} once more" if draft.chords and chord == draft.chords[-1] else chord


def _so_far(draft: Draft) -> str:
    shown = draft.chords[-2 * PHRASE :]
    return ("… " if len(shown) < len(draft.chords) else "") + " | ".join(shown)


def another_chord(draft: Draft, known: Sequence[str]) -> Leaf:
    """The chords that come after the likeliest; and any."""
    offered = likeliest(draft, known)[OFFERED : OFFERED + MORE]
    rows = [turn(chord, "write a song", draft.then(chord)) for chord in offered]
    rows.append(turn("Any chord", "any chord of a song", draft.value))
    return page("chord of a song", "Which chord?", rows, value=draft.value)


def any_chord(draft: Draft) -> Leaf:
    """Any chord for the next bar: its root first."""
    rows = [turn(_both_names(root), "kind of chord", f"{root} {draft.value}") for root in ROOTS]
    return page("any chord of a song", "Which root?", rows, value=draft.value)


def kind_of_chord(root: str, draft: Draft) -> Leaf:
    """Then its kind."""
    symbols = [root_name(pitch_class(root), kind) + kind for kind in KINDS]
    rows = [turn(symbol, "write a song", draft.then(symbol)) for symbol in symbols]
    return page("kind of chord", f"{_both_names(root)}: which kind?", rows, value=f"{root} {draft.value}")


def _both_names(root: str) -> str:
    """A root as it is called in major and in minor: "Ab or G#"."""
    return " or ".join(dict.fromkeys(root_name(pitch_class(root), kind) for kind in ("", "m")))
