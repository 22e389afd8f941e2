"""The songs' commands as a player runs them: `song add | list | show | by | remove | ready`, and `plan`."""

from __future__ import annotations

import io
import re
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from pedaltrainer.cli import main
from pedaltrainer.practice.drill import parse_drill
from tests.paper.test_boxes import svg_words
from tests.telling.made_up import CHART

DATA = Path(__file__).parents[1] / "data"
FERRY = """\
title: Slow Ferry
metre: 6/8
tempo: 60
gap: muted
| G | D | Em | C D |
"""


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    """A player called Robin without songs or takes, at a terminal of 100 columns."""
    home = tmp_path / "home"
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: home)
    monkeypatch.setattr("pedaltrainer.commands.asking.player_name", lambda: "Robin")
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "boats.txt").write_text(CHART, encoding="utf-8")
    (tmp_path / "ferry.txt").write_text(FERRY, encoding="utf-8")
    return home


@pytest.fixture
def boats(said, capsys):
    said("song", "add", "boats.txt")


@pytest.fixture
def played(boats, at_home, capsys):
    """Robin measured every change of the boats, and F and Am alone."""
    for drill, skill in (("Am F", 70), ("F C", 95), ("C G", 130), ("Am G", 150), ("F", 84), ("Am", 170)):
        words = ("rehearse", "--fast", "--data", at_home, "--player", "Robin", "--minutes", "4", drill)
        assert main([*map(str, words), "--skill", str(skill), "--seed", "3"]) == 0
    capsys.readouterr()


# --- add, list, show, by, remove -----------------------------------------------------


def test_a_song_is_kept_and_says_what_to_do_next(said):
    out = said("song", "add", "boats.txt")
    assert out.startswith("Kept Paper Boats, by 12 December 2026")
    assert "10 bars, 4 changes; " in out
    assert out.endswith('To see what it asks of you: pedaltrainer song ready "Paper Boats"\n')
    assert said("song", "list").splitlines()[1].startswith("Paper Boats  ")


def test_a_day_can_be_set_when_adding_changed_later_and_taken_away(said, found):
    day = date.today() + timedelta(days=10)
    said("song", "add", "ferry.txt", "--by", day.isoformat())
    assert found("song", "list")[0]["by"] == day.isoformat()
    later = day + timedelta(days=5)
    assert f"by {later.day} {later:%B %Y}, in 15 days" in said(
        "song", "by", "ferry", str(later.day), f"{later:%B}", later.year
    )
    assert found("song", "list")[0]["by"] == later.isoformat()
    assert "has no date now" in said("song", "by", "ferry", "none")
    assert found("song", "list")[0]["by"] is None


def test_a_song_of_the_same_title_is_only_replaced_when_asked(said, refused, boats):
    assert "--replace" in refused("song", "add", "boats.txt")
    assert said("song", "add", "boats.txt", "--replace").startswith("Kept Paper Boats")


def test_a_musicxml_score_is_kept_too(said, found):
    said("song", "add", DATA / "low_water.musicxml", "--by", "2030-01-31")
    (song,) = found("song", "list")
    assert (song["title"], song["tempo_bpm"]) == ("Low Water at the Slip", 92.0)
    assert song["by"] == "2030-01-31"


