"""The fingerings that teachers show for given frets, the commonest first, and what stands beside a shape.

A sign a string from the lowest: frets with x not played, fingers with 0 none. Frets without open strings hold
wherever they are moved to along the neck. Common practice, no published source.
"""

from __future__ import annotations

from functools import lru_cache

from pedaltrainer.neck.repertoire import Frets, read_frets

Fingers = tuple[int, ...]

FINGERS = {
    "022100": "023100", "022000": "023000 012000", "020100": "020100", "022130": "023140",
    "020000": "020000 010000", "022030": "023040 012030", "022033": "012034", "021100": "031200 021100",
    "022200": "023400 012300", "022120": "023140", "024100": "024100",
    "x02220": "001230 002130 002340", "x02210": "002310", "x02020": "002030 001020 002010",
    "x02010": "002010", "x02120": "002130",
    "x02200": "001200 002300 003400", "x02230": "001230 001240 002340",
    "x02222": "001111", "x02223": "001112",
    "x32010": "032010", "332010": "342010", "x32310": "032410", "x32000": "032000 021000",
    "x32030": "021030 032040", "x32033": "021034", "x33010": "034010", "x33011": "034011",
    "xx0232": "000132", "xx0231": "000231 000241", "xx0212": "000213", "xx0211": "000211 000312",
    "xx0222": "000111 000123",
    "xx0230": "000130 000120", "xx0233": "000134 000123", "2x0232": "100243 200143",
    "320003": "210003 320004", "320033": "210034", "320001": "320001", "320002": "320001 310002",
    "330013": "230014", "320203": "310204", "320000": "320000 210000", "x20003": "010003 020003 020004",
    "x20033": "010034 020034", "x21202": "021304", "x20202": "020304 010203",
    "133211": "134211", "133111": "134111", "131211": "131211", "131111": "131111", "xx3211": "003211",
    "xx3210": "003210", "x13331": "012341 013331", "x1333x": "012340 013330", "x13321": "013421",
    "x13131": "013141", "x13121": "013121", "x13231": "013241", "133311": "134411 123411",
    "x2323x": "013240", "xx4432": "003421", "133xxx": "134000 133000", "x133xx": "013400 013300",
    "13xxxx": "130000",
}  # fmt: skip

BESIDE = {"320003": "320033", "x32030": "x32033", "020000": "022033", "022030": "022033"}
"""The same chord with a finger more on the high strings: it may stay there for the next chord."""


def listed(frets: Frets) -> tuple[Fingers, ...]:
    """The fingerings that are listed for these frets, the commonest first; none where nothing is listed."""
    return _table().get(_lowered(frets), ())


def is_taught(frets: Frets, fingers: Fingers, best: Fingers) -> bool:
    """Is it listed, or the best where nothing is? The best is nearly always the published fingering."""
    return fingers in (listed(frets) or (best,))


def beside(frets: Frets) -> tuple[Frets, Fingers] | None:
    """The shape that stands beside a shape with these frets, with its fingers."""
    word = _BESIDE.get(frets)
    return None if word is None else (word, listed(word)[0])


_BESIDE = {read_frets(usual): read_frets(other) for usual, other in BESIDE.items()}


@lru_cache(maxsize=1)
def _table() -> dict[Frets, tuple[Fingers, ...]]:
    return {
        _lowered(read_frets(frets)): tuple(tuple(map(int, word)) for word in words.split())
        for frets, words in FINGERS.items()
    }


def _lowered(frets: Frets) -> Frets:
    """Frets without open strings moved down to the first fret."""
    lowest = min((fret for fret in frets if fret is not None), default=0)
    return tuple(None if fret is None else fret - lowest + 1 for fret in frets) if lowest else frets
