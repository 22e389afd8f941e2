"""The neck's findings laid out for a terminal: boxes side by side, then what to know, then what to do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from tabulate import tabulate

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.findings import ChangeFound, ShapesFound
from pedaltrainer.neck.lookup import as_chosen, as_drill, hand_symbol
from pedaltrainer.neck.moves import Deed, HandMove
from pedaltrainer.neck.routes import Plan, PlannedChange
from pedaltrainer.neck.shapes import FINGER_WORDS, Shape, finger_name
from pedaltrainer.system.amounts import counted
from pedaltrainer.telling import neck_words
from pedaltrainer.telling.neck_boxes import change_boxes, foreign_notes, shape_box
from pedaltrainer.telling.text_boxes import Terminal

MOST_BOXES = 16
"""Of a longer route each shape is drawn once."""
LEAST_TOLD = 0.25
"""A quarter of a finger to place; what is less makes no change easier or harder to tell."""
DEAREST = 3
"""So many changes are offered for practice."""
IN_LETTERS = ("(2)", "[2]")
ON_PAPER = ("A ring:", "A dashed ring:")
STAYS_ON = "stays for the next chord"


class Picture(NamedTuple):
    """What is drawn of a finding on paper."""

    boxes: Sequence[ChordBox]
    heading: str
    legend: Sequence[str]


# --- shapes ------------------------------------------------------------------------


def numbered_boxes(found: ShapesFound) -> list[ChordBox]:
    """A box a shape, numbered when there are several."""
    name = str(found.chord.symbol)
    titles = [f"{number}. {name}" for number in range(1, len(found.shapes) + 1)]
    return [
        shape_box(name, shape, title if len(titles) > 1 else name)
        for shape, title in zip(found.shapes, titles, strict=True)
    ]


def heading(found: ShapesFound) -> str:
    """ "Bm7b5 is B D F A (1 b3 b5 b7)"."""
    spelling = found.spelling
    over = f" over {spelling.symbol.bass}" if spelling.symbol.bass else ""
    degrees = " ".join(tone.degree for tone in spelling.tones)
    return f"{spelling.symbol} is {' '.join(spelling.note_names)} ({degrees}){over}"


def shapes_report(found: ShapesFound, book: ShapeBook, terminal: Terminal) -> str:
    """The shapes of a chord, best first."""
    name = str(found.chord)
    about = [heading(found) + ".", *_neck_lines(found.setup.tuning, name), *_foreign(name, found.shapes[0])]
    tell = [
        terminal.wrapped(f"{number + 1}. {_sentence(neck_words.find_words(find, found.setup.tuning))}", "   ")
        for number, find in found.finds.items()
    ]
    first = as_drill(str(found.chord), found.shapes[0], book)
    practise = f"To practise the first: {_play(first, found.setup.tuning)}"
    parts = ["\n".join(about), terminal.boxes(numbered_boxes(found)), "\n".join(tell), practise]
    return "\n\n".join(part for part in parts if part)


def _sentence(told: str) -> str:
    return f"{told[:1].upper()}{told[1:]}."


def shapes_picture(found: ShapesFound) -> Picture:
    return Picture(numbered_boxes(found), heading(found), _neck_lines(found.setup.tuning, str(found.chord)))


def _neck_lines(tuning: Tuning, *symbols: str) -> list[str]:
    """What is special about the neck: its tuning, and above a capo the chords whose shapes the hand makes."""
    lines = [] if tuning.open_midi == STANDARD_TUNING.open_midi else [f"Tuning {tuning.name}."]
    if tuning.capo:
        made = dict.fromkeys(hand_symbol(parse_chosen(symbol).symbol, tuning.capo) for symbol in symbols)
        lines.append(f"Capo at fret {tuning.capo}: the hand makes {neck_words.listed(map(str, made))} there.")
    return lines


def _foreign(symbol: str, shape: Shape) -> list[str]:
    """A sentence when chosen frets sound notes that are not of the chord."""
    foreign = foreign_notes(symbol, shape)
    if not foreign:
        return []
    name, are = parse_chosen(symbol).symbol, "is" if len(foreign) == 1 else "are"
    return [f"{neck_words.listed(foreign)} {are} not of {name}; the interval stands in parentheses."]


def _play(drill: str, tuning: Tuning) -> str:
    """The command that practises a drill in this tuning; above a capo too, which a session need not know."""
    named = "" if tuning.open_midi == STANDARD_TUNING.open_midi else f' --tuning "{tuning.name}"'
    return f'pedaltrainer play "{drill}"{named}'


# --- a change ----------------------------------------------------------------------


def change_report(found: ChangeFound, book: ShapeBook, terminal: Terminal) -> str:
    """What the hand does in a change, what makes it dear, other ways, and how to practise it."""
    change = found.here_and_now.move
    boxes = change_boxes(found.symbols, change)
    played = zip(found.symbols, (change.here, change.there), strict=True)
    strange = [line for symbol, shape in played for line in _foreign(symbol, shape)]
    short = neck_words.in_short(change)
    does = [terminal.wrapped(line) for line in neck_words.move_lines(change)]
    parts = [
        "\n".join(_neck_lines(found.setup.tuning, *found.symbols)),
        terminal.boxes(boxes),
        "\n".join([*_legend(boxes, IN_LETTERS), *strange]),
        "\n".join([*does, terminal.wrapped(neck_words.hand_line(change)), _sentence(f"in short: {short}")]),
        "\n".join(neck_words.burden_lines(change)),
        _other_ways(found, terminal),
        "\n".join(["To practise:", *_drills(found, book, terminal)]),
    ]
    return "\n\n".join(part for part in parts if part)


def change_picture(found: ChangeFound) -> Picture:
    change = found.here_and_now.move
    boxes = change_boxes(found.symbols, change)
    lines = [*neck_words.move_lines(change), neck_words.hand_line(change)]
    return Picture(
        boxes, "", [*_legend(boxes, ON_PAPER), "", *lines, *_neck_lines(found.setup.tuning, *found.symbols)]
    )


def _legend(boxes: Sequence[ChordBox], marks: tuple[str, str], stays: str = "stays where it is") -> list[str]:
    """What the marks of these boxes mean; nothing when there are none."""
    ring, block = marks
    told = [
        (f"{ring} {stays}", any(box.stays for box in boxes)),
        (
            f"{block} moves together with the others so marked, as one block",
            any(box.together for box in boxes),
        ),
    ]
    return [line for line, is_there in told if is_there]


def _other_ways(found: ChangeFound, terminal: Terminal) -> str:
    if not found.others:
        return ""
    easier = found.easier
    told = terminal.wrapped(
        f"Of {found.tried - 1} other ways to finger this change, {easier or 'none'} "
        f"{'is' if easier <= 1 else 'are'} easier, to change and in all. Best first:",
        "",
    )
    rows = [
        f"  {_named(found.symbols, way.move)}\n      {neck_words.in_short(way.move)}" for way in found.others
    ]
    return "\n".join([told, *rows])


def _named(symbols: tuple[str, str], change: HandMove) -> str:
    return " ".join(map(as_chosen, symbols, (change.here, change.there)))


def _drills(found: ChangeFound, book: ShapeBook, terminal: Terminal) -> list[str]:
    change = found.here_and_now.move
    names = [
        as_drill(symbol, shape, book)
        for symbol, shape in zip(found.symbols, (change.here, change.there), strict=True)
    ]
    drill, tuning = " ".join(names), found.setup.tuning
    lines = [f"  {_play(drill, tuning)}"]
    if found.easiest is not None:
        easier = found.easiest.move
        named = zip(found.symbols, (easier.here, easier.there), strict=True)
        other = " ".join(as_drill(symbol, shape, book) for symbol, shape in named)
        lines += [f"  {_play(other, tuning)}", "      the easiest way to finger it"]
    more = [step.added for step in found.shared[1:]]
    if more:
        own = [FINGER_WORDS[finger] for finger in sorted(set(found.shared[0].there.fingers) - {0})]
        steps = [f"+{number} adds the {finger_name(added)}" for number, added in enumerate(more, 1) if added]
        lines += [
            f"  {_play(f'shared {drill}', tuning)}",
            f"      only {neck_words.listed(own)}; {', '.join(steps)}",
        ]
    if found.level is not None:
        told = f"      both at fret {found.level.position}: the fingers' work without the travel"
        lines += [f"  {_play(f'level {drill}', tuning)}", told]
    elif abs(change.along_frets) >= neck_words.MOVES_FROM_FRETS:
        lines.append(terminal.wrapped(f"  No level drill: {found.why_not_level}"))
    return lines


# --- a route -----------------------------------------------------------------------


def route_boxes(plan: Plan) -> list[ChordBox]:
    """The shapes in their order, marked for the next chord; of a long song each shape once, unmarked."""
    if len(plan.shapes) > MOST_BOXES:
        distinct = dict.fromkeys(zip(plan.symbols, plan.shapes, strict=True))
        return [shape_box(symbol, shape) for symbol, shape in distinct]
    boxes = [shape_box(symbol, shape) for symbol, shape in zip(plan.symbols, plan.shapes, strict=True)]
    for step in plan.changes:
        here, _ = change_boxes((plan.symbols[step.here], plan.symbols[step.there]), step.move)
        boxes[step.here] = replace(boxes[step.here], stays=here.stays, together=here.together)
    return boxes


def route_picture(plan: Plan) -> Picture:
    boxes = route_boxes(plan)
    return Picture(
        boxes, "", [*_legend(boxes, ON_PAPER, STAYS_ON), *_neck_lines(plan.shapes[0].tuning, *plan.symbols)]
    )


def savings(plan: Plan) -> str:
    """One sentence: what the route saves."""
    if plan.shapes == plan.textbook:
        return "The usual fingering of each chord is the easiest here."
    ours = sum(_to_place(step.move) for step in plan.changes)
    usual = sum(_to_place(step.textbook) for step in plan.changes)
    fewer = f" ({counted(ours, 'finger')} to place, else {usual})" if ours < usual else ""
    return f"Easier than the usual fingering of each chord{fewer}:"


def _to_place(change: HandMove) -> int:
    return len(change.doing(Deed.LIFTS, Deed.IS_ADDED))


def route_report(plan: Plan, book: ShapeBook, terminal: Terminal) -> str:
    """The fingerings of a route, its changes beside the textbook's, and the words to practise them by."""
    boxes = route_boxes(plan)
    parts = [
        "\n".join(_neck_lines(plan.shapes[0].tuning, *plan.symbols)),
        terminal.boxes(boxes),
        "\n".join(_legend(boxes, IN_LETTERS, STAYS_ON)),
        "\n".join([savings(plan), *_instead(plan)]),
        _changes_table(plan),
        "\n".join(["To practise, the dearest first:", *_dearest(plan, book)]) if plan.changes else "",
    ]
    return "\n\n".join(part for part in parts if part)


