"""The fingerings that teachers show, and what a route makes of them. Common practice, no published source."""

from __future__ import annotations

import pytest

from pedaltrainer.neck.findings import find_change, find_route
from pedaltrainer.neck.fingering import fingerings
from pedaltrainer.neck.lookup import Setup, as_chosen
from pedaltrainer.neck.repertoire import read_frets
from pedaltrainer.neck.taught import BESIDE, FINGERS, is_taught, listed
from pedaltrainer.songs.shipped import shape_book
from tests.neck.open_shapes import read_rows


def fingered(song: str) -> dict[str, str]:
    """The chords of a song with the shape that each is given, in words."""
    plan = find_route(song, Setup(), shape_book(), repeats=True, free=False)
    return {
        name: as_chosen(name, shape).removeprefix(name)
        for name, shape in zip(plan.symbols, plan.shapes, strict=True)
    }


def test_a_hand_can_hold_every_fingering_that_is_listed():
    for word in FINGERS:
        frets = read_frets(word)
        assert set(listed(frets)) <= {way.fingers for way in fingerings(frets)}, word


def test_the_book_holds_its_shapes_as_they_are_taught_first():
    for name, shape in shape_book().shapes.items():
        first = (*listed(shape.frets), fingerings(shape.frets)[0].fingers)[0]
        assert shape.fingers == first, name


def test_what_stands_beside_a_shape_holds_the_same_notes_and_a_finger_more():
    for usual, other in BESIDE.items():
        assert listed(read_frets(other))
        assert sum(map(bool, read_frets(usual))) < sum(map(bool, read_frets(other)))


def test_a_form_without_open_strings_is_known_wherever_it_is_moved_to():
    assert listed(read_frets("577655")) == listed(read_frets("133211")) == ((1, 3, 4, 2, 1, 1),)
    assert not listed(read_frets("133244"))


def test_the_published_fingering_is_mostly_one_that_counts_as_taught():
    # tests/data/README.md tells the source.
    rows = [row for row in read_rows() if row.rank is not None and listed(row.frets)]
    taught = sum(is_taught(row.frets, row.fingers, fingerings(row.frets)[0].fingers) for row in rows)
    assert len(rows) > 50
    assert taught / len(rows) > 0.9


@pytest.mark.parametrize("song", ["D A", "A D E", "D E A", "D A E A"])
def test_between_d_and_e_the_index_guides_into_a(song: str):
    assert fingered(song)["A"] == "[x02220/002130]"


@pytest.mark.parametrize("song", ["G D", "G Cadd9 D", "G D Em7 Cadd9"])
def test_with_d_the_ring_finger_is_held_in_g(song: str):
    assert fingered(song)["G"] == "[320033/210034]"


@pytest.mark.parametrize(
    "song", ["Em C G D", "C G Am F", "D A E A", "E A B7 E", "Dm7 G7 Cmaj7", "A E F#m D", "G D/F# Em C"]
)
def test_common_songs_are_given_no_fingering_that_is_not_taught(song: str):
    plan = find_route(song, Setup(), shape_book(), repeats=True, free=False)
    for shape in plan.shapes:
        assert is_taught(shape.frets, shape.fingers, fingerings(shape.frets)[0].fingers), shape


@pytest.mark.parametrize("change", ["C Am", "Am F", "C G", "D A", "F#m D", "Bm A", "Asus4 D", "G/B Em"])
def test_what_is_called_the_easiest_way_to_finger_a_change_is_taught(change: str):
    found = find_change(change, Setup(), shape_book(), 1)
    if found.place > 1:
        for shape in (found.others[0].move.here, found.others[0].move.there):
            assert is_taught(shape.frets, shape.fingers, fingerings(shape.frets)[0].fingers), shape
