"""A tempo that is tapped: the page that hears it, and what is made of it. Pure.

What it is for is a word or two and then its value: "new song", "song Low Water". The page after the taps has
the tempo before that: "104 song Low Water", or "-" where it was tapped too seldom.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pedaltrainer.session.home import Errand, Leaf, LeafRow, Verb
from pedaltrainer.showing.home.pages import page
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM
from pedaltrainer.timing.tapped import FEWEST_TAPS

NEW_SONG, SONG = "new song", "song"
PURPOSES: Mapping[str, Callable[[int, str], Errand]] = {
    NEW_SONG: lambda bpm, value: Errand(Verb.TURN, "write a song", f"{bpm} 4"),
    SONG: lambda bpm, value: Errand(Verb.DO, "song tempo", f"{bpm} {value}", "song", value),
}
"""What is done with the tempo, by what it was tapped for: the longer words first."""


def tap(purpose: str) -> Leaf:
    """Presses are beats here; holding takes their tempo."""
    taken = LeafRow("That is it", Errand(Verb.ACROSS, "tapped", purpose))
    return page("tap", "Tap the beat", [taken], value=purpose, taps=True)


def tapped(value: str) -> Leaf:
    """The tempo, twice and half of it: a foot may have counted otherwise than the song."""
    first, _, rest = value.partition(" ")
    purpose = rest if _is_tempo(first) or first == "-" else value
    again = LeafRow("Tap it again", Errand(Verb.ACROSS, "tap", purpose))
    if not _is_tempo(first):
        lines = (f"A tempo needs {FEWEST_TAPS} taps or more.",)
        return page("tapped", "No tempo yet", [again], value=value, lines=lines)
    bpm = int(first)
    offered = [
        (f"{bpm} BPM", bpm),
        (f"Half of it: {round(bpm / 2)}", round(bpm / 2)),
        (f"Twice that: {bpm * 2}", bpm * 2),
    ]
    rows = [
        LeafRow(words, _errand(purpose, tempo_bpm))
        for words, tempo_bpm in offered
        if SLOWEST_BPM <= tempo_bpm <= FASTEST_BPM
    ]
    return page("tapped", f"{bpm} BPM", [*rows, again], value=value)


def _is_tempo(word: str) -> bool:
    return word.isascii() and word.isdecimal()


def _errand(purpose: str, bpm: int) -> Errand:
    name = next(name for name in PURPOSES if purpose == name or purpose.startswith(f"{name} "))
    return PURPOSES[name](bpm, purpose.removeprefix(name).strip())
