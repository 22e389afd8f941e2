"""The first start: the cautions, the pedal, the screen, and how fast changes go today. Pure."""

from __future__ import annotations

from pedaltrainer.screen.view import Sight
from pedaltrainer.session.home import HOME, Errand, Leaf, Verb
from pedaltrainer.showing.home import set_up
from pedaltrainer.showing.home.pages import do, page, teach, turn
from pedaltrainer.showing.pages import CAUTIONS, SEE_SOMEBODY

CAUTIONS_PAGE, FURTHER = "cautions", "further"
ON_THE_FIRST = 3
"""Cautions on the first page: so few can be read from two metres."""
SCREEN, DISTANCE, TEMPO = "first screen", "first distance", "first tempo"
FIRST_LESSON = "first"
"""The value of an errand for the short lesson, in which a pedal is pressed three times."""

TEMPOS = (
    ("Slowly, one after the other", 40),
    ("Middling, one a second", 60),
    ("Quickly, without a stop", 90),
)
"""How fast changes go today, and the tempo in BPM of the first takes; ours, below what is meant by it."""


def cautions(asks_sight: bool, further: bool) -> Leaf:
    """What is said of care before anything sounds, on two pages; the pedal comes next.

    asks_sight: the screen is asked about after it. further: the second page.
    """
    place = Errand(Verb.TURN, CAUTIONS_PAGE, FURTHER if further else "")
    if further:
        row = teach("Go on", SCREEN if asks_sight else TEMPO, FIRST_LESSON)
        return Leaf(place, "Before you play", (row,), CAUTIONS[ON_THE_FIRST:], reads=True)
    row = turn("Go on", CAUTIONS_PAGE, FURTHER)
    first = CAUTIONS[:ON_THE_FIRST]
    return Leaf(place, "Before you play", (row,), first, reads=True, small_print=(SEE_SOMEBODY,))


def screen(sight: Sight) -> Leaf:
    return set_up.screen(sight, SCREEN, DISTANCE)


def distance(sight: Sight) -> Leaf:
    return set_up.distance(sight, DISTANCE, TEMPO)


def tempo() -> Leaf:
    """How fast changes go today: a guess is enough, since the takes find out."""
    rows = [do(words, TEMPO, f"{tempo_bpm}", HOME) for words, tempo_bpm in TEMPOS]
    return page(
        TEMPO,
        "How fast today?",
        (*rows, do("I do not know", TEMPO, "0", HOME)),
        lines=("Changes: the first takes begin there.",),
    )
