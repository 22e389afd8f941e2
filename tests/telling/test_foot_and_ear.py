"""What foot and ear said of the same takes, as a player reads it."""

from __future__ import annotations

from datetime import date

import pytest

from pedaltrainer.practice.agreement import Agreement, Flattery, TwoJudges
from pedaltrainer.telling.foot_and_ear import in_words, plain

MONDAY = Agreement(takes=14, unsure=0, only_ear=3, only_foot=0)
TUESDAY = Agreement(takes=20, unsure=2, only_ear=1, only_foot=1)
BOTH = Agreement(takes=34, unsure=2, only_ear=4, only_foot=1)
TWO_DAYS = TwoJudges(BOTH, {date(2026, 3, 2): MONDAY, date(2026, 3, 3): TUESDAY}, Flattery(92.0, 88.0, 32))


def test_every_figure_says_of_how_many_takes_it_is():
    assert in_words(TWO_DAYS).splitlines() == [
        "Foot and ear, 34 takes: alike in 27, the ear alone heard a miss in 4, your foot alone in 1, "
        "the ear was not sure in 2.",
        "  2026-03-02  14 takes: alike in 11, the ear alone heard a miss in 3",
        "  2026-03-03  20 takes: alike in 16, the ear alone heard a miss in 1, your foot alone in 1, "
        "the ear was not sure in 2",
        "Your foot flatters you by about 5 %: 92 BPM by it, 88 where the ear counts as well (of 32 takes).",
    ]


@pytest.mark.parametrize(
    ("flattery", "says"),
    [
        (Flattery(88.4, 88.0, 25), "Your foot is as strict as the ear (of 25 takes)."),
        (None, "What that does to the clean tempo is told from 20 takes that the ear is sure of."),
    ],
)
def test_a_strict_foot_and_too_few_takes_are_said_in_a_sentence(flattery, says):
    day = Agreement(takes=1, unsure=0, only_ear=0, only_foot=0)
    told = in_words(TwoJudges(day, {date(2026, 3, 2): day}, flattery))
    assert told == f"Foot and ear, 1 take: alike in 1.\n{says}"


def test_and_for_other_programs():
    told = plain(TWO_DAYS)
    assert told["flattery"] == {"percent": 4.5, "foot_bpm": 92.0, "both_bpm": 88.0, "takes": 32}
    assert told["days"][0] == {
        "date": "2026-03-02", "takes": 14, "alike": 11, "ear_alone": 3, "foot_alone": 0, "unsure": 0,
    }  # fmt: skip
