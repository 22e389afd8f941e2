"""From a walk through home to what the stage shows. Pure."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.screen import view as v
from pedaltrainer.session.home import Leaf, Walk
from pedaltrainer.session.state import DWELL_S
from pedaltrainer.showing.view_of import Surroundings, ack_view, lesson_view
from pedaltrainer.showing.words import hints_of, lost_words
from pedaltrainer.timing.tapped import tapped_bpm

LEADS_ON = "Escape goes on without."
"""How a lesson is left that leads on to another page."""
OPENING = v.MenuView(title="", choices=(), chosen=0, hints=())
"""Before the first page is there."""


def walk_view(walk: Walk, heard_s: float, around: Surroundings) -> v.StageView:
    """The view of a walk at a heard second."""
    notices = _notices(walk, around)
    if walk.teaching:
        leads_on = bool(walk.after_lesson)
        return lesson_view(around, notices, LEADS_ON) if leads_on else lesson_view(around, notices)
    leaf = walk.leaf
    if leaf is None:
        return OPENING
    if leaf.reads:
        return _read_view(walk, leaf, heard_s, notices)
    rest_s = None if walk.due_s is None else walk.due_s - heard_s
    return v.MenuView(
        title=_title(walk, leaf),
        choices=tuple(row.words for row in leaf.rows),
        chosen=walk.marker,
        hints=_hints(walk, leaf, around),
        notices=notices,
        ack=None if walk.ack is None else ack_view(walk.ack, heard_s),
        boxes=_boxes(leaf.rows[walk.marker].chords or leaf.chords, around.shapes),
        room_for=max(len(chords) for chords in (leaf.chords, *(row.chords for row in leaf.rows))),
        left_handed=around.left_handed,
        rested=None if rest_s is None else min(1.0, max(0.0, 1 - rest_s / DWELL_S)),
        lines=leaf.lines,
        climb=leaf.climb,
        bars=leaf.bars,
    )


def _read_view(walk: Walk, leaf: Leaf, heard_s: float, notices: tuple[str, ...]) -> v.PageView:
    return v.PageView(
        title=leaf.title,
        lines=leaf.lines,
        small_print=leaf.small_print,
        hints=(v.HintView("press", leaf.rows[0].words.lower()),),
        notices=notices,
        ack=None if walk.ack is None else ack_view(walk.ack, heard_s),
    )


def _title(walk: Walk, leaf: Leaf) -> str:
    """The page's; where a tempo is tapped, as it comes."""
    bpm = tapped_bpm(walk.taps_s) if leaf.taps else None
    return leaf.title if bpm is None else f"{round(bpm)} BPM"


def _hints(walk: Walk, leaf: Leaf, around: Surroundings) -> tuple[v.HintView, ...]:
    ways = around.said.in_list
    offered = {Control.PASS_: "beat" if leaf.taps else "move", Control.PAUSE: "choose", Control.FAIL: "back"}
    if Control.PAUSE not in ways and Control.NEXT in ways:
        offered[Control.NEXT] = offered.pop(Control.PAUSE)
    if not walk.trail:
        del offered[Control.FAIL]
    if len(leaf.rows) == 1 and not leaf.taps:
        del offered[Control.PASS_]
    shown = hints_of(offered.items(), ways)
    if not around.said.chooses:
        shown.append(v.HintView("rest the foot", "choose", Control.PAUSE.value))
    return tuple(shown)


def _notices(walk: Walk, around: Surroundings) -> tuple[str, ...]:
    at_first = around.at_first if not walk.trail else ()
    return (*lost_words(walk.lost_input), *walk.notices, *around.notices, *at_first)


def _boxes(chords: tuple[str, ...], book: ShapeBook) -> tuple[ChordBox, ...]:
    found: list[ChordBox] = []
    for chord in chords:
        try:
            hand = hands(parse_drill(chord), book)[0]
        except InputError:
            # The page says that no shape is known; there is none to draw.
            continue
        if hand.shape is not None:
            found.append(ChordBox(hand.name, hand.shape.frets, hand.shape.fingers))
    return tuple(found)
