"""What a drill has come to, as it is said everywhere."""

from __future__ import annotations

import pytest

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.rungs import (
    STOPPED,
    TIME_UP,
    EndedBy,
    Ending,
    Finding,
    LadderResult,
    Rung,
    ToldTempo,
)
from pedaltrainer.session.state import DrillResult
from pedaltrainer.showing.results import (
    by_drill,
    found_figure,
    found_shortly,
    found_words,
    target_words,
    tempo_words,
    told_ends,
    why_ended,
)

AM_E = parse_drill("Am E")
TRIED = (Rung(76, 1, 0), Rung(84, 1, 1))


def told(finding, tried=TRIED, last_bpm=None, **more):
    takes = sum(rung.passes + rung.fails for rung in tried)
    one = DrillResult(AM_E, LadderResult(TIME_UP, tried, finding, **more), takes, last_bpm)
    figure, below = found_figure(one)
    listed = found_shortly(one).removeprefix("Am – E: ")
    return found_words(one), figure, below.removeprefix("Am – E: "), listed


def test_a_clean_tempo_is_told_with_its_interval_and_the_time_before():
    assert told(Finding.CLEAN_TEMPO, interval_bpm=(81.2, 88.4), clean_bpm=84.4, last_bpm=82.0) == (
        "84 BPM, between 81 and 88",
        "84 BPM",
        "between 81 and 88; last time 82",
        "84 BPM; last time 82",
    )


def test_a_wide_interval_is_no_single_figure():
    _, figure, below, _ = told(Finding.CLEAN_TEMPO, interval_bpm=(70, 100), clean_bpm=84)
    assert (figure, below) == ("70–100 BPM", "between 70 and 100")


@pytest.mark.parametrize(
    ("finding", "interval_bpm", "words", "figure"),
    [
        (Finding.ABOVE, (88.0, 140.0), "above 88 BPM; nothing was missed yet", "faster than 88 BPM"),
        (Finding.ABOVE, (310.0, 390.0), "above 300 BPM; nothing was missed yet", "faster than 300 BPM"),
        (Finding.BELOW, (30.0, 52.0), "below 52 BPM; no take came out clean yet", "slower than 52 BPM"),
        (Finding.BELOW, (15.0, 18.0), "below 20 BPM; no take came out clean yet", "slower than 20 BPM"),
        (Finding.WITHIN, (50.0, 90.0), "too early to say; somewhere between 50 and 90 BPM", "50–90 BPM"),
    ],
)
def test_answers_of_one_side_or_too_few_are_told_with_no_false_certainty(
    finding, interval_bpm, words, figure
):
    assert told(finding, interval_bpm=interval_bpm) == (words, figure, words, figure)


def test_a_ladder_that_measures_no_interval_tells_what_it_has():
    assert told(Finding.FASTEST_RUNG) == (
        "84 BPM is the fastest rung passed",
        "84 BPM",
        "the fastest rung passed today",
        "84 BPM",
    )


def test_nothing_clean_is_said_as_that():
    assert told(Finding.NONE, (Rung(60, 0, 2),)) == (
        "no take came out clean yet",
        "0 of 2",
        "no take came out clean yet",
        "0 of 2",
    )


def test_slow_work_is_told_as_takes_and_no_tempo():
    assert told(Finding.SLOW_WORK) == (
        "2 of 3 slow takes clean",
        "2 of 3",
        "2 of 3 slow takes clean",
        "2 of 3",
    )


def test_a_single_slow_take_is_told_as_one():
    assert told(Finding.SLOW_WORK, (Rung(50, 1, 0),))[0] == "one slow take, clean"
    assert told(Finding.SLOW_WORK, (Rung(50, 0, 1),))[0] == "one slow take, missed"


@pytest.mark.parametrize(
    ("ending", "words"),
    [
        (TIME_UP, "the time was up"),
        (STOPPED, "you stopped early"),
        (Ending(EndedBy.TOP_REACHED), "the top of the ladder was reached"),
        (Ending(EndedBy.BOTTOM_MISSED, 20), "20 BPM does not come yet"),
        (Ending(EndedBy.WELL_KNOWN, 0.05 * 100), "the tempo is known to within 5 %"),
        (Ending(EndedBy.MISSED_TWICE, 84), "84 BPM was missed twice"),
    ],
)
def test_every_end_has_its_words(ending, words):
    assert why_ended(ending) == words


def test_every_finding_and_every_end_has_words():
    assert all(told(finding)[0] for finding in Finding)
    assert all(why_ended(Ending(by)) for by in EndedBy)


def result(words="Am E", ending=TIME_UP, clean_bpm=84.4, takes=6, **more):
    found = LadderResult(ending, TRIED, Finding.CLEAN_TEMPO, (81.2, 88.4), clean_bpm)
    return DrillResult(parse_drill(words), found, takes, **more)


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (result(), ""),
        (result(target_bpm=98.2), "84 of 98 BPM"),
        (result(target_bpm=80.0, is_ready=True), "80 BPM is reached: ready"),
        (result(target_bpm=98.2, clean_bpm=None), "98 BPM is asked for"),
        (result(ending=Ending(EndedBy.READY, 80.0), target_bpm=80.0, is_ready=True), ""),
    ],
)
def test_what_the_songs_ask_for_is_told_beside_what_was_found_and_once(one, words):
    assert target_words(one) == words


def test_the_blocks_of_one_drill_are_one_line_with_all_its_takes():
    slow = DrillResult(AM_E, LadderResult(TIME_UP, TRIED, Finding.SLOW_WORK), 3, last_bpm=79.0)
    told_once = by_drill([slow, result(clean_bpm=80.0), result("C F"), result("E Am", clean_bpm=86.0)])
    assert [(one.drill.key, one.takes, one.result.clean_bpm, one.last_bpm) for one in told_once] == [
        ("change Am E", 15, 86.0, 79.0),
        ("change C F", 6, 84.4, None),
    ]
    (kept,) = by_drill([result(clean_bpm=80.0), slow])
    assert (kept.result.clean_bpm, kept.takes) == (80.0, 9)


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (ToldTempo(84.4, 78.0, 90.2), "84 (78 to 90)"),
        (ToldTempo(None, 61.0, 97.0), "somewhere in 61 to 97"),
        (ToldTempo(None, 169.4, None), "above 169"),
        (ToldTempo(None, 310.0, None), "above 300"),
        (ToldTempo(None, None, 52.0), "below 52"),
        (ToldTempo(), ""),
    ],
)
def test_a_clean_tempo_has_one_wording_in_every_table(known, words):
    assert tempo_words(known) == words


def test_an_end_that_was_not_met_is_told_to_no_program():
    found = LadderResult(TIME_UP, TRIED, Finding.ABOVE, (88.0, 140.0))
    assert told_ends(DrillResult(AM_E, found, 3)) == (88.0, None)
