"""What a practice sheet says of drills, days and songs."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from random import Random
from statistics import fmean

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.paper.sheet import PAPERS, exercise_height
from pedaltrainer.practice.coach.readiness import needs_of
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.progress import Day
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.showing.pages import CAUTIONS, QUIET, SEE_SOMEBODY, STOP
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.telling import sheets
from tests.telling.made_up import song

BOOK = shape_book()
NOON = datetime(2026, 11, 2, 12, tzinfo=UTC)
NEEDS = {need.drill.key: need for need in needs_of([song()])}


def day(bpm: float | None, low_bpm: float | None, high_bpm: float | None, minutes: float = 3) -> Day:
    return Day(date(2026, 11, 2), NOON, 10, bpm, low_bpm, high_bpm, minutes)


def exercise(words: str, *days: Day, target_bpm: float | None = None):
    drill = parse_drill(words)
    asked = sheets.SheetDrill(drill, days, sheets.need_for(drill, NEEDS))
    return sheets.sheet_of([asked], BOOK, target_bpm=target_bpm).exercises[0]


@pytest.mark.parametrize(
    ("known", "figure", "below"),
    [
        ((84.2, 76.4, 93.4), "84", "76 to 93"),
        ((None, 61, 97), "?", "61 to 97"),
        ((None, 92, None), "> 92", "all clean"),
        ((None, None, 70), "< 70", "none clean"),
    ],
)
def test_a_day_is_told_with_no_more_certainty_than_there_is(known, figure, below):
    (entry,) = exercise("Am F", day(*known)).entries
    assert (entry.day, entry.figure, entry.below) == ("2 Nov", figure, below)


def test_a_drill_that_measures_nothing_has_minutes_and_no_target_tempo():
    one = exercise("pressure F", day(None, None, None), target_bpm=90)
    assert (one.unit, one.target) == ("minutes", "")
    assert (one.entries[0].figure, one.entries[0].takes) == ("3", 10)


def test_the_target_is_what_the_song_needs_however_many_beats_a_chord_lasts():
    """By hand: in "Paper Boats" C and G share a bar at 104 BPM, so the hand has half a beat: 104 BPM."""
    for words in ("C G", "G C", "C G x4"):
        one = exercise(words)
        assert (one.target, one.reason) == ("104", "by 12 December 2026, for Paper Boats")
    assert exercise("C G", target_bpm=120).target == "120"
    assert exercise("Dm E").target == ""


def test_fingers_that_stay_have_a_ring_and_the_foot_says_what_it_is():
    """C and Am: the first finger stays on the B string, the second on the D string (common practice)."""
    asked = [sheets.SheetDrill(parse_drill("C Am"))]
    there = sheets.sheet_of(asked, BOOK)
    assert [sorted(box.stays) for box in there.exercises[0].boxes] == [[2, 4], [2, 4]]
    assert sheets.RINGS in there.small_print
    assert sheets.RINGS not in sheets.sheet_of([sheets.SheetDrill(parse_drill("F"))], BOOK).small_print


def test_a_passage_shows_each_chord_once():
    boxes = sheets.boxes_of(parse_drill("passage Am:2 G F:3 Am G"), BOOK)
    assert [box.title for box in boxes] == ["Am", "G", "F"]


@pytest.mark.parametrize("size", PAPERS.values())
def test_the_longest_passage_fits_on_a_page(size):
    roots = ("A", "B", "C", "D", "E", "F", "G")
    one = exercise("passage " + " ".join((*roots, *(f"{root}m" for root in roots))))
    assert len(one.boxes) == sheets.MOST_BOXES
    assert exercise_height(one, size) < size.height - 100


def test_a_chord_without_a_shape_in_the_tuning_has_an_empty_box_of_its_strings():
    book = shape_book(tuning=parse_tuning("G4 C4 E4 A4"))
    (box,) = sheets.boxes_of(parse_drill("Cmaj13#11/D"), book)
    assert (box.title, box.frets) == ("Cmaj13#11/D", (None,) * 4)


def test_no_drills_make_a_page_to_fill_in():
    there = sheets.sheet_of([], BOOK, blank=True).exercises
    assert len(there) == sheets.EMPTY_EXERCISES
    assert not any(one.title or one.target or one.entries for one in there)


def test_every_sheet_says_when_to_stop():
    words = " ".join(sheets.sheet_of([], BOOK).small_print)
    assert f"{STOP} {SEE_SOMEBODY}" in words
    assert all(one in words for one in CAUTIONS if one != QUIET)


def test_drills_of_songs_come_first_and_what_cannot_be_drawn_is_passed_over():
    drills = [parse_drill(words) for words in ("Dm E", "level C G", "Am F", "A D", "C G")]
    found, left_out = sheets.chosen(drills, NEEDS, BOOK)
    assert [drill.words for drill in found] == ["Am F", "C G", "Dm E", "A D"]
    assert left_out == 0


def test_a_drill_that_cannot_be_made_of_the_shapes_is_named():
    with pytest.raises(InputError, match="level C G"):
        exercise("level C G")


# --- the rule on paper ------------------------------------------------------------------


def stands_at(player: MadeUpPlayer, start_bpm: float, takes: int, chance: Random) -> float:
    """The tempo that the sheet's own rule leads to, step by step as it is written there."""
    drill, tempo_bpm, in_a_row, missed = parse_drill("Am F"), start_bpm, 0, False
    for _ in range(takes):
        if chance.random() < player.clean_take_chance(tempo_bpm, drill):
            in_a_row += 1
            if not missed or in_a_row == sheets.CLEAN_IN_A_ROW:
                tempo_bpm, in_a_row = tempo_bpm + sheets.STEP_BPM, 0
        else:
            tempo_bpm, in_a_row, missed = tempo_bpm - sheets.STEP_BPM, 0, True
    return tempo_bpm


@pytest.mark.parametrize("spread", [0.03, 0.05, 0.10])
def test_the_rule_on_paper_settles_where_four_takes_in_five_are_clean(spread):
    """H. Levitt 1971, table I: three up, one down converges on 79.4 %; one up, one down on 50 %."""
    chance, drill = Random(3), parse_drill("Am F")
    player = MadeUpPlayer(skill_bpm=96, spread=spread)
    settled = [stands_at(player, 60, 200, chance) for _ in range(400)]
    assert fmean(player.clean_take_chance(bpm, drill) for bpm in settled) == pytest.approx(0.794, abs=0.05)


def test_after_the_takes_it_asks_for_the_rule_on_paper_has_found_the_clean_tempo():
    chance = Random(5)
    errors = []
    for _ in range(1_000):
        player = MadeUpPlayer(skill_bpm=chance.uniform(55, 150), spread=chance.choice([0.03, 0.05, 0.10]))
        start_bpm = round(player.skill_bpm * chance.uniform(0.6, 0.85))
        found_bpm = stands_at(player, start_bpm, sheets.ENOUGH_TAKES, chance)
        errors.append(math.log(found_bpm / player.skill_bpm))
    assert abs(fmean(errors)) < 0.015
    assert math.sqrt(fmean(error**2 for error in errors)) < 0.065


def test_the_sheet_says_the_rule_and_asks_for_the_number_of_takes():
    said = " ".join(sheets.sheet_of([], BOOK, blank=True).introduction)
    assert "three clean in a row, a step up; one missed, a step down" in said
    assert said.endswith("write it into a box, and how many takes it rests on.")
