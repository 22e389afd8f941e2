"""A teacher's page: who comes first, and what is said of each."""

from __future__ import annotations

from datetime import UTC, date, timedelta

import pytest

from pedaltrainer.history import many_players
from pedaltrainer.history.desk import Desk
from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.page import content as c
from pedaltrainer.page.markup import bare
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.telling.report_players import NO_PUPILS, players_page
from tests.history.desks import desk_with
from tests.page.made_up import FALLING, FLAT, NOW, RISING, TODAY, write_log, write_songs

PACK = Pack("Week nine", drills=(PackDrill(parse_drill("Am E"), 60), PackDrill(parse_drill("G D"), 150)))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    away = NOW - timedelta(days=30)
    for seed, (name, drills, last) in enumerate(
        (
            ("Rising", {"Am E": RISING}, NOW),
            ("Flat", {"Am E": FLAT, "G D": RISING}, NOW),
            ("Away", {"Am E": RISING}, away),
            ("Falling", {"Am E": FALLING, "C G": RISING}, NOW),
        )
    ):
        write_log(folder, name, drills, last=last - timedelta(hours=2), seed=seed)
    write_songs(folder)
    return folder


def page_of(*desks: Desk) -> c.Page:
    return players_page(many_players.pupils(desks, NOW, 90, zone=UTC), TODAY, 90)


def rows_of(page: c.Page) -> list[list[str]]:
    table = next(block for block in page.sections[0].blocks if isinstance(block, c.Table))
    return [[bare(cell) for cell in row] for row in table.rows]


def test_who_needs_attention_comes_first(folder):
    rows = rows_of(page_of(Desk(folder, "")))
    assert [row[:3] for row in rows] == [
        ["Falling", "falling", "Am – E"],
        ["Away", "not played for 30 days", "–"],
        ["Flat", "flat", "Am – E"],
        ["Rising", "rising", "Am – E"],
    ]
    assert [row[4] for row in rows] == ["2026-03-02", "2026-01-31", "2026-03-02", "2026-03-02"]


def test_minutes_are_those_of_the_last_seven_days(folder):
    minutes = {row[0]: row[3] for row in rows_of(page_of(Desk(folder, "")))}
    assert minutes["Away"] == "0"
    assert int(minutes["Rising"]) > 0


def test_what_was_set_is_told_with_how_much_of_it_is_reached(folder, tmp_path):
    desk = desk_with(tmp_path, songs=Desk(folder, "").songs, packs=(PACK,), log_at=folder)
    said = {row[0]: row[-1] for row in rows_of(page_of(desk))}
    assert said["Rising"] == "Low Water: no, 0 of 4; Salt & Lanterns: no, 0 of 3; Week nine: no, 1 of 2"


def test_a_pack_all_of_which_is_reached_says_yes(folder, tmp_path):
    desk = desk_with(tmp_path, packs=(Pack("Easy", drills=PACK.drills[:1]),), log_at=folder)
    assert {row[0]: row[-1] for row in rows_of(page_of(desk))}["Rising"] == "Easy: yes, 1 of 1"


def test_each_name_leads_to_its_own_section(folder):
    page = page_of(Desk(folder, ""))
    table = next(block for block in page.sections[0].blocks if isinstance(block, c.Table))
    led = {row[0].to: row[0].text for row in table.rows if isinstance(row[0], c.Name)}
    assert led == {one.key: bare(one.heading) for one in page.sections[1].sections}


def test_pupils_of_the_same_name_in_two_logs_are_told_apart(folder, tmp_path):
    school = tmp_path / "school"
    write_log(school, "Rising", {"Am E": FLAT}, seed=9)
    both = rows_of(page_of(Desk(folder, ""), Desk(school, "")))
    assert [row[1] for row in both if row[0] == "Rising"] == ["school", folder.name]


def test_a_log_in_which_nobody_played_makes_a_page_that_says_so():
    page = players_page([], date(2026, 3, 2), 90)
    assert NO_PUPILS in page.lead[0].lines
