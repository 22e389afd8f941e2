"""The neck: chord symbols and the shapes that play them. Pure; knows nothing of practice."""

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.shapes import Shape, staying_strings
from pedaltrainer.neck.symbols import ChordSymbol, parse_chord

__all__ = ["ChordSymbol", "Shape", "ShapeBook", "parse_chord", "staying_strings"]
