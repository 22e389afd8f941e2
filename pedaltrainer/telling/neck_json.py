"""The neck's findings as plain data, for `--json`. Strings run from the lowest, fingers are numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pedaltrainer.neck.box import barres
from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.neck.findings import ChangeFound, ShapesFound
from pedaltrainer.neck.lookup import as_chosen
from pedaltrainer.neck.moves import FingerMove, HandMove
from pedaltrainer.neck.pieces import Find
from pedaltrainer.neck.routes import Plan
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.telling.neck_boxes import sounding, strings_named
from pedaltrainer.telling.neck_words import find_words


def shape(symbol: str, one: Shape) -> dict[str, Any]:
    """A shape: frets (None not played, 0 open), fingers, position, and what sounds."""
    notes, degrees = strings_named(symbol, one)
    return {
        "name": as_chosen(symbol, one),
        "frets": list(one.frets),
        "fingers": list(one.fingers),
        "position": one.position,
        "midi": list(sounding(one)),
        "notes": [note or None for note in notes],
        "degrees": [degree or None for degree in degrees],
        "barres": [
            {"finger": barre.finger, "fret": barre.fret, "strings": [barre.first_string, barre.last_string]}
            for barre in barres(one.frets, one.fingers)
        ],
    }


def shapes(found: ShapesFound) -> dict[str, Any]:
    """What `shape` prints. hand_makes: the chord whose shape it is above the capo."""
    symbol, its_tuning = str(found.chord.symbol), found.setup.tuning
    finds = {number: find(one, its_tuning) for number, one in found.finds.items()}
    return {
        "symbol": symbol,
        "notes": list(found.spelling.note_names),
        "degrees": [tone.degree for tone in found.spelling.tones],
        "bass": found.spelling.symbol.bass,
        "hand_makes": str(found.hand_makes),
        "tuning": tuning(its_tuning),
        "shapes": [
            shape(symbol, one) | {"found_inside": finds.get(number)}
            for number, one in enumerate(found.shapes)
        ],
    }


def change_found(found: ChangeFound) -> dict[str, Any]:
    """What `moves` prints. place: the rank of this way among all tried, 1 the easiest."""
    symbols, way = found.symbols, found.here_and_now
    return {
        "tuning": tuning(found.setup.tuning),
        **change(symbols, way.move),
        "cost_in_all": round(way.cost, 2),
        "place": found.place,
        "tried": found.tried,
        "others": [
            {
                "here": as_chosen(symbols[0], other.move.here),
                "there": as_chosen(symbols[1], other.move.there),
                "travel_mm": round(other.move.travel_mm, 1),
                "cost": round(other.move.cost, 2),
                "cost_in_all": round(other.cost, 2),
            }
            for other in found.others
        ],
        "level": None if found.level is None else _partial(found.level),
        "why_not_level": found.why_not_level or None,
        "shared": [
            {"here": _partial(step.here), "there": _partial(step.there), "added": step.added}
            for step in found.shared
        ],
    }


def _partial(one: Shape) -> dict[str, Any]:
    return {"frets": list(one.frets), "fingers": list(one.fingers)}


def tuning(one: Tuning) -> dict[str, Any]:
    return {"name": one.name, "open_midi": list(one.open_midi), "capo": one.capo}


def find(one: Find, its_tuning: Tuning) -> dict[str, Any]:
    """A known shape found inside a new one."""
    return {
        "symbol": one.symbol,
        "strings": one.strings,
        "frets": one.frets,
        "fingers": [list(pair) for pair in one.fingers],
        "added": list(one.added),
        "laid_flat": list(one.laid_flat),
        "words": find_words(one, its_tuning),
    }


def change(symbols: tuple[str, str], one: HandMove) -> dict[str, Any]:
    """A change, finger by finger; lengths in mm."""
    return {
        "here": shape(symbols[0], one.here),
        "there": shape(symbols[1], one.there),
        "fingers": [_finger(finger) for finger in one.fingers],
        "pattern": {"fingers": sorted(one.pattern), "shift": list(one.pattern_shift)},
        "along_frets": one.along_frets,
        "along_mm": round(one.along_mm, 1),
        "travel_mm": round(one.travel_mm, 1),
        "cost": round(one.cost, 2),
        "cost_parts": [
            {"what": part.burden.value, "cost": round(part.cost, 2), "fingers": list(part.fingers)}
            for part in one.parts
        ],
    }


def _finger(one: FingerMove) -> dict[str, Any]:
    return {
        "finger": one.finger,
        "deed": one.deed.value,
        "from": _place(one.from_strings, one.from_fret),
        "to": _place(one.to_strings, one.to_fret),
        "distance_mm": round(one.distance_mm, 1),
        "lands_flat": one.lands_flat,
    }


def _place(strings: Sequence[int], fret: int) -> dict[str, Any] | None:
    return {"strings": list(strings), "fret": fret} if strings else None


def plan(one: Plan) -> dict[str, Any]:
    """A route beside the textbook's: costs in the units of the table of costs."""
    return {
        "symbols": list(one.symbols),
        "shapes": [shape(*pair) for pair in zip(one.symbols, one.shapes, strict=True)],
        "textbook": [shape(*pair) for pair in zip(one.symbols, one.textbook, strict=True)],
        "cost": round(one.cost, 2),
        "textbook_cost": round(one.textbook_cost, 2),
        "saving": round(one.saving, 2),
        "changes": [
            {
                "here": step.here,
                "there": step.there,
                "cost": round(step.move.cost, 2),
                "textbook_cost": round(step.textbook.cost, 2),
                "saving": round(step.saving, 2),
                "travel_mm": round(step.move.travel_mm, 1),
            }
            for step in one.changes
        ],
    }
