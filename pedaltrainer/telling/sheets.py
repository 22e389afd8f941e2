"""From drills, songs and days to a practice sheet's content. Pure."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.neck.moves import move
from pedaltrainer.paper.sheet import Entry, Exercise, Sheet
from pedaltrainer.practice.coach.readiness import Need
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.hands import Hand, hands
from pedaltrainer.practice.progress import Day
from pedaltrainer.showing.pages import CAUTIONS, QUIET, SEE_SOMEBODY, STOP
from pedaltrainer.showing.results import CLEAN_TEMPO
from pedaltrainer.telling.neck_boxes import change_boxes
from pedaltrainer.telling.songs import date_words

MOST_DRILLS = 12
"""Drills on a sheet when none are named: four pages, more than anybody practises in a week."""
MOST_BOXES = 12
"""Chord boxes of a drill: with more, a long passage would not fit on a page."""
EMPTY_EXERCISES = 3
"""Of a sheet that names no drill: a page."""
LINE_LETTERS = 116
TITLE = "Practice sheet"

STEP_BPM, CLEAN_IN_A_ROW, ENOUGH_TAKES = 4, 3, 20
"""The rule on paper: so many clean in a row lead a step up, one miss a step down. It settles where
p ** CLEAN_IN_A_ROW is a half, p being the chance of a clean take: at 79 % (H. Levitt 1971, "Transformed
up-down methods in psychoacoustics", J. Acoust. Soc. Am. 49, 467-477)."""
HOW_TO = (
    "Set a metronome to an easy tempo, and keep it quiet. Count four beats in, then play eight landings, "
    "each chord on its beat. Clean is eight of eight, in time and every string sounding. Until the first "
    f"miss go a step ({STEP_BPM} BPM) up after each clean take. From then on: three clean in a row, a step "
    f"up; one missed, a step down. Where you stand after {ENOUGH_TAKES} takes is about your clean tempo, the "
    "fastest at which eight landings come out clean four times in five: write it into a box, and how many "
    "takes it rests on."
)
HOW_TO_READ = (
    f"A dated box holds the day's clean tempo, and in small where it lies nine times in ten. {CLEAN_TEMPO} "
    "The empty boxes are for your pencil."
)
# Paper has no click; when to stop has a line of its own.
ON_PAPER = (" ".join(one for one in CAUTIONS if one not in {STOP, QUIET}), f"{STOP} {SEE_SOMEBODY}")
RINGS = (
    "In a chord box a ring is a finger that stays where it is, "
    "a dashed ring one that moves as one block with others."
)


@dataclass(frozen=True, slots=True)
class SheetDrill:
    """A drill for the sheet: its days, oldest first, and what its songs need of it."""

    drill: Drill
    days: tuple[Day, ...] = ()
    need: Need | None = None


def sheet_of(
    asked: Sequence[SheetDrill],
    book: ShapeBook,
    player: str = "",
    target_bpm: float | None = None,
    blank: bool = False,
) -> Sheet:
    """A sheet of these drills; of none, one to be filled in from end to end.

    blank: with how to use it without a computer. Raises InputError for a drill that cannot be made of
    these shapes.
    """
    empty = tuple([_empty_exercise(book, target_bpm)] * EMPTY_EXERCISES)
    exercises = tuple(_exercise(one, book, target_bpm) for one in asked) or empty
    has_rings = any(box.stays or box.together for one in exercises for box in one.boxes)
    small_print = (RINGS, *ON_PAPER) if has_rings else ON_PAPER
    introduction = textwrap.wrap(HOW_TO if blank else HOW_TO_READ, LINE_LETTERS)
    return Sheet(TITLE, player, exercises, tuple(introduction), small_print)


def _empty_exercise(book: ShapeBook, target_bpm: float | None) -> Exercise:
    target = f"{target_bpm:.0f}" if target_bpm else ""
    return Exercise("", (_empty_box("", book),) * 2, target)


def _empty_box(title: str, book: ShapeBook) -> ChordBox:
    return ChordBox(title, (None,) * book.tuning.strings, (0,) * book.tuning.strings)


def _exercise(asked: SheetDrill, book: ShapeBook, target_bpm: float | None) -> Exercise:
    drill, need = asked.drill, asked.need
    entries = tuple(_entry(drill, day) for day in asked.days)
    boxes = boxes_of(drill, book)
    if drill.row.measures_nothing:
        return Exercise(drill.title, boxes, unit="minutes", entries=entries)
    if target_bpm is not None:
        return Exercise(drill.title, boxes, f"{target_bpm:.0f}", entries=entries)
    if need is None:
        return Exercise(drill.title, boxes, entries=entries)
    return Exercise(drill.title, boxes, f"{need.tempo_bpm:.0f}", _reason(need), entries=entries)


def _reason(need: Need) -> str:
    songs = "for " + ", ".join(need.songs)
    return f"by {date_words(need.by)}, {songs}" if need.by else songs


def _entry(drill: Drill, day: Day) -> Entry:
    when = f"{day.date.day} {day.date:%b}"
    if drill.row.measures_nothing:
        minutes = f"{day.minutes:.0f}" if day.minutes >= 0.5 else "< 1"
        return Entry(when, minutes, takes=day.takes)
    return Entry(when, *_figure(day), takes=day.takes)


def _figure(day: Day) -> tuple[str, str]:
    """The number of a day and the small words below it, with no more certainty than there is."""
    if day.high_bpm is None:
        return f"> {day.low_bpm:.0f}", "all clean"
    if day.low_bpm is None:
        return f"< {day.high_bpm:.0f}", "none clean"
    within = f"{day.low_bpm:.0f} to {day.high_bpm:.0f}"
    return (f"{day.bpm:.0f}" if day.bpm is not None else "?"), within


def boxes_of(drill: Drill, book: ShapeBook) -> tuple[ChordBox, ...]:
    """The boxes of what a drill puts under the hand, each chord once, of two with rings; at most MOST_BOXES.

    A chord without a known shape has an empty box. Raises InputError when the drill cannot be made of
    these shapes.
    """
    there = tuple(dict.fromkeys(hands(drill, book)))
    if len(there) == 2 and drill.kind is not Kind.PASSAGE:
        here, to = there
        if here.shape is not None and to.shape is not None:
            marked = change_boxes((here.name, to.name), move(here.shape, to.shape))
            return tuple(replace(box, below=()) for box in marked)
    return tuple(_box(hand, book) for hand in there[:MOST_BOXES])


def _box(hand: Hand, book: ShapeBook) -> ChordBox:
    if hand.shape is None:
        return _empty_box(hand.name, book)
    return ChordBox(hand.name, hand.shape.frets, hand.shape.fingers, capo=hand.shape.tuning.capo)


# --- which drills -------------------------------------------------------------------------


def need_for(drill: Drill, needs: Mapping[str, Need]) -> Need | None:
    """What the songs need of a drill. However many beats a chord lasts, the air time is the same."""
    return needs.get(replace(drill, beats_per_chord=1).key)


def chosen(drills: Iterable[Drill], needs: Mapping[str, Need], book: ShapeBook) -> tuple[list[Drill], int]:
    """The drills for a sheet when none are named, those that songs need first; and how many are left out.

    A drill that cannot be made of the shapes of today is passed over.
    """
    there = [drill for drill in drills if _can_be_drawn(drill, book)]
    there.sort(key=lambda drill: need_for(drill, needs) is None)
    return there[:MOST_DRILLS], len(there[MOST_DRILLS:])


def _can_be_drawn(drill: Drill, book: ShapeBook) -> bool:
    try:
        hands(drill, book)
    except InputError:
        return False
    return True
