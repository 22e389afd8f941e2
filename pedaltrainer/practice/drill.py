"""Drills: what is practised, landing by landing.

A drill is written in words that players can type and the log keeps:

    [kind] CHORD [CHORD] [xN] [+N] [ORDER] [muted | instant] [unseen]

"Am E" is a change, "F" a re-landing; any other kind is named first: "level A Bm", "shared C Am +1",
"pressure F", "loop C Am F G". A chord may name its own frets: "G[320003]". N beats on each chord: "D A x4".
The chords of a passage have their own lengths in beats: "passage Am:3 G F:3/2 E7:5/2". A picked drill can
name the order of its strings, 1 the highest, b the bass of the chord: "picked C G b3231323". Unseen: without
its picture, by the chords' names alone.
"""

from __future__ import annotations

import math
import random
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from types import MappingProxyType

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.gap import HALF_BEAT, LIFTS, Gap
from pedaltrainer.practice.kinds import KINDS, MOST_IN_TURN, SLOW_BPM, KindRow
from pedaltrainer.practice.kinds import Kind as Kind

MOST_BEATS = 16
MOST_HELD = 64
_LENGTH = re.compile(r"[1-9]\d{0,3}(/[1-9]\d{0,2})?")
PICKS = re.compile(r"(?=.*[1-8])[b1-8]{2,16}")
MOST_ADDED = 4
MOST_NAMED = 5
"""More chords than these are not all named in a title."""


HEIGHTS_MM = (1, 1, 2, 2, 4, 4, 8, 8)
"""How far the fingers come off the strings in the stage *clear*, landing by landing: from barely to well
clear (common practice, no published source)."""


def clear_height_mm(landing: int) -> int:
    """The height of the stage *clear* after a 0-based landing; beyond the table as high as at its end."""
    return HEIGHTS_MM[min(landing, len(HEIGHTS_MM) - 1)]


