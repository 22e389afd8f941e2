"""The pages on which a change or a shape is chosen: their rows, and whether they can be read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.symbols import parse_chord
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, parse_tuning
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.coach.first_changes import common_changes
from pedaltrainer.practice.coach.pieces import ways
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.screen.layout import arrange
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.events import Given, Pressed
from pedaltrainer.session.home import Errand, Leaf, Turned, Verb, Walk, step
from pedaltrainer.showing.home import choosing
from pedaltrainer.showing.home.choosing import ONE, ROOTS, TWO, ChangesFacts, Picking, read_picking
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shipped import shape_book

BOOK = shape_book(Path("nowhere"), STANDARD_TUNING)
COMMON = common_changes(BOOK)


def words(leaf: Leaf) -> list[str]:
    return [row.words for row in leaf.rows]


def on(leaf: Leaf, marked: int | None = None):
    """What the stage shows of a page, with the marker on a row."""
    walk, _ = step(Walk(), Turned(0.0, leaf))
    if marked is not None:
        walk = replace(walk, marker=marked)
    return walk_view(walk, 1.0, Surroundings(BOOK))


def pages_of(picking: Picking) -> list[Leaf]:
    """Every page of the list that is open."""
    leaf = choosing.chord(picking)
    inner = (read_picking(row.errand.value) for row in leaf.rows if row.errand.to == "chord")
    return [
        leaf,
        *(
            page
            for one in inner
            if replace(one, path=()) == replace(picking, path=())
            for page in pages_of(one)
        ),
    ]


def test_the_first_changes_are_the_common_ones_that_ask_least_of_the_hand():
    leaf = choosing.first_change(COMMON)
    assert words(leaf)[:3] == ["Am – C", "Am – E", "Am – Em"]
    assert len(leaf.rows) == choosing.FEW + 1
    assert leaf.rows[0].errand == Errand(Verb.TURN, "change", "C Am")


def test_a_first_change_shows_the_boxes_of_the_marked_row():
    leaf = choosing.first_change(COMMON)
    assert [box.title for box in on(leaf, 1).boxes] == ["E", "Am"]
    assert [box.title for box in on(leaf, 4).boxes] == ["C", "Em"]
    assert on(leaf, len(leaf.rows) - 1).boxes == ()


def test_rows_do_not_move_when_the_marked_one_has_no_boxes():
    leaf = choosing.first_change(COMMON)
    bodies = {arrange(on(leaf, row), 1366, 768, Sight()).zones["body"] for row in range(len(leaf.rows))}
    assert len(bodies) == 1


def test_a_tuning_without_common_shapes_says_so_and_offers_any_chord():
    leaf = choosing.first_change(common_changes(BOOK.in_tuning(parse_tuning("C C C C C C"))))
    assert leaf.lines == ("No common chord has a shape in this tuning.",)
    assert words(leaf) == ["Any two chords", "One shape alone", "Back"]


def test_the_changes_are_what_is_needed_then_the_last_then_common_ones_then_any():
    facts = ChangesFacts((parse_drill("C G"), parse_drill("F C")), (parse_drill("D A"),), COMMON)
    leaf = choosing.changes(facts)
    assert words(leaf) == [
        "C – G",
        "C – F",
        "Common changes",
        "Any two chords",
        "One shape alone",
        "Back",
    ]
    assert leaf.marked == 0
    assert words(choosing.changes(replace(facts, needed=facts.needed[:1])))[:2] == ["C – G", "A – D"]


def test_a_change_is_offered_once():
    leaf = choosing.changes(ChangesFacts((COMMON[0],), (COMMON[0],), COMMON))
    assert words(leaf)[:2] == ["Am – C", "Common changes"]
    assert "C Am" not in leaf.rows[1].errand.value.split(";")


def test_who_needs_no_change_yet_finds_the_marker_on_any():
    leaf = choosing.changes(ChangesFacts(common=COMMON))
    assert words(leaf)[leaf.marked] == "Any two chords"


def test_the_common_changes_are_laid_out_in_groups_down_to_each():
    leaf = choosing.common_changes(COMMON)
    assert words(leaf)[0].startswith("Am–C, Am–E and ")
    waiting, found = [leaf], []
    while waiting:
        for row in waiting.pop().rows:
            if row.errand.to == "common":
                waiting.append(
                    choosing.common_changes([parse_drill(one) for one in row.errand.value.split(";")])
                )
            elif row.errand.to == "change":
                found.append(row.errand.value)
    assert sorted(found) == sorted(drill.words for drill in COMMON)


def test_a_change_begins_is_heard_has_other_shapes_smaller_pieces_and_other_ways():
    leaf = choosing.change(parse_drill("Am E"))
    assert [(row.words, row.errand.verb, row.errand.to, row.errand.value) for row in leaf.rows[:-1]] == [
        ("Begin", Verb.PLAY, "drills", "Am E"),
        ("Hear it", Verb.DO, "hear it", "Am E"),
        ("Shapes of Am", Verb.TURN, "shapes", "0 Am E"),
        ("Shapes of E", Verb.TURN, "shapes", "1 Am E"),
        ("Smaller pieces", Verb.TURN, "smaller", "Am E"),
        ("Other ways", Verb.TURN, "other ways", "Am E"),
    ]
    assert (leaf.marked, leaf.chords, leaf.lines) == (0, ("Am", "E"), ())


def test_a_shape_alone_leads_on_to_another_chord():
    leaf = choosing.change(parse_drill("F"))
    assert words(leaf) == [
        "Begin", "Hear it", "Shapes of F", "To another chord", "Smaller pieces", "Other ways", "Back",
    ]  # fmt: skip
    assert words(choosing.chord(read_picking(leaf.rows[3].errand.value)))[0] == "G, C, D, A, E, F"
    assert choosing.chord(read_picking(leaf.rows[3].errand.value)).title == "F – which root?"


def test_a_drill_of_another_kind_begins_and_is_heard():
    assert words(choosing.change(parse_drill("level A Bm"))) == ["Begin", "Hear it", "Back"]


def test_a_chord_without_a_shape_is_said_and_can_be_practised_as_the_player_holds_it():
    one = choosing.change(parse_drill("Am E"), ["E"])
    assert one.lines == ("E has no shape in this tuning.",)
    assert words(one) == ["Begin", "Hear it", "Shapes of Am", "Smaller pieces", "Other ways", "Back"]
    neither = choosing.change(parse_drill("Am E"), ["Am", "E"])
    assert words(neither) == ["Begin", "Smaller pieces", "Other ways", "Back"]
    assert words(choosing.smaller(parse_drill("Am E"), ())) == ["Am alone", "E alone", "Back"]


def test_the_smaller_pieces_of_a_change_and_other_ways_to_play_it_are_those_its_shapes_can_be_put_to():
    book, change, barred = shape_book(), parse_drill("C Am"), parse_drill("F")
    assert words(choosing.smaller(change, ways(change, book, smaller=True))) == [
        "C alone", "Am alone", "Shared fingers", "Slow travel", "One finger leads", "Back",
    ]  # fmt: skip
    assert words(choosing.other_ways(change, ways(change, book, smaller=False))) == [
        "Formed in the air", "Bass, then strum", "Pushed", "Sliding", "Picked", "Without its picture", "Back",
    ]  # fmt: skip
    assert words(choosing.smaller(barred, ways(barred, book, smaller=True))) == [
        "In four stages", "String by string", "One finger leads", "Down the neck", "Back",
    ]  # fmt: skip
    # No way is open to a C down the neck: it has no barre.
    open_c = parse_drill("C")
    assert "Down the neck" not in words(choosing.smaller(open_c, ways(open_c, book, smaller=True)))


def test_another_shape_takes_the_place_of_its_chord_in_the_change():
    leaf = choosing.shapes(parse_drill("Am E"), 0, [(5, "Am[577555/134111]"), (1, "Am")])
    assert words(leaf) == ["At fret 5", "The usual one", "Back"]
    assert leaf.rows[0].errand == Errand(Verb.TURN, "change", "Am[577555/134111] E")
    assert leaf.rows[1].errand.value == "Am E"
    assert [box.frets[0] for box in on(leaf, 0).boxes] == [5, 0]
    assert choosing.shapes(parse_drill("F"), 0, []).lines == ("There is no other in this tuning.",)


def picked(wanted: int, before: str = "", over: bool = False) -> set[str]:
    """Everything that can be picked, by walking every page."""
    found, waiting = set(), [Picking(wanted, before)]
    while waiting:
        for row in choosing.chord(waiting.pop()).rows:
            there = read_picking(row.errand.value) if row.errand.to == "chord" else None
            if row.errand.to == "change":
                found.add(row.errand.value)
            elif there is not None and there.before == before and (over or not there.over):
                waiting.append(there)
    return found


def test_twelve_roots_with_forty_kinds_can_be_picked_and_each_is_a_chord_of_its_own():
    found = picked(ONE)
    assert len(set(ROOTS)) == 12
    assert len(found) == 480
    spelt = [spell(symbol) for symbol in found]
    assert (
        len({(one.root_pitch_class, frozenset(tone.semitones for tone in one.tones)) for one in spelt}) == 480
    )
    assert {"G", "Bbm7", "F#7#9", "C#m7b5", "Eb69"} <= found


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
@pytest.mark.parametrize("name", ["first change", "shapes", "change", "shape twice"])
def test_the_boxes_have_their_room_beside_the_rows(name, size):
    for leaf in ALL_PAGES[name]:
        assert not leaf.rows[0].chords or "first box" in arrange(on(leaf), *size, Sight()).zones
        assert not leaf.chords or "first box" in arrange(on(leaf), *size, Sight()).zones


def test_any_chord_can_stand_over_any_other_bass():
    over_c = {one for one in picked(ONE, over=True) if one.startswith("Cm7/")}
    assert over_c == {f"Cm7/{note}" for note in ["Eb", "G", "Bb", "D", "F", "A", "B", "Ab", "C#", "F#", "E"]}
    assert {parse_chord(symbol).bass is None for symbol in picked(ONE, over=True)} == {True, False}


def test_the_second_chord_of_two_makes_the_change():
    leaf = choosing.chord(Picking(TWO, "", False, 1, None, (4,)))
    assert leaf.rows[0].errand.to == "chord"
    assert "Am C" in picked(TWO, "Am")
    assert "Am Am" in picked(TWO, "Am"), "one shape landed again"


def test_each_chord_s_box_stands_beside_its_row():
    leaf = choosing.chord(Picking(TWO, "Am", False, 1, None, (0, 0, 0)))
    assert words(leaf)[0] == "C"
    assert [box.title for box in on(leaf, 0).boxes] == ["Am", "C"]
    assert [box.title for box in on(leaf, len(leaf.rows) - 1).boxes] == ["Am"]


@pytest.mark.parametrize("picking", [Picking(ONE), Picking(TWO, "Am"), Picking(TWO, "F#m", True, 4, 3, (1,))])
def test_what_was_picked_so_far_is_kept_as_words(picking):
    assert read_picking(picking.value) == picking


ALL_PAGES = {
    "first change": [choosing.first_change(COMMON)],
    "shape twice": [
        choosing.shapes(parse_drill("Bbmaj7#11 F#m7b5"), 0, [(12, "Bbmaj7#11[x.1.2.2.3.1]")] * 3)
    ],
    "changes": [
        choosing.changes(ChangesFacts(common=COMMON)),
        choosing.changes(ChangesFacts((parse_drill("F#m7 Bbmaj7"), parse_drill("C G x4")), (), COMMON)),
    ],
    "common": [choosing.common_changes(COMMON), choosing.common_changes(COMMON[:3])],
    "change": [
        choosing.change(parse_drill(one))
        for one in ("Am E", "F", "F#m7b5 Bbmaj7#11", "level A Bm", "C#m7b5/G F#m")
    ]
    + [choosing.change(parse_drill("Am E"), ["Am"])],
    "smaller": [
        choosing.smaller(one, ways(one, shape_book(), smaller=True))
        for one in map(parse_drill, ("F Cm", "F#m7b5 Bbmaj7#11", "F"))
    ],
    "other ways": [
        choosing.other_ways(one, ways(one, shape_book(), smaller=False))
        for one in map(parse_drill, ("Am E", "F#m7b5 Bbmaj7#11", "F"))
    ],
    "shapes": [
        choosing.shapes(parse_drill("Am E"), 0, [(5, "Am[577555/134111]"), (12, "Am[12.12.14.14.13.12]")])
    ],
    "chord": [
        page
        for picking in (
            Picking(TWO),
            Picking(TWO, "C#m7b5"),
            Picking(ONE, "", False, 11),
            Picking(TWO, "F#maj7#11", False, 11),
            Picking(TWO, "F#maj7#11", True, 11),
            Picking(TWO, "F#maj7#11", True, 11, 30),
        )
        for page in pages_of(picking)
    ],
}


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
@pytest.mark.parametrize("name", ALL_PAGES)
def test_every_page_of_choosing_is_read_from_two_metres(name, size):
    for leaf in ALL_PAGES[name]:
        assert len(leaf.rows) <= 7
        for row in range(len(leaf.rows)):
            assert arrange(on(leaf, row), *size, Sight()).shortfalls == ()


def test_a_foot_can_walk_from_any_chord_back_to_where_it_began():
    walk, _ = step(Walk(), Turned(0.0, choosing.changes(ChangesFacts(common=COMMON))))
    for _ in range(4):
        walk, errands = say(walk, Control.PAUSE)
        walk, _ = step(walk, Turned(walk.now_s, choosing.chord(read_picking(errands[0].value))))
    assert len(walk.trail) == 4
    for _ in range(3):
        walk, errands = say(walk, Control.FAIL)
        walk, _ = step(walk, Turned(walk.now_s, choosing.chord(read_picking(errands[0].value))))
    assert say(walk, Control.FAIL)[1] == (Errand(Verb.TURN, "changes"),)


def say(walk: Walk, control: Control):
    at_s = walk.now_s + 1
    walk, _ = step(walk, Pressed(at_s, at_s, "foot"))
    return step(walk, Given(at_s, at_s, at_s, control, "foot"))