def _instead(plan: Plan) -> list[str]:
    """Where the route's fingering is not the usual one."""
    pairs = dict.fromkeys(zip(plan.symbols, plan.shapes, plan.textbook, strict=True))
    return [
        f"  {as_chosen(symbol, ours)} in place of {as_chosen(symbol, usual)}"
        for symbol, ours, usual in pairs
        if ours != usual
    ]


def _changes_table(plan: Plan) -> str:
    names = [str(parse_chosen(symbol).symbol) for symbol in plan.symbols]
    rows = Counter(
        (f"{names[step.here]} - {names[step.there]}", neck_words.in_short(step.move), _beside_usual(step))
        for step in plan.changes
        if step.move.here != step.move.there
    )
    told = [(f"{name} (x{times})" if times > 1 else name, *rest) for (name, *rest), times in rows.items()]
    if not told:
        return ""
    headers = ("change", "the fingers", "" if plan.shapes == plan.textbook else "than usual")
    return str(tabulate(told, headers, tablefmt="plain", disable_numparse=True))


def _beside_usual(step: PlannedChange) -> str:
    if abs(step.saving) < LEAST_TOLD:
        return ""
    return "easier" if step.saving > 0 else "harder"


def _dearest(plan: Plan, book: ShapeBook) -> list[str]:
    dearest = sorted(plan.changes, key=lambda step: -step.move.cost)
    drills = dict.fromkeys(
        " ".join(as_drill(plan.symbols[at], plan.shapes[at], book) for at in (step.here, step.there))
        for step in dearest
        if step.move.here != step.move.there
    )
    tuning = plan.shapes[0].tuning
    return [f"  {_play(drill, tuning)}" for drill in list(drills)[:DEAREST]]