@dataclass(frozen=True, slots=True)
class Drill:
    """What is practised: chords in turn, or one shape over and over.

    beats_per_chord is the number of beats from one landing to the next (in a
    pressure drill one for each stage); the hand lifts `lift` of a beat before
    a landing whatever it is. added: in a
    shared drill, how many fingers more than the shared ones are put down.
    """

    kind: Kind
    chords: tuple[str, ...]
    beats_per_chord: int = 1
    gap: Gap = Gap.LIFTED
    added: int = 0
    holds: tuple[Fraction, ...] = ()
    """In a passage the beats that each chord lasts; else empty."""
    unseen: bool = False
    """Played without its picture: a record of its own."""
    picks: str = ""
    """The order of the strings in a picked drill; "": the usual one."""
    name: str = ""
    """Of a kind of the player's own."""
    own_row: KindRow | None = field(default=None, compare=False)
    """The row of that kind."""
    turn: int = field(default=0, compare=False)
    """Which of its takes this is: another order, where that is drawn anew; the step, where it has steps."""

    @property
    def row(self) -> KindRow:
        return self.own_row or KINDS[self.kind]

    @property
    def key(self) -> str:
        """The drill's name in the log; the same whichever chord was named first, unless that matters."""
        chords = self._held_chords if self.row.in_order else sorted(self.chords)
        return " ".join((*self._named, *chords, *self._options()))

    @property
    def words(self) -> str:
        """The drill as one types it: "Am E", "F x4", "shared C Am +1"; `parse_drill` reads it back."""
        is_plain = self.kind in {Kind.CHANGE, Kind.RE_LAND}
        return " ".join((*(() if is_plain else self._named), *self._held_chords, *self._options()))

    @property
    def _named(self) -> tuple[str, ...]:
        return (self.kind.value, self.name) if self.name else (self.kind.value,)

    @property
    def _held_chords(self) -> tuple[str, ...]:
        if not self.holds:
            return self.chords
        return tuple(
            chord if hold == 1 else f"{chord}:{hold}"
            for chord, hold in zip(self.chords, self.holds, strict=True)
        )

    def _options(self) -> tuple[str, ...]:
        return (
            *((f"x{self.beats_per_chord}",) if self._holds else ()),
            *((f"+{self.added}",) if self.added else ()),
            *((self.picks,) if self.picks else ()),
            *((SLOW,) if self.name and self.row.measures_nothing else ()),
            *((self.gap.value,) if self.gap is not Gap.LIFTED else ()),
            *((UNSEEN,) if self.unseen else ()),
        )

    @property
    def order(self) -> str:
        """The strings that are picked from one landing to the next, a beat each; "" where none are."""
        return self.picks or self.row.picks

    @property
    def _holds(self) -> bool:
        # The name of one's own kind says it always: its row may be gone when the log is read.
        return bool(self.name) or self.beats_per_chord != (len(self.order) or self.row.cycle)

    @property
    def names(self) -> tuple[str, ...]:
        """The chords' symbols, without the frets that may be chosen for them."""
        return tuple(str(parse_chosen(chord).symbol) for chord in self.chords)

    @property
    def title(self) -> str:
        """The drill's name in a player's words: "Am – E", "F, landed again".

        As in the key it is the same whichever chord was named first, unless that matters.
        """
        chords = self.chords if self.row.in_order else tuple(sorted(self.chords))
        names = replace(self, chords=chords).names
        if len(names) > MOST_NAMED:
            names = (*names[: MOST_NAMED - 1], "…", names[-1])
        parts = [" – ".join(names), *((self.row.title,) if self.row.title else ())]
        if self.added:
            parts.append("one finger more" if self.added == 1 else f"{self.added} fingers more")
        if self._holds and not self.name:
            parts.append(f"{self.beats_per_chord} beats each")
        if self.picks:
            parts.append(self.picks)
        if self.gap is not Gap.LIFTED:
            parts.append(self.gap.value)
        if self.unseen:
            parts.append("without its picture")
        return ", ".join(parts)

    @property
    def lift(self) -> Fraction:
        """How much of a beat before a landing the hand lifts for it."""
        return LIFTS[self.gap]

    def tempo_of_air(self, air_ms: float) -> float:
        """The tempo that leaves this air time, in BPM."""
        return 60_000 * float(self.lift) / air_ms

    def chord_at(self, landing: int) -> str:
        """The chord that sounds at a 0-based landing."""
        return self.chords[self.place_at(landing)]

    def place_at(self, landing: int) -> int:
        """Which of its chords that is, from 0."""
        if not self.row.drawn_anew:
            return landing % len(self.chords)
        turn, place = divmod(landing, len(self.chords))
        return _order(self.chords, self.turn, turn)[place]

    @property
    def beats_per_landing(self) -> float:
        """From one landing to the next, on average."""
        return float(sum(self.holds) / len(self.holds)) if self.holds else float(self.beats_per_chord)

    def landing_beat(self, landing: int) -> Fraction:
        """The beat, counted from the first landing, on which a 0-based landing falls."""
        if not self.holds:
            return Fraction(landing * self.beats_per_chord) - (self.row.early if landing else 0)
        rounds, rest = divmod(landing, len(self.holds))
        return rounds * sum(self.holds, Fraction(0)) + sum(self.holds[:rest], Fraction(0))

    def landing_at(self, beat: float) -> int:
        """The 0-based landing whose chord sounds at a beat; below 0 before the first."""
        if not self.holds:
            early = float(self.row.early) if beat >= 0 else 0.0
            return math.floor((beat + early) / self.beats_per_chord)
        whole = sum(self.holds, Fraction(0))
        rounds = math.floor(beat / whole)
        left = beat - float(rounds * whole)
        starts = accumulate(self.holds[:-1], initial=Fraction(0))
        return rounds * len(self.holds) + sum(start <= left for start in starts) - 1


