"""Pure: what the neck finds, in a player's words.

Fingers are index, middle, ring, little and thumb. Strings of a guitar in the standard tuning are named
low E, A, D, G, B, high E; in any other tuning they are numbered, string 1 being the highest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.moves import Deed, FingerMove, HandMove
from pedaltrainer.neck.pairs import Burden
from pedaltrainer.neck.pieces import Find
from pedaltrainer.neck.shapes import FINGER_WORDS
from pedaltrainer.system.amounts import plural

MOVES_FROM_FRETS = 2
"""A fret more or less is within reach of the fingers: the hand moves from two on."""
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

_BURDENS: dict[Burden, tuple[str, str]] = {
    Burden.OWN_MOVERS: ("goes its own way", "go their own ways"),
    Burden.BLOCK: ("moves as a block", "move as one block"),
    Burden.GUIDES: ("slides to its place", "slide to their places"),
    Burden.ADDED: ("is put down from the air", "are put down from the air"),
    Burden.LEAVING: ("lets go", "let go"),
    Burden.ANCHOR: ("stays and shows the others where they are", "stay and show the others where they are"),
    Burden.BARRE_LANDING: (
        "lies flat and must sound at once on every string",
        "lie flat and must sound at once on every string",
    ),
}
"""After one finger, after several."""
_WHOLE_HAND = {
    Burden.REGRIP: "no finger keeps touch: the hand has to find its place anew",
    Burden.TRAVEL: "the hand travels along the neck",
}


def count(number: int, thing: str) -> str:
    """ "one string", "two frets", "14 frets"."""
    word = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{word} {plural(number, thing)}"


def listed(words: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    *others, last = words
    return f"{', '.join(others)} and {last}" if others else last


def string_name(string: int, tuning: Tuning) -> str:
    """A string (0 = lowest) as players call it: "the A string", "string 5"."""
    called = tuning.called[string]
    return f"the {called} string" if _has_names(tuning) else called


def place(strings: Sequence[int], fret: int, tuning: Tuning) -> str:
    """Where a finger is: "the A string, fret 3"; lying flat "fret 1 (A to high E string)"."""
    if len(strings) == 1:
        return f"{string_name(strings[0], tuning)}, fret {fret}"
    return f"fret {fret} ({_across(strings, tuning)})"


def _across(strings: Sequence[int], tuning: Tuning) -> str:
    """ "A to high E string": what a flat finger lies over."""
    if _has_names(tuning):
        return f"{tuning.called[strings[0]]} to {tuning.called[strings[-1]]} string"
    return f"strings {tuning.strings - strings[0]} to {tuning.strings - strings[-1]}"


def shift(strings: int, frets: int, tuning: Tuning) -> str:
    """A move by strings (towards the highest when above 0) and frets: "one string towards the low E"."""
    parts = []
    if strings:
        ends = ("the low E", "the high E") if _has_names(tuning) else (f"string {tuning.strings}", "string 1")
        parts.append(f"{count(abs(strings), 'string')} towards {ends[strings > 0]}")
    if frets:
        parts.append(f"{count(abs(frets), 'fret')} {'up' if frets > 0 else 'down'} the neck")
    return " and ".join(parts)


def _has_names(tuning: Tuning) -> bool:
    return tuning.open_midi == STANDARD_TUNING.open_midi


# --- a change ------------------------------------------------------------------------


def move_lines(change: HandMove) -> list[str]:
    """What each finger does, a line a finger; those that move as one block share a line."""
    block = [finger for finger in change.fingers if finger.deed is Deed.BLOCK]
    lines = []
    for finger in change.fingers:
        if finger.deed is not Deed.BLOCK:
            lines.append(_finger_line(finger, change.here.tuning))
        elif finger is block[0]:
            lines.append(_block_line(block, change))
    return lines


def _finger_line(finger: FingerMove, tuning: Tuning) -> str:
    start, end = (
        place(strings, fret, tuning) if strings else ""
        for strings, fret in ((finger.from_strings, finger.from_fret), (finger.to_strings, finger.to_fret))
    )
    was_flat, is_flat = (len(strings) > 1 for strings in (finger.from_strings, finger.to_strings))
    flat = ", laid flat" if finger.lands_flat else ""
    comma = "" if was_flat else ","
    goal = end if finger.to_strings != finger.from_strings else f"fret {finger.to_fret}"
    words = {
        Deed.STAYS: f"stays flat at {end}" if is_flat else f"stays on {end}",
        Deed.ROLLS: f"{'lies flat and rolls on' if was_flat else f'keeps its tip on {start}, and rolls flat'}"
        f" ({_across(finger.to_strings, tuning)})"
        if is_flat
        else "",
        Deed.UNROLLS: f"unrolls to its tip on {end}",
        Deed.SLIDES: f"slides from {start}{comma} to {goal}{flat}",
        Deed.LIFTS: f"shifts one string, from {start}, to {end}"
        if _is_shift(finger)
        else f"lifts from {start}{comma} to {end}{flat}",
        Deed.LEAVES: f"leaves {start}",
        Deed.IS_ADDED: f"is laid flat at {end}" if flat else f"is added {'at' if is_flat else 'on'} {end}",
    }[finger.deed]
    return f"{FINGER_WORDS[finger.finger].capitalize()}: {words}{_distance(finger.distance_mm)}."


def _is_shift(finger: FingerMove) -> bool:
    """Does a tip go to the next string in its fret?"""
    strings = (*finger.from_strings, *finger.to_strings)
    return len(strings) == 2 and abs(strings[0] - strings[1]) == 1 and finger.from_fret == finger.to_fret


def _block_line(block: Sequence[FingerMove], change: HandMove) -> str:
    strings, frets = block_shift(block)
    along = "the same frets" if not frets else "the same strings" if not strings else ""
    way = shift(strings, frets, change.here.tuning) + (f", {along}" if along else "")
    farthest = max(finger.distance_mm for finger in block)
    names = listed(FINGER_WORDS[finger.finger] for finger in block)
    return f"{names.capitalize()}: move as one block, {way}{_distance(farthest)}."


def block_shift(block: Sequence[FingerMove]) -> tuple[int, int]:
    """(strings, frets) by which the fingers of a block all move."""
    # A flat finger may come to hold fewer strings than it did; a fingertip tells the shift exactly.
    tip = min(block, key=lambda finger: len(finger.from_strings) + len(finger.to_strings))
    return tip.to_strings[0] - tip.from_strings[0], tip.to_fret - tip.from_fret


def _distance(distance_mm: float) -> str:
    return f"; {distance_mm:.0f} mm" if distance_mm >= 0.5 else ""


def in_short(change: HandMove) -> str:
    """ "3 to place, 1 guides, the hand stays": what a change asks of the hand, by how many fingers."""
    if change.here == change.there:
        return "nothing moves"
    told = [
        f"{len(fingers)} {one if len(fingers) == 1 else several}"
        for deeds, one, several in _IN_SHORT
        if (fingers := change.doing(*deeds))
    ]
    moves = _is_moving(change)
    way = f"moves {count(abs(change.along_frets), 'fret')} {_way(change)}" if moves else "stays"
    return ", ".join([*(told or ["nothing to place"]), f"the hand {way}"])


_IN_SHORT = (
    ((Deed.LIFTS, Deed.IS_ADDED), "to place", "to place"),
    ((Deed.ROLLS,), "to roll flat", "to roll flat"),
    ((Deed.BLOCK,), "as one", "as one"),
    ((Deed.SLIDES,), "guides", "guide"),
    ((Deed.UNROLLS,), "unrolls", "unroll"),
    ((Deed.STAYS,), "stays", "stay"),
)


def _is_moving(change: HandMove) -> bool:
    return abs(change.along_frets) >= MOVES_FROM_FRETS


def _way(change: HandMove) -> str:
    return "up" if change.along_frets > 0 else "down"


def hand_line(change: HandMove) -> str:
    """What the hand does along the neck, and how far the fingertips go in all."""
    travel = f"the fingertips travel {change.travel_mm:.0f} mm in all"
    if not _is_moving(change):
        return f"The hand keeps its place on the neck; {travel}."
    towards = "up the neck, towards the body" if change.along_frets > 0 else "down the neck, towards the nut"
    frets = count(abs(change.along_frets), "fret")
    return f"The hand moves {frets} {towards} ({abs(change.along_mm):.0f} mm); {travel}."


def burden_lines(change: HandMove) -> list[str]:
    """What makes a change hard, the hardest first, and what helps."""
    parts = [part for part in change.parts if part.burden is not Burden.TRAVEL or _is_moving(change)]
    hard = sorted((part for part in parts if part.cost > 0), key=lambda part: -part.cost)
    told = []
    for heading, these in (
        ("What makes it hard, the hardest first:", hard),
        ("What helps:", [part for part in parts if part.cost < 0]),
    ):
        if these:
            told += [heading, *(f"  {_burden(part.burden, part.fingers)}" for part in these)]
    return told


def _burden(burden: Burden, fingers: Sequence[int]) -> str:
    if burden in _WHOLE_HAND:
        return _WHOLE_HAND[burden]
    one, several = _BURDENS[burden]
    return f"{listed(FINGER_WORDS[finger] for finger in fingers)} {one if len(fingers) == 1 else several}"


# --- a known shape inside a new one -----------------------------------------------------


def find_words(find: Find, tuning: Tuning) -> str:
    """ "the shape you know as D, moved one string towards the low E, plus one finger (little)"."""
    moved = shift(find.strings, find.frets, tuning)
    words = f"the shape you know as {find.symbol}" + (f", moved {moved}" if moved else "")
    if not find.same_fingers:
        words += (
            f", held with {listed(FINGER_WORDS[now] for now in sorted({now for _, now in find.fingers}))}"
        )
    if find.laid_flat:
        words += f", with {listed(FINGER_WORDS[finger] for finger in find.laid_flat)} laid flat"
    if find.added:
        names = listed(FINGER_WORDS[finger] for finger in find.added)
        words += f", plus {count(len(find.added), 'finger')} ({names})"
    return words
