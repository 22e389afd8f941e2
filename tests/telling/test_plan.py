"""Today's plan in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from pedaltrainer.history.today import Planned
from pedaltrainer.practice.coach.limits import Limit, Which
from pedaltrainer.practice.coach.plan_lines import Mode, PlanLine, Today, Why
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.telling.plan import plan_report
from pedaltrainer.telling.text_boxes import Terminal
from tests.telling.made_up import TODAY, song

AM_F, C_G, F = parse_drill("Am F"), parse_drill("C G"), parse_drill("pressure F")
LINES = (
    PlanLine(AM_F, 2.0, Mode.SLOW, 50, Why.WARM_UP),
    PlanLine(C_G, 3.0, Mode.PRACTISE, None, Why.NEW, 104.0, ("Paper Boats",)),
    PlanLine(AM_F, 3.0, Mode.PRACTISE, 88, Why.ASKED, 104.0, ("Paper Boats", "Low Water"), 88.4),
    PlanLine(F, 2.0, Mode.SLOW, 50, Why.ASKED, None, ("Week 3",)),
    PlanLine(C_G, 2.5, Mode.PRACTISE, None, Why.NEW, 104.0, ("Paper Boats",)),
)


def told(plan: Today, columns: int = 80, songs=None, proposals=None) -> list[str]:
    planned = Planned(plan, {}, proposals or {})
    return plan_report(planned, [song()] if songs is None else songs, TODAY, Terminal(columns)).splitlines()


def test_each_line_says_when_how_long_what_how_and_why():
    lines = told(Today(LINES, 12.5))
    assert lines[0] == "Today, 12.5 minutes; Paper Boats is due in 17 days"
    assert [line.strip() for line in lines[2:]] == [
        "0:00    2 min   Am – F: slowly, from 50 BPM",
        "warm-up: slow and easy",
        "2:00    3 min   C – G: practise where you learn",
        "new; Paper Boats asks for 104 BPM",
        "5:00    3 min   Am – F: practise where you learn, from 88 BPM",
        "88 of 104 BPM, for Paper Boats and Low Water",
        "8:00    2 min   F, in four stages: slowly, from 50 BPM",
        "set in Week 3",
        "10:00  2.5 min   C – G: practise where you learn",
    ]


def test_what_is_ready_and_only_kept_says_so():
    kept = PlanLine(C_G, 3.0, Mode.PRACTISE, 110, Why.KEPT, 104.0, ("Paper Boats",), 110.0)
    assert told(Today((kept,), 3.0))[-1].strip() == "ready for 104 BPM; to keep it"


def test_a_change_that_is_flat_is_proposed_in_another_way_with_what_holds_it_back():
    limit = Limit(Which.SECOND, 0.84, {})
    lines = told(Today(LINES[2:3], 3.0), 100, proposals={AM_F.key: (limit, parse_drill("F"))})
    assert lines[-1] == (
        'Am – F has been flat for long and held back by landing F; try: pedaltrainer play "F"'
    )


def test_rests_stand_where_they_fall():
    lines = [line.strip() for line in told(Today(LINES, 12.5, (5.0,)))]
    rest = lines.index("rest a few minutes")
    assert lines[rest + 1].startswith("5:00")


@pytest.mark.parametrize(
    ("days", "words"), [(0, "Paper Boats is due today"), (1, "Paper Boats is due tomorrow"), (-3, None)]
)
def test_the_nearest_date_is_told_and_a_past_one_is_not(days, words):
    late = replace(song(), by=TODAY + timedelta(days=days))
    head = told(Today(LINES, 10.0), songs=[late])[0]
    assert head == "Today, 10 minutes" + (f"; {words}" if words else "")


@pytest.mark.parametrize("columns", [60, 80, 100])
def test_nothing_is_wider_than_the_terminal(columns):
    long = replace(LINES[1], sources=("The Song With a Very Long Name Indeed", "Another That Is As Long"))
    assert max(map(len, told(Today((long,), 3.0), columns))) <= columns