UNSEEN = "unseen"
SLOW = "slow"
"""Stands in the name of a kind of one's own of which nothing is measured."""
OWN_NAME = re.compile(r"(?!b[1-8b]*\Z)[a-z][a-z0-9-]{1,19}")
RESERVED = {*Kind, *Gap, UNSEEN, SLOW}
"""Words that no kind of one's own can go by."""
Own = Mapping[str, KindRow]
"""Kinds of drill of one's own, by their names."""


@lru_cache(maxsize=512)
def _order(chords: tuple[str, ...], take: int, turn: int) -> tuple[int, ...]:
    """The order of one round, drawn from the take and the round alone, so that a session replays. No chord
    follows itself."""
    places = list(range(len(chords)))
    draw = random.Random(f"{' '.join(chords)} {take} {turn}")
    draw.shuffle(places)
    last = _order(chords, take, turn - 1)[-1] if turn else None
    if places[0] == last:
        places.append(places.pop(0))
    return tuple(places)


def parse_drill(words: str, beats_per_chord: int = 1, own: Own = MappingProxyType({})) -> Drill:
    """Read a drill's words; beats_per_chord holds unless they say otherwise. own: kinds of one's own.

    A drill of such a kind that is not among them reads as its name tells: its chords, beats, and whether
    anything is measured. Raises InputError naming the words and the mend when they are no drill.
    """
    rest = words.split()
    if rest and rest[0] in own:
        rest = [Kind.OWN, *rest]
    named = _kind_of(rest[0]) if rest else None
    if named:
        rest = rest[1:]
    plain = Drill(Kind.CHANGE, (), beats_per_chord)
    if named is Kind.OWN:
        plain, rest = _of_own(words, rest, own, beats_per_chord)
    while rest and (read := _option(rest[-1], plain)) is not None:
        plain, rest = read, rest[:-1]
    if named is Kind.PASSAGE:
        chords, holds = _held(words, rest)
    else:
        chords, holds = tuple(str(parse_chosen(word)) for word in rest), ()
    kind = named or _kind_for(words, chords)
    if kind is Kind.RE_LAND and len(chords) == 2 and chords[0] == chords[1]:
        chords = chords[:1]
    row = plain.own_row or KINDS[kind]
    _check(words, kind, row, chords, plain)
    # A kind whose beats each have something to do is as long as that.
    beats = row.cycle if row.is_parted or plain.beats_per_chord == 1 else plain.beats_per_chord
    picks = "" if plain.picks == row.picks else plain.picks
    beats = len(picks) or beats
    return replace(plain, kind=kind, chords=chords, beats_per_chord=beats, holds=holds, picks=picks)


def _of_own(words: str, rest: list[str], own: Own, beats_per_chord: int) -> tuple[Drill, list[str]]:
    """The start of a drill of one's own kind, and the words after its name."""
    name = rest[0] if rest else ""
    if not OWN_NAME.fullmatch(name) or name in RESERVED:
        raise InputError(
            f'“{words}”: after “own” stands the name of a kind of your own, such as "own roll C G".'
        )
    is_slow = SLOW in rest
    rest = [word for word in rest[1:] if word != SLOW]
    unknown = KindRow(
        (1, MOST_IN_TURN),
        "C",
        name.replace("-", " "),
        name,
        in_order=True,
        slow_bpm=SLOW_BPM if is_slow else None,
        picks="",
    )
    return Drill(Kind.OWN, (), beats_per_chord, name=name, own_row=own.get(name, unknown)), rest


def _held(words: str, rest: Sequence[str]) -> tuple[tuple[str, ...], tuple[Fraction, ...]]:
    chords, holds = [], []
    for word in rest:
        chord, colon, length = word.partition(":")
        if colon and not _LENGTH.fullmatch(length):
            raise InputError(f"“{words}”: say how many beats {chord} lasts, as in {chord}:2 or {chord}:3/2.")
        hold = Fraction(length or 1)
        if not Fraction(1, 4) <= hold <= MOST_HELD:
            raise InputError(f"“{words}”: {chord} can last a quarter of a beat to {MOST_HELD} beats.")
        chords.append(str(parse_chosen(chord)))
        holds.append(hold)
    return tuple(chords), tuple(holds)