def test_a_broken_file_on_the_shelf_is_told_and_hinders_no_other_song(at_home, capsys, refused, boats):
    (at_home / "songs" / "spoilt.chart").write_text("title: Spoilt\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["song", "list"]) == 0
    out = capsys.readouterr()
    assert "Paper Boats" in out.out
    assert "spoilt.chart, line 1: there are no bars; write them between bar lines" in out.err
    assert "spoilt.chart, line 1: there are no bars" in refused("song", "show", "spoilt")


def test_a_chart_is_shown_with_the_air_time_of_each_change(said, found, boats):
    out = said("song", "show", "boats")
    assert "[Verse] x2" in out
    assert "288" in out
    # Half a beat at 104 BPM, and at 80 BPM in the bridge: 60 000 / BPM / 2 ms.
    landings = found("song", "show", "boats")["landings"]
    assert landings[0] == {
        "here": "Am", "there": "F", "bar": 2, "beat": "1", "gap": "lifted",
        "air_ms": pytest.approx(60_000 / 104 / 2, abs=0.1),
    }  # fmt: skip
    assert landings[-1]["air_ms"] == pytest.approx(60_000 / 80 / 2, abs=0.1)
    assert len(landings) == 10


def test_the_fingerings_that_make_a_song_easiest_are_shown_with_their_boxes(said, found, boats):
    out = said("song", "show", "boats", "--fingers")
    assert re.search(r"^(Easier than )?[Tt]he usual fingering of each chord", out, re.MULTILINE)
    assert "To practise, the dearest first:" in out
    route = found("song", "show", "boats", "--fingers")["route"]
    assert route["symbols"][:6] == ["Am", "F", "C", "G", "Am", "F"]
    assert "route" not in found("song", "show", "boats")


def test_a_song_is_fingered_once_unless_it_is_free(said, found, refused, tmp_path):
    (tmp_path / "same.txt").write_text("title: Same\n| G | D | Em | C | G | C | D | G |\n", encoding="utf-8")
    said("song", "add", "same.txt")
    once, free = (found("song", "show", "same", "--fingers", *more)["route"] for more in ((), ("--free",)))
    assert len({shape["name"] for shape in once["shapes"]}) == len(set(once["symbols"])) == 4
    assert free["cost"] <= once["cost"] <= once["textbook_cost"]
    assert "give --fingers with it" in refused("song", "show", "same", "--free")


def test_a_song_of_one_chord_has_no_fingerings_to_compare(said, refused, tmp_path):
    (tmp_path / "drone.txt").write_text("title: Drone\n| Am / / / |\n", encoding="utf-8")
    said("song", "add", "drone.txt")
    assert "There is no change in it." in said("song", "ready", "drone")
    assert "leave out --fingers" in refused("song", "show", "drone", "--fingers")
    said("song", "ready", "drone", "--picture", "drone.svg")


def test_a_removed_song_is_gone_and_its_takes_are_not(said, found, played):
    out = said("song", "remove", "paper")
    assert "Removed Paper Boats; what you played of it stays in the log." in out
    assert found("song", "list") == []
    assert len(found("log")) > 20


def test_an_unknown_song_is_told_with_those_that_are_there(refused, boats):
    for words in (("show", "moon"), ("ready", "moon"), ("remove", "moon"), ("by", "moon", "none")):
        told = refused("song", *words)
        assert "moon" in told
        assert "Paper Boats" in told


def test_a_broken_file_is_told_with_its_line_and_nothing_is_kept(refused, found, tmp_path):
    (tmp_path / "broken.txt").write_text("title: Broken\n| Am / / H9x |\n", encoding="utf-8")
    told = refused("song", "add", "broken.txt")
    assert "broken.txt" in told
    assert "line 2" in told
    assert found("song", "list") == []


def test_a_file_that_is_not_there_is_told(refused):
    assert "gone.txt" in refused("song", "add", "gone.txt")


def test_what_is_no_day_is_told(refused, boats):
    assert "“someday” is no day; write one such as 12 December" in refused(
        "song", "add", "ferry.txt", "--by", "someday"
    )
    assert "“31 Juni” is no day" in refused("song", "by", "boats", "31", "Juni")


# --- ready ---------------------------------------------------------------------------


def test_without_songs_each_command_says_how_to_add_one(said, refused, found):
    for words in (("song", "list"), ("song", "ready")):
        assert "pedaltrainer song add FILE" in said(*words)
    assert "pedaltrainer song add FILE" in refused("plan")
    assert found("song", "ready") == {"songs": [], "changes": [], "next": None}


def test_without_takes_nothing_is_claimed(said, found, boats):
    out = said("song", "ready")
    assert "Nothing is measured yet." in out
    assert out.endswith("To practise today's plan: pedaltrainer\n")
    ready = found("song", "ready")
    assert ready["songs"][0]["whole_bpm"] is None
    assert {change["clean_bpm"] for change in ready["changes"]} == {None}
    assert {change["chance"] for change in ready["changes"]} == {None}


def test_readiness_is_told_hardest_first_from_what_was_played(said, found, played):
    out = said("song", "ready", "boats")
    ready = found("song", "ready", "boats")
    (song,) = ready["songs"]
    changes = ready["changes"]
    assert [change["readiness"] for change in changes] == sorted(change["readiness"] for change in changes)
    assert changes[0]["drill"] == song["bottleneck"] == "change Am F"
    # The made-up player's true clean tempo is 70 BPM, where 104 is asked for; and 150 for the readiest.
    assert changes[0]["low_bpm"] <= 70 * 1.05
    assert changes[0]["high_bpm"] >= 70 * 0.95
    assert changes[0]["chance"] < 0.05
    assert changes[-1]["is_ready"]
    assert song["whole_bpm"] < 95
    assert f"come out clean one time in two at {int(song['whole_bpm'])} BPM of its own 104" in out
    assert "The bottleneck is Am – F: 288 ms in the air" in out


def test_the_next_thing_to_do_is_the_same_wherever_it_is_told(said, found, played):
    plan = found("plan")
    first = next(line for line in plan["lines"] if line["mode"] != "slow")
    assert plan["next"] == {"drill": first["drill"], "target_bpm": first["target_bpm"]}
    assert found("song", "ready")["next"] == found("song", "ready", "boats")["next"] == plan["next"]
    (told,) = {
        re.search(r"Next: .*? BPM\.", " ".join(said(*words).split()))[0]
        for words in (("plan",), ("song", "ready"), ("progress",))
    }
    assert told == f"Next: {parse_drill(first['drill']).title}, for {first['target_bpm']:.0f} BPM."


def test_a_limit_is_named_or_what_to_measure_is(found, played):
    for change in found("song", "ready")["changes"]:
        limit = change["limit"]
        assert sum(limit["chances"].values()) == pytest.approx(1, abs=0.01)
        if limit["measure_first"] is not None:
            assert parse_drill(limit["measure_first"])
            assert limit["seconds"] > 0
    assert found("song", "ready")["changes"][0]["limit"]["which"] != "first shape"


def test_the_whole_set_is_told_together(said, found, played):
    said("song", "add", "ferry.txt")
    ready = found("song", "ready")
    assert [song["title"] for song in ready["songs"]] == ["Paper Boats", "Slow Ferry"]
    assert {title for change in ready["changes"] for title in change["songs"]} == {
        "Paper Boats", "Slow Ferry",
    }  # fmt: skip
    out = said("song", "ready")
    assert "Slow Ferry: 60 BPM" in out
    assert "D – G, muted" in out


@pytest.mark.parametrize("columns", [80, 100])
def test_nothing_is_wider_than_the_terminal(said, played, monkeypatch, columns):
    said("song", "add", "ferry.txt")
    monkeypatch.setenv("COLUMNS", str(columns))
    for words in (("song", "list"), ("song", "show", "boats"), ("song", "ready"), ("plan",)):
        assert max(map(len, said(*words).splitlines())) <= columns, words


def test_the_strip_of_a_song_is_drawn(said, played, tmp_path):
    out = said("song", "ready", "boats", "--picture", "strip.svg")
    assert out.endswith("Drawn in strip.svg.\n")
    words = svg_words(tmp_path / "strip.svg")
    assert {"Paper Boats, 104 BPM", "Verse x2", "Bridge", "bottleneck"} <= set(words)


def test_a_picture_is_of_one_song_and_of_a_known_kind(refused, said, boats):
    said("song", "add", "ferry.txt")
    assert "A picture shows one song and here are 2" in refused("song", "ready", "--picture", "strip.png")
    assert "is no picture this program makes" in refused("song", "ready", "boats", "--picture", "strip.doc")


def test_a_terminal_of_plain_letters_gets_plain_letters(monkeypatch, played):
    for words in (["song", "ready"], ["song", "show", "boats"], ["plan"]):
        raw = io.BytesIO()
        monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
        assert main(words) == 0
        sys.stdout.flush()
        assert b"Am - F" in raw.getvalue() or words[1:2] == ["show"]


# --- plan ----------------------------------------------------------------------------


def test_the_plan_fills_the_minutes_and_gives_each_line_a_reason(said, found, played):
    plan = found("plan", "--minutes", 15)
    assert plan["minutes"] == 15
    assert sum(line["minutes"] for line in plan["lines"]) == pytest.approx(15, abs=0.05)
    assert all(line["reason"] and parse_drill(line["words"]) for line in plan["lines"])
    assert {line["mode"] for line in plan["lines"]} <= {"measure", "practise", "slow"}
    out = said("plan", "--minutes", 15)
    assert out.startswith("Today, 15 minutes; Paper Boats is due in ") or date.today() > date(2026, 12, 12)
    assert len(re.findall(r"^ +\d+:\d\d +[\d.]+ min   ", out, re.MULTILINE)) == len(plan["lines"])
    assert out.endswith("To begin: pedaltrainer --minutes 15\n")


def test_lifted_and_muted_changes_of_one_chord_are_planned_together(found, said, played, tmp_path):
    (tmp_path / "both.txt").write_text("title: Both\n| Am / / / | F / / / | C x x F |\n", encoding="utf-8")
    said("song", "add", "both.txt")
    assert found("plan")["minutes"] == 20


def test_the_usual_minutes_need_not_be_named(said, boats):
    assert said("plan").endswith("To begin: pedaltrainer\n")
