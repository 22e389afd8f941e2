"""Choosing a change or a shape: the likeliest ones, any chord by root, kind and bass, the page of a change.

Roots, kinds and basses stand in the order of their use on the guitar, the open chords' first (common
practice, no published source), and are laid out in groups (`groups`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pedaltrainer.neck.chords.notes import note_name
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.lookup import root_name
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.session.home import Leaf, LeafRow
from pedaltrainer.showing.home.groups import Bundle, rows_of, walked_to
from pedaltrainer.showing.home.pages import do as deed
from pedaltrainer.showing.home.pages import drills_value, page, play, turn

ROOTS = (7, 0, 2, 9, 4, 5, 11, 10, 6, 3, 8, 1)
"""Pitch classes: G C D A E F B Bb F# Eb Ab C#."""
KINDS = (
    "", "m", "7", "m7", "maj7", "sus4", "sus2", "5", "add9", "6",
    "9", "m6", "7sus4", "dim", "m9", "maj9", "dim7", "m7b5", "aug", "69",
    "madd9", "7#9", "7b9", "13", "m11", "11", "9sus4", "mmaj7", "7#5", "7b5",
    "maj7#11", "maj13", "m13", "7#11", "7b13", "13sus4", "m69", "m7#5", "mmaj9", "maj7#5",
)  # fmt: skip
_BESIDE = (2, 10, 5, 9, 11, 8, 1, 6, 3, 4, 7)
"""Basses that are no note of the chord: semitones above the root."""

FEW, LIKELY = 6, 2
"""Rows for first changes, and for likely ones."""
OTHER_SHAPES = 5
LONGEST_LIST = 22
"""Letters: what a row may list of its group where boxes stand beside it."""
ONE, TWO = 1, 2


@dataclass(frozen=True, slots=True)
class ChangesFacts:
    """needed: what the songs and packs ask for, the next ones first, without what home offers itself. last:
    practised last. common: the easiest first."""

    needed: tuple[Drill, ...] = ()
    last: tuple[Drill, ...] = ()
    common: tuple[Drill, ...] = ()


def first_change(common: Sequence[Drill]) -> Leaf:
    """The easiest of the common changes."""
    lines = () if common else ("No common chord has a shape in this tuning.",)
    rows = [*map(_row, common[:FEW]), *(() if common else _any())]
    return page("first change", "A first change", rows, lines=lines)


def common_changes(drills: Sequence[Drill]) -> Leaf:
    """Common changes, or a group of them."""
    groups = [drills[first : first + size] for first, size in rows_of(len(drills))]
    rows = [
        _row(group[0])
        if len(group) == 1
        else turn(_listed(["–".join(sorted(one.names)) for one in group]), "common", drills_value(group))
        for group in groups
    ]
    return page("common", "A common change", rows, value=drills_value(drills))


def changes(facts: ChangesFacts) -> Leaf:
    """What is likeliest, then any."""
    likely = list(dict.fromkeys((*facts.needed, *facts.last)))[:LIKELY]
    common = [one for one in facts.common if one.key not in {drill.key for drill in likely}]
    offered = [turn("Common changes", "common", drills_value(common))] if common else []
    # Who has no change behind or before them finds the common ones on home itself.
    marked = 0 if likely else len(offered)
    return page("changes", "Which change?", [*map(_row, likely), *offered, *_any()], marked=marked)


def _row(drill: Drill) -> LeafRow:
    return turn(drill.title, "change", drill.words, drill.chords if drill.kind in _WHOLE else ())


_WHOLE = frozenset({Kind.CHANGE, Kind.RE_LAND})
"""Kinds whose chords are played as a player of the book plays them."""


def _any() -> tuple[LeafRow, ...]:
    return (
        turn("Any two chords", "chord", Picking(TWO).value),
        turn("One shape alone", "chord", Picking(ONE).value),
    )


# --- the page of a change, or of a shape ------------------------------------------------------


def change(drill: Drill, shapeless: Sequence[str] = ()) -> Leaf:
    """A change or another drill, and what can be done with it. shapeless: the names of chords without a shape
    in this tuning."""
    lines = [f"{name} has no shape in this tuning." for name in dict.fromkeys(shapeless)]
    names = drill.names
    rows = [play("Begin", "drills", drill.words)]
    if len(shapeless) < len(names):
        rows.append(deed("Hear it", "hear it", drill.words))
    if drill.kind in _WHOLE:
        rows += [
            turn(f"Shapes of {name}", "shapes", f"{place} {drill.words}")
            for place, name in enumerate(names)
            if name not in shapeless
        ]
    if drill.kind is Kind.RE_LAND:
        rows.append(turn("To another chord", "chord", Picking(TWO, drill.chords[0]).value))
    if drill.kind in _WHOLE:
        rows.append(turn("Smaller pieces", "smaller", drill.words))
        rows.append(turn("Other ways", "other ways", drill.words))
    chords = drill.chords if drill.kind in _WHOLE else ()
    return page("change", drill.title, _told_apart(rows), value=drill.words, lines=lines, chords=chords)


def smaller(drill: Drill, pieces: Sequence[Drill]) -> Leaf:
    """The smaller pieces of a change, or of a shape: of a change first each shape alone."""
    alone = zip(drill.names, drill.chords, strict=True) if drill.kind is Kind.CHANGE else ()
    rows = [play(f"{name} alone", "drills", chord) for name, chord in alone]
    return page("smaller", drill.title, [*rows, *map(_way, pieces)], value=drill.words)


def other_ways(drill: Drill, others: Sequence[Drill]) -> Leaf:
    """Other ways to play a change, or a shape, and the drill itself without its picture."""
    unseen = play("Without its picture", "drills", replace(drill, unseen=True).words)
    return page("other ways", drill.title, [*map(_way, others), unseen], value=drill.words)


