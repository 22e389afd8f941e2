"""Choosing by foot in the house: what it costs, what is heard, and tunings in which chords have no shape."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, page_of
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import Control, Slid
from pedaltrainer.practice.coach.first_changes import common_changes
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.session.events import Given
from pedaltrainer.session.home import Errand, Verb
from pedaltrainer.session.replay import event_from_json, walked
from pedaltrainer.session.state import Phase
from pedaltrainer.showing.home.choosing import Picking
from tests.benchmarks.choosing import Costs, costs, in_moves
from tests.live.test_home import AtHome, a_house
from tests.session.clumsy import DEVICE
from tests.session.playing import settings
from tests.session.test_clumsy_foot import watched


def at(house: House, to: str, value: str = ""):
    return page_of(house, Errand(Verb.TURN, to, value))


def words(leaf) -> list[str]:
    return [row.words for row in leaf.rows]


@pytest.fixture(scope="module")
def new(tmp_path_factory) -> House:
    return a_house(tmp_path_factory.mktemp("new"))


@pytest.fixture(scope="module")
def known(tmp_path_factory) -> House:
    return a_house(tmp_path_factory.mktemp("known"), songs=True, days=2)


def test_a_first_change_is_begun_in_three_gestures(new):
    home = AtHome(new)
    for row in ("A first change", "Am – C", "Begin"):
        home.choose(row)
    assert [drill.words for drill in home.usher.wanted.drills] == ["C Am"]


def test_any_two_chords_are_begun_by_foot(new):
    home = AtHome(new)
    for row in ("A change", "Any two", "G, C, D, A", "G, C, D", "C", "C, Cm", "C, Cm", "Cmaj7"):
        home.choose(row)
    assert home.walk.leaf.title == "Cmaj7 – which root?"
    for row in ("B, Bb", "Bb", "Bb, Bbm", "Bb, Bbm", "Bb, Bbm", "Bbm", "Begin"):
        home.choose(row)
    assert [drill.words for drill in home.usher.wanted.drills] == ["Cmaj7 Bbm"]


def test_what_is_next_is_home_s_own_row_and_the_changes_go_on_from_there(known):
    following = [row.errand.value for row in at(known, "changes").rows if row.errand.to == "change"]
    first = [row.errand.value for row in at(known, "home").rows if row.words.startswith("Next")]
    assert len(first) == 1
    assert following
    assert first[0] not in following


def test_the_sound_of_a_change_is_that_of_its_two_shapes(new):
    home = AtHome(new)
    for row in ("A first change", "Am – E", "Hear it"):
        home.choose(row)
    # E and A minor in standard tuning, as MIDI numbers of the open shapes (from memory).
    assert home.usher.stream.strums == [[(40, 47, 52, 56, 59, 64), (45, 52, 57, 60, 64)]]
    assert home.walk.leaf.title == "Am – E"


def test_a_shape_is_changed_for_another_of_the_same_chord(new):
    leaf = at(new, "shapes", "0 Am E")
    frets = [hands_of(new, row.errand.value) for row in leaf.rows if row.errand.to == "change"]
    assert len(set(frets)) == len(frets) > 2
    assert hands_of(new, "Am E") not in frets
    again = at(new, "shapes", f"0 {leaf.rows[0].errand.value}")
    assert "The usual one" in words(again)


def hands_of(house: House, drill_words: str):
    return hands(parse_drill(drill_words), house.options.desk.shapes)[0].shape.frets


@pytest.fixture
def in_one_note(tmp_path) -> House:
    """A house whose strings all sound a C."""
    house = a_house(tmp_path)
    desk = replace(house.options.desk, tuning=parse_tuning("C C C C C C"))
    house.options = replace(house.options, desk=desk)
    return house


def test_where_no_hand_can_hold_a_chord_the_page_says_so_and_it_can_still_be_practised(in_one_note):
    leaf = at(in_one_note, "change", "Cmaj13 Am")
    assert leaf.lines[0] == "Cmaj13 has no shape in this tuning."
    assert words(leaf)[0] == "Begin"
    home = AtHome(in_one_note)
    home.choose("A first change")
    assert home.walk.leaf.lines == ("No common chord has a shape in this tuning.",)
    assert DEEDS["hear it"](in_one_note, "Cmaj13") == ""
    refused = at(in_one_note, "shapes", "0 Cmaj13 Am")
    assert refused.title == "That did not work"
    assert "cannot be played in the tuning" in refused.lines[0]


def test_frets_of_another_tuning_are_refused_by_a_sentence(new):
    leaf = at(new, "change", "G[3200] C")
    assert leaf.title == "That did not work"


def test_common_changes_come_easiest_first_for_the_shapes_of_the_book(new):
    book = new.options.desk.shapes
    assert [drill.title for drill in common_changes(book)][:2] == ["Am – C", "Am – E"]
    assert common_changes(ShapeBook({}, book.tuning))


def test_the_next_change_costs_two_gestures_and_any_pair_twenty_four_or_less_on_average(new, known):
    first, later = costs(new), costs(known)
    assert first.common.mean <= 8
    assert first.pairs.mean <= 24
    assert later.next_up == 2
    assert later.needed.least <= 6


def test_the_costs_are_those_of_a_foot_that_walks(new):
    found: Costs = costs(new)
    home = AtHome(new)
    path = found.way_to("C Em")
    for row in path:
        home.choose(words(home.walk.leaf)[row])
    assert [drill.words for drill in home.usher.wanted.drills] == ["C Em"]
    assert sum(row + 1 for row in path) == found.of("C Em") <= 8


def slide_to(home: AtHome, row: int) -> None:
    """Move an expression pedal from its heel on until a row is marked."""
    for value in range(128):
        if home.walk.marker == row:
            return
        home.usher.slid(Slid(home.now_s, DEVICE, "controller 11 on channel 1", value / 127))
    raise AssertionError("it was never marked")


def test_with_an_expression_pedal_that_scrolls_each_page_takes_a_move_and_a_press(new):
    found = costs(new, in_moves)
    home, gestures = AtHome(new, "two switches"), 0
    for row in found.way_to("C Em"):
        gestures += (row != home.walk.marker) + 1
        slide_to(home, row)
        home.choose(words(home.walk.leaf)[row])
    assert [drill.words for drill in home.usher.wanted.drills] == ["C Em"]
    assert gestures == found.of("C Em") == 4


def test_a_knob_that_is_never_still_fills_no_record_and_the_walk_replays_all_the_same(new):
    home = AtHome(new)
    home.choose("A first change")
    before = len(home.usher.walked)
    for value in range(2000):
        home.usher.slid(Slid(home.now_s, DEVICE, "controller 11 on channel 1", value * 37 % 128 / 127))
    assert len(home.usher.walked) == before + 1
    assert list(walked(map(event_from_json, home.usher.walked)))[-1] == home.walk


def test_a_gesture_that_has_begun_is_about_the_row_that_its_foot_saw(new):
    home = AtHome(new)
    rule = home.rules[0]
    home.usher.slid(Slid(0.0, DEVICE, "controller 11 on channel 1", 0.0))
    home.usher.edge(BoundEdge(1.0, DEVICE, rule.switch, True, rule))
    home.usher.slid(Slid(1.1, DEVICE, "controller 11 on channel 1", 0.9))
    assert home.walk.marker == 0


def test_the_menu_of_a_session_scrolls_too():
    session = watched(settings(), "two switches")
    slides = iter(range(100))

    def stand_at(place: float) -> None:
        session.slid(Slid(1.0 + next(slides) / 10, DEVICE, "controller 11 on channel 1", place))

    stand_at(0.0)
    before = session.state
    stand_at(0.9)
    assert session.state == before, "no list is shown"
    session._happen(Given(2.0, 2.0, 2.0, Control.PAUSE, "foot"))
    assert session.state.phase is Phase.PAUSED
    stand_at(1.0)
    rows, marker = session.listed
    assert marker == rows - 1


def test_every_page_of_picking_is_left_the_way_it_was_come_to(new):
    home = AtHome(new)
    for row in ("A change", "Any two", "G, C, D, A", "F"):
        home.choose(row)
    assert home.walk.leaf.place.value == Picking(2, "", False, 5).value
    for _ in range(4):
        home.choose("Back")
    assert home.walk.leaf.title == "What now?"
