"""Today's plan in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from pedaltrainer.practice.coach.plan_lines import Mode, PlanLine, Today
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.telling.plan import AS_ABOVE, plan_report
from pedaltrainer.telling.text_boxes import Terminal
from tests.telling.made_up import TODAY, song

AM_F, F = parse_drill("Am F"), parse_drill("F")
LINES = (
    PlanLine(AM_F, 2.0, Mode.SLOW, 50, "warm-up: slow and light, the easiest for you"),
    PlanLine(F, 3.5, Mode.PRACTISE, 88, "F alone: it holds back Am – F (84 %)"),
    PlanLine(AM_F, 2.0, Mode.MEASURE, None, "Am – F: not measured yet; Paper Boats asks for 104 BPM"),
    PlanLine(F, 2.5, Mode.PRACTISE, 88, "F alone: it holds back Am – F (84 %)"),
)


def told(plan: Today, columns: int = 80, songs=None) -> list[str]:
    return plan_report(plan, [song()] if songs is None else songs, TODAY, Terminal(columns)).splitlines()


def test_each_line_says_when_how_long_what_how_and_why():
    lines = told(Today(LINES, 10.0))
    assert lines[0] == "Today, 10 minutes; Paper Boats is due in 17 days"
    assert lines[2] == "  0:00    2 min   Am – F: slowly, from 50 BPM"
    assert lines[3].strip() == "warm-up: slow and light, the easiest for you"
    assert lines[4] == "  2:00  3.5 min   F, landed again: practise where you learn, from 88 BPM"
    assert lines[6] == "  5:30    2 min   Am – F: measure it"


def test_a_reason_does_not_say_the_drill_again_nor_itself():
    lines = [line.strip() for line in told(Today(LINES, 10.0))]
    assert "not measured yet; Paper Boats asks for 104 BPM" in lines
    assert lines.count("F alone: it holds back Am – F (84 %)") == 1
    assert lines[-1] == AS_ABOVE


def test_rests_stand_where_they_fall():
    lines = [line.strip() for line in told(Today(LINES, 10.0, (5.5,)))]
    rest = lines.index("rest a few minutes")
    assert lines[rest + 1].startswith("5:30")


@pytest.mark.parametrize(
    ("days", "words"), [(0, "Paper Boats is due today"), (1, "Paper Boats is due tomorrow"), (-3, None)]
)
def test_the_nearest_date_is_told_and_a_past_one_is_not(days, words):
    late = replace(song(), by=TODAY + timedelta(days=days))
    head = told(Today(LINES, 10.0), songs=[late])[0]
    assert head == "Today, 10 minutes" + (f"; {words}" if words else "")


@pytest.mark.parametrize("columns", [60, 80, 100])
def test_nothing_is_wider_than_the_terminal(columns):
    long = replace(LINES[1], reason="F alone: " + "it is part of many changes, " * 6)
    assert max(map(len, told(Today((long,), 3.5), columns))) <= columns
