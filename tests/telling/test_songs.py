"""How ready songs are, in a player's words."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.coach.readiness import song_standing
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.telling.songs import (
    NO_SONGS,
    Ready,
    bottleneck_words,
    by_words,
    chance_words,
    changes_table,
    clean_words,
    limit_alone_words,
    limit_words,
    ready_report,
    ready_words,
    whole_words,
)
from pedaltrainer.telling.text_boxes import Terminal
from tests.telling.made_up import TODAY, known, song

ALL_SLOW = {"Am_F": 80, "F_C": 90, "C_G": 95, "Am_G": 100}
ALL_READY = {"Am_F": 150, "F_C": 170, "C_G": 190, "Am_G": 180}


def standing(**clean_bpm: float):
    return song_standing(song(), known(**clean_bpm))


def report(columns: int = 100, **clean_bpm: float) -> str:
    one = standing(**clean_bpm)
    return ready_report(Ready(((song(), one),), one.standings), TODAY, Terminal(columns))


def test_the_hardest_change_comes_first_with_its_figures():
    lines = report(**ALL_SLOW).splitlines()
    head = next(number for number, line in enumerate(lines) if line.startswith("change"))
    row = lines[head + 1].split()
    assert row[:3] == ["Am", "–", "F"]
    # 104 BPM leaves half a beat, 60 / 104 / 2 s, before each landing: as a drill at 104 BPM does.
    assert row[3:6] == ["2", "288", "104"]
    assert re.search(r" (7\d|8\d) \(\d+ to \d+\) ", lines[head + 1])


def test_a_change_that_has_less_time_in_one_place_is_asked_for_at_the_least():
    row = next(line for line in report(**ALL_SLOW).splitlines() if line.startswith("Am – G"))
    # Twice in the verses at 104 BPM; and once there, once back in the bridge at 80 BPM, where it has 375 ms.
    assert row.split()[3:6] == ["4", "288", "104"]


def test_the_bottleneck_is_told_in_words():
    words = bottleneck_words(standing(**ALL_SLOW).standings)
    assert words.startswith("The bottleneck is Am – F: 288 ms in the air, as in a drill at 104 BPM, and")
    assert re.search(r"its clean tempo is \d+ \(\d+ to \d+\); what holds it back is ", words)


def test_what_holds_a_change_back_is_named_with_its_chance_when_both_shapes_were_measured():
    hardest = standing(**ALL_SLOW, F=90, Am=160).standings[0]
    assert re.fullmatch(r"landing F \(\d\d %\)", limit_words(hardest))
    assert "what holds it back is landing F (" in bottleneck_words([hardest])


def test_a_travel_is_named_when_both_shapes_are_much_faster():
    hardest = standing(**ALL_SLOW, F=170, Am=170).standings[0]
    assert re.match(r"the travel \((\d\d|> 99) %\)", limit_words(hardest))


def test_what_is_not_sure_yet_says_what_to_measure_and_how_long():
    hardest = standing(**ALL_SLOW).standings[0]
    assert re.fullmatch(r"measure (Am|F): 60 s", limit_words(hardest))
    assert re.search(r"not sure yet: measure (Am|F) alone first, 60 s\.$", bottleneck_words([hardest]))


def test_the_tempo_at_which_a_song_comes_out_whole_is_told_beside_its_own():
    told = whole_words(standing(**ALL_SLOW))
    said = r"All its \d+ landings come out clean one time in two at (\d+) BPM of its own 104\."
    found = re.fullmatch(said, told)
    assert found
    assert 60 < int(found[1]) < 95


def test_a_ready_song_is_told_as_ready():
    out = report(**ALL_READY)
    assert "4 of 4 changes are ready." in out
    assert re.search(r"one time in two at its own 104 BPM, and up to \d+\.", out)
    assert "Every change is ready; the closest call is " in out
    assert "yes" in out
    assert "what holds it back" in out


def test_a_change_never_played_has_no_measured_figure_and_no_chance():
    out = report(Am_F=80, F_C=90)
    assert "of its changes have never been played" in out
    row = next(line for line in out.splitlines() if line.startswith("C – G"))
    assert re.search(r" 104 +not played +\? +not played ", row)
    assert "%" not in row


def test_a_bottleneck_that_was_never_played_is_a_guess_and_told_as_one():
    words = bottleneck_words(standing(Am=120, F=60).standings)
    assert words.startswith("The bottleneck may be ")
    assert re.search(r"It was never played; from your other drills it may be \d+ to \d+\.$", words)


def test_what_is_known_only_roughly_gets_no_single_number():
    one = song_standing(song(), known(2, Am_F=80, F_C=90, C_G=95, Am_G=100)).standings[0]
    assert re.fullmatch(r"somewhere in \d+ to \d+", clean_words(one))


def test_before_anything_was_played_nothing_is_claimed():
    out = report()
    assert "not played" in out
    assert "Nothing is measured yet." in out
    assert "%" not in out
    assert ready_words(standing().standings[0]) == "not played"


@pytest.mark.parametrize(("chance", "words"), [(0.001, "< 1 %"), (0.996, "> 99 %"), (0.84, "84 %")])
def test_no_chance_is_told_as_certain(chance, words):
    assert chance_words(chance) == words


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 12, 12), "by 12 December 2026, in 17 days"),
        (date(2026, 11, 26), "by 26 November 2026, tomorrow"),
        (TODAY, "by 25 November 2026, today"),
        (date(2026, 11, 20), "by 20 November 2026, 5 days ago"),
    ],
)
def test_a_date_says_how_far_off_it_is(day, words):
    assert by_words(day, TODAY) == words


@pytest.mark.parametrize("columns", [100, 80])
@pytest.mark.parametrize("clean_bpm", [ALL_SLOW, ALL_READY, {"Am_F": 80}, {}])
def test_nothing_is_wider_than_the_terminal(columns, clean_bpm):
    assert max(map(len, report(columns, **clean_bpm).splitlines())) <= columns


def test_a_wide_terminal_has_every_column_and_a_narrow_one_keeps_what_matters_most():
    changes = standing(**ALL_SLOW).standings
    wide, narrow, narrowest = (changes_table(changes, columns).splitlines()[0] for columns in (100, 70, 50))
    assert all(name in wide for name in ("times", "air ms", "that is"))
    assert "times" not in narrow
    assert all(name in narrowest for name in ("at BPM", "clean today", "ready?"))


def test_changes_of_one_name_are_told_apart_by_their_frets():
    changes = standing().standings
    one, other = changes[:2]
    drill = replace(one.need.drill, chords=("Am[577555]", "F"))
    twins = (one, replace(other, need=replace(other.need, drill=drill)))
    table = changes_table(twins, 200)
    assert "Am[577555] F" in table


def test_without_songs_it_says_how_to_add_one():
    assert ready_report(Ready((), ()), TODAY, Terminal()) == NO_SONGS


def test_a_song_of_one_chord_has_nothing_to_practise():
    drone = song("title: Drone\n| Am / / / | Am . . . |\n")
    one = song_standing(drone, {})
    assert "There is no change in it." in ready_report(Ready(((drone, one),), ()), TODAY, Terminal())


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (Limit(Which.TRAVEL, 0.84, {}), "travel (84 %)"),
        (Limit(Which.FIRST, 0.999, {}), "first shape (> 99 %)"),
        (Limit(Which.UNSURE, 0.5, {}), "not sure yet"),
        (Limit(Which.UNSURE, 0.5, {}, parse_drill("F"), 60), "not sure yet: measure F alone first, 60 s"),
        (Limit(Which.UNSURE, 0.5, {}, parse_drill("C F"), 40), "not sure yet: measure C – F first, 40 s"),
    ],
)
def test_a_limit_is_told_with_its_chance_or_with_what_to_measure(limit, words):
    assert limit_alone_words(limit) == words


def test_a_change_that_leaves_less_time_than_any_drill_is_told_with_what_to_do_and_counts_for_nothing():
    hasty = parse_chart("title: Quick Step\ntempo: 160\ngap: instant\nstrum: 16ths\n| Am | G |", "quick")
    found = song_standing(hasty, {})
    out = ready_report(Ready(((hasty, found),), found.standings), TODAY, Terminal(100))
    assert "Am – G, instant leaves 47 ms in the air, less than a hand needs" in out
    assert "ready." not in out
    assert "no drill" in out
