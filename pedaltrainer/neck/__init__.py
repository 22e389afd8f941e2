"""The neck: chord symbols, the shapes that play them, and the way from one to the next.

Pure; knows nothing of practice.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.symbols import ChordSymbol, parse_chord
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.shapes import Shape, staying_strings

if TYPE_CHECKING:
    from pedaltrainer.neck.moves import move
    from pedaltrainer.neck.routes import plan_route, route
    from pedaltrainer.neck.search import shapes_for

__all__ = [
    "ChordSymbol",
    "Shape",
    "ShapeBook",
    "fingerings",
    "move",
    "parse_chord",
    "plan_route",
    "route",
    "shapes_for",
    "staying_strings",
]

_WHEN_ASKED_FOR = {"move": "moves", "plan_route": "routes", "route": "routes", "shapes_for": "search"}
"""Names whose module is imported at their first use: the rest of the neck does without numpy."""


def __getattr__(name: str) -> Any:
    if name in _WHEN_ASKED_FOR:
        return getattr(import_module(f"{__name__}.{_WHEN_ASKED_FOR[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