def _way(drill: Drill) -> LeafRow:
    words = drill.row.title
    return play(f"{words[:1].upper()}{words[1:]}", "drills", drill.words)


def shapes(drill: Drill, place: int, others: Sequence[tuple[int, str]]) -> Leaf:
    """Other shapes of one of its chords. others: each with its position, and named with its frets."""
    rows = []
    for position, chord in others[:OTHER_SHAPES]:
        chords = tuple(chord if at == place else one for at, one in enumerate(drill.chords))
        words = f"At fret {position}" if parse_chosen(chord).frets else "The usual one"
        rows.append(turn(words, "change", replace(drill, chords=chords).words, chords))
    name = drill.names[place]
    lines = () if rows else ("There is no other in this tuning.",)
    return page("shapes", f"Shapes of {name}", _told_apart(rows), value=f"{place} {drill.words}", lines=lines)


def _told_apart(rows: Sequence[LeafRow]) -> list[LeafRow]:
    """The rows, numbered where they say the same."""
    said = [row.words for row in rows]
    return [
        replace(row, words=f"{row.words} ({said[:place].count(row.words) + 1})")
        if row.words in said[:place]
        else row
        for place, row in enumerate(rows)
    ]


# --- any chord --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Picking:
    """A chord that is being picked: root, then kind, then perhaps a bass.

    wanted: how many chords in all. before: the chord picked first. root: its place in ROOTS; kind: in KINDS.
    path: the rows chosen of the list that is open.
    """

    wanted: int
    before: str = ""
    over: bool = False
    root: int | None = None
    kind: int | None = None
    path: tuple[int, ...] = ()

    @property
    def value(self) -> str:
        """As the value of an errand; `read_picking` reads it back."""
        parts = (
            self.wanted,
            self.before,
            "/" * self.over,
            self.root,
            self.kind,
            ".".join(map(str, self.path)),
        )
        return "|".join("" if part is None else str(part) for part in parts)


def read_picking(value: str) -> Picking:
    wanted, before, over, root, kind, path = value.split("|")
    return Picking(
        int(wanted),
        before,
        bool(over),
        int(root) if root else None,
        int(kind) if kind else None,
        tuple(int(row) for row in path.split(".")) if path else (),
    )


def chord(picking: Picking) -> Leaf:
    """A page of the list that is open: the roots, the kinds, or the basses."""
    names, title, nexts = _open(picking)
    here = walked_to(len(names), picking.path)
    rows = []
    for place, row in enumerate(rows_of(here.size)):
        span = Bundle(here.first + row.first, row.size)
        inside = names[span.first : span.first + span.size]
        if span.size > 1:
            rows.append(turn(_listed(inside), "chord", replace(picking, path=(*picking.path, place)).value))
        else:
            rows.append(nexts[span.first])
    if picking.root is not None and picking.kind is None and not picking.over and not picking.path:
        rows.append(turn("Over another bass", "chord", replace(picking, over=True).value))
    first = picking.before and parse_chosen(picking.before).symbol
    return page(
        "chord",
        f"{first} – {title}" if first else title,
        rows,
        value=picking.value,
        chords=(picking.before,) if picking.before else (),
    )


def _open(picking: Picking) -> tuple[list[str], str, list[LeafRow]]:
    """The list that is open: what its entries are called, the page's title, and the entries as rows."""
    if picking.root is None:
        roots = [_root_words(root) for root in ROOTS]
        nexts = [
            turn(words, "chord", replace(picking, root=place, path=()).value)
            for place, words in enumerate(roots)
        ]
        return roots, "which root?" if picking.before else "Which root?", nexts
    if picking.kind is None:
        symbols = [root_name(ROOTS[picking.root], kind) + kind for kind in KINDS]
        if picking.over:
            nexts = [
                turn(symbol, "chord", replace(picking, kind=place, path=()).value)
                for place, symbol in enumerate(symbols)
            ]
        else:
            nexts = [_picked(picking, symbol) for symbol in symbols]
        over = " over a bass" if picking.over else ""
        return symbols, f"{_root_words(ROOTS[picking.root])}{over}: which kind?", nexts
    symbol = root_name(ROOTS[picking.root], KINDS[picking.kind]) + KINDS[picking.kind]
    basses = _basses(symbol)
    return basses, f"{symbol} over which bass?", [_picked(picking, f"{symbol}/{bass}") for bass in basses]


def _picked(picking: Picking, symbol: str) -> LeafRow:
    """The row that ends the picking of a chord: to the next one, or to the page of what was picked."""
    chords = (picking.before, symbol) if picking.before else (symbol,)
    if len(chords) < picking.wanted:
        return turn(symbol, "chord", Picking(picking.wanted, symbol).value, chords)
    return turn(symbol, "change", " ".join(chords), chords)


def _root_words(root: int) -> str:
    return " or ".join(dict.fromkeys((root_name(root), root_name(root, "m"))))


def _basses(symbol: str) -> list[str]:
    """The notes that may stand under a chord: its own but the root, as it spells them, then the others."""
    spelling = spell(symbol)
    root = spelling.root_pitch_class
    own = [tone.semitones for tone in spelling.tones if tone.semitones]
    others = [above for above in _BESIDE if above not in own]
    return [
        *(spelling.note_name_of(root + above) for above in own),
        *(note_name(root + above) for above in others),
    ]


def _listed(names: Sequence[str]) -> str:
    """What a group holds: all of it, or its first few and how many more."""
    for shown in range(len(names), 1, -1):
        more = len(names) - shown
        words = ", ".join(names[:shown]) + (f" and {more} more" if more else "")
        if len(words) <= LONGEST_LIST:
            return words
    return f"{names[0]} and {len(names) - 1} more" if len(names) > 1 else names[0]