def _kind_of(word: str) -> Kind | None:
    return Kind(word) if word in set(Kind) else None


def _kind_for(words: str, chords: Sequence[str]) -> Kind:
    if not 1 <= len(chords) <= 2:
        raise InputError(
            f'“{words}” names {len(chords)} chords; a drill has one or two, such as "F" or "Am E", '
            "each drill in quotation marks of its own."
        )
    return Kind.CHANGE if len(set(chords)) == 2 else Kind.RE_LAND


def _option(word: str, so_far: Drill) -> Drill | None:
    """The drill with one more option read, or None when the word is no option."""
    mark, number = word[:1], word[1:]
    if word in set(Gap):
        return replace(so_far, gap=Gap(word))
    if word == UNSEEN:
        return replace(so_far, unseen=True)
    if PICKS.fullmatch(word):
        return replace(so_far, picks=word)
    # Nine digits are too many for either, as are all that are more.
    if mark == "x" and number.isdecimal():
        return replace(so_far, beats_per_chord=int(number[:9]))
    if mark == "+" and number.isdecimal():
        return replace(so_far, added=int(number[:9]))
    return None


def _check(words: str, kind: Kind, row: KindRow, chords: Sequence[str], options: Drill) -> None:
    if options.picks and not row.picks and not options.name:
        raise InputError(
            f"“{words}”: only a picked drill has an order of strings; leave {options.picks} out."
        )
    if kind is Kind.PASSAGE:
        if len(chords) < 2:
            raise InputError(f'“{words}”: a passage has two chords or more, as in "passage Am:2 G F:3".')
        if options.beats_per_chord > 1:
            raise InputError(f"“{words}”: the chords of a passage have lengths of their own, such as Am:4.")
        return
    fewest, most = row.chords
    distinct = len(set(chords))
    if not fewest <= distinct <= most or (len(chords) != distinct and kind not in _MAY_REPEAT):
        raise InputError(
            f"“{words}”: {_a(options.name or kind)} drill has {_how_many(fewest, most)}, such as "
            f'"{options.name or kind} {row.example}".'
        )
    if not 1 <= options.beats_per_chord <= MOST_BEATS:
        raise InputError(f"“{words}”: a chord is held for 1 to {MOST_BEATS} beats, such as x4.")
    if not row.gaps and options.gap is not Gap.LIFTED:
        raise InputError(
            f"“{words}”: {_a(options.name or kind)} drill is neither muted nor instant; leave that word out."
        )
    if options.added > MOST_ADDED or (options.added and kind is not Kind.SHARED):
        raise InputError(
            f'“{words}”: only a shared drill adds fingers, {MOST_ADDED} at most, as in "shared C Am +1".'
        )


_MAY_REPEAT = {Kind.CHANGE, Kind.RE_LAND, Kind.PRESSURE}
"""Named so, "F F" is F."""


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _how_many(fewest: int, most: int) -> str:
    if fewest == most:
        return "one chord" if most == 1 else "two different chords"
    return f"{fewest} to {most} different chords"


def air_time_ms(tempo_bpm: float, lift: Fraction = HALF_BEAT) -> float:
    """Time in the air before a landing, in ms, when the hand lifts `lift` of a beat early.

    At 60 BPM with the lift on the half-beat: 500 ms.
    Raises ValueError unless tempo_bpm > 0 and 0 < lift <= 1.
    """
    if tempo_bpm <= 0 or not 0 < lift <= 1:
        raise ValueError(f"no air time at {tempo_bpm} BPM with a lift of {lift} of a beat")
    return float(60_000 * lift / Fraction(tempo_bpm))
