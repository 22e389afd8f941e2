"""The pages of choosing, made of what the house knows; and a chord that is heard."""

from __future__ import annotations

from pedaltrainer.history.choosing import changes_facts
from pedaltrainer.live.home.house import House
from pedaltrainer.neck.chords.symbols import ChosenChord, parse_chosen
from pedaltrainer.neck.lookup import Setup, as_drill, book_shape, shapes_of
from pedaltrainer.practice.coach.first_changes import common_changes
from pedaltrainer.practice.coach.pieces import ways
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.hands import hand_for, hands
from pedaltrainer.session.home import Leaf
from pedaltrainer.showing.home import choosing
from pedaltrainer.showing.home.pages import DRILLS


def first_change(house: House, value: str) -> Leaf:
    return choosing.first_change(common_changes(house.options.desk.shapes))


def common(house: House, value: str) -> Leaf:
    return choosing.common_changes([parse_drill(words) for words in value.split(DRILLS)])


def changes(house: House, value: str) -> Leaf:
    return choosing.changes(changes_facts(house.options.desk, house.now()))


def chord(house: House, value: str) -> Leaf:
    return choosing.chord(choosing.read_picking(value))


def change(house: House, value: str) -> Leaf:
    """The page of a change or a shape. value: the drill in words."""
    drill = house.options.desk.drill(value)
    held = hands(drill, house.options.desk.shapes)
    return choosing.change(drill, [hand.name for hand in held if hand.shape is None])


def smaller(house: House, value: str) -> Leaf:
    """The smaller pieces of a change or a shape. value: the drill in words."""
    drill = house.options.desk.drill(value)
    return choosing.smaller(drill, _ways(house, drill, smaller=True))


def other_ways(house: House, value: str) -> Leaf:
    """Other ways to play it. value: the drill in words."""
    drill = house.options.desk.drill(value)
    return choosing.other_ways(drill, _ways(house, drill, smaller=False))


def _ways(house: House, drill: Drill, smaller: bool) -> tuple[Drill, ...]:
    return ways(drill, house.options.desk.shapes, smaller, house.options.desk.own_kinds)


def shapes(house: House, value: str) -> Leaf:
    """Other shapes of one chord of a drill. value: which, counted from 0, and the drill in words."""
    place, _, words = value.partition(" ")
    drill, book = parse_drill(words), house.options.desk.shapes
    chord = drill.chords[int(place)]
    symbol, setup = parse_chosen(chord).symbol, Setup(book.tuning)
    known = book_shape(symbol, setup, book)
    found = shapes_of(ChosenChord(symbol), setup, choosing.OTHER_SHAPES + 2)
    held = hand_for(chord, book).shape
    others = [one for one in dict.fromkeys((*((known,) if known else ()), *found)) if one != held]
    return choosing.shapes(
        drill, int(place), [(one.position, as_drill(str(symbol), one, book)) for one in others]
    )


def hear(house: House, value: str) -> str:
    """Its shapes, strummed one after the other. value: the drill in words."""
    held = hands(house.options.desk.drill(value), house.options.desk.shapes)
    capo = house.usual.capo
    house.strum([tuple(note + capo for note in hand.shape.midi) for hand in held if hand.shape is not None])
    return ""
