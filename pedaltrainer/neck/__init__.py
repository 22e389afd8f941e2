"""The neck: chord symbols, the shapes that play them, and the way from one to the next.

Pure; knows nothing of practice. `fingerings`, `shapes_for` and `route` are all that one needs from outside.
"""

from collections.abc import Mapping, Sequence

from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.geometry import HAND_SPAN_MM, USUAL_NECK, NeckSize
from pedaltrainer.neck.shapes import Shape

__all__ = ["fingerings", "route", "shapes_for"]

# What both functions need is imported when they are called, so that reading a symbol waits for no numpy.


def shapes_for(
    symbol: str,
    tuning: Tuning = STANDARD_TUNING,
    *,
    near: int | None = None,
    neck: NeckSize = USUAL_NECK,
    span_mm: float = HAND_SPAN_MM,
    limit: int | None = 24,
) -> tuple[Shape, ...]:
    """The shapes that play a chord, best first, each with its best fingers; cached.

    symbol: the chord as it sounds, with a capo too. near: a fret, counted from the capo; shapes whose
    position is nearest to it come first. span_mm: how far apart index and little finger reach along the
    strings. limit: no more than so many, None for all that were given fingers.
    Raises InputError for what is no chord symbol, for one that this tuning cannot play, and for a tuning,
    fret or span that no neck or hand has.
    """
    from pedaltrainer.neck.search import search

    return tuple(one.shape for one in search(symbol, tuning, near=near, neck=neck, span_mm=span_mm)[:limit])


def route(
    symbols: Sequence[str],
    tuning: Tuning = STANDARD_TUNING,
    *,
    choices: int = 12,
    shapes: Mapping[str, Sequence[Shape]] | None = None,
    usual: Mapping[str, Shape] | None = None,
    neck: NeckSize = USUAL_NECK,
    repeats: bool = False,
    free: bool = False,
) -> tuple[Shape, ...]:
    """One shape a symbol, the same wherever it comes, so that the whole sequence is cheapest; of equal
    routes always the same one.

    symbols: a chord may carry chosen frets and fingers, such as G[320003/320004]; they pin it. choices:
    fingerings considered a chord. shapes: for some symbols, written as in the sequence, the only shapes to
    consider, as fingered, the textbook one first. usual: for some symbols the textbook shape, considered
    beside those that are found. repeats: the song starts again, so that the change from its last chord to
    its first counts. free: a symbol may be given now one shape, now another.
    Raises InputError for what is no chord symbol, or has no shape in this tuning.
    """
    from pedaltrainer.neck.routes import Trellis

    song = Trellis(symbols, tuning, choices, shapes or {}, usual or {}, neck)
    return song.shapes(song.best(repeats, free))
