"""`pedaltrainer sheet` as a player runs it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from pypdf import PdfReader

from pedaltrainer.cli import main
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import utc_text
from pedaltrainer.songs import shelf
from tests.records.samples import a_session, a_take

FIRST_DAY = datetime(2026, 11, 2, 12, tzinfo=UTC)
CHART = "title: Paper Boats\ntempo: 104\nby: 2026-12-12\n\n[Verse]\n| Dm / / / | G7 / / / |\n"


def play(folder, *drills: str, days: int = 2, gap_days: int = 4, clean_bpm: float = 80) -> None:
    """Takes on either side of a clean tempo, on noons so that the date is the same in most time zones."""
    with Log.open(folder) as log:
        for day in range(days):
            when = FIRST_DAY + timedelta(days=gap_days * day)
            session = a_session(player="Tess", started_utc=utc_text(when))
            log.begin_session(session)
            for drill in map(parse_drill, drills):
                for number in range(10):
                    when += timedelta(seconds=15)
                    times = {
                        "started_utc": utc_text(when),
                        "ended_utc": utc_text(when + timedelta(seconds=9)),
                    }
                    missed = number % 2 == 1
                    answer = (
                        {"outcome": "fail", "first_miss": 5}
                        if missed
                        else {"outcome": "pass", "first_miss": None}
                    )
                    tempo_bpm = clean_bpm * (1.1 if missed else 0.94)
                    drilled = {"drill": drill.key, "chords": drill.chords, "tempo_bpm": tempo_bpm}
                    log.append_take(a_take(session, **drilled, **answer, **times))


@pytest.fixture
def sheet(tmp_path, capsys):
    def run(*words: str) -> str:
        path = tmp_path / "sheet.pdf"
        where = ("--data", str(tmp_path), "--out", str(path), "--force")
        assert main(["sheet", *where, "--player", "Tess", *words]) == 0
        return "\n".join(page.extract_text() for page in PdfReader(path).pages)

    return run


@pytest.fixture
def refused(tmp_path, capsys):
    def run(*words: str) -> str:
        assert main(["sheet", "--data", str(tmp_path), "--player", "Tess", *words]) == 2
        return str(capsys.readouterr().err)

    return run


def test_the_last_days_are_filled_in_with_dates_tempos_and_intervals(tmp_path, sheet):
    play(tmp_path, "Dm G7")
    lines = sheet().splitlines()
    assert "Dm – G7 Target: BPM" in lines
    assert {"2 Nov", "6 Nov"} <= set(lines)
    tempo = int(lines[lines.index("2 Nov") + 1])
    low, high = map(int, lines[lines.index("2 Nov") + 2].split(" to "))
    # Clean at 75, missed at 88, each time: the clean tempo is between them or near.
    assert 72 < tempo < 90
    assert low < tempo < high


def test_the_target_comes_from_the_song_that_needs_the_change_and_songs_come_first(tmp_path, sheet):
    chart = tmp_path / "song.txt"
    chart.write_text(CHART, encoding="utf-8")
    shelf.add(tmp_path, chart, date(2026, 11, 1))
    play(tmp_path, "C F", "Dm G7", "A E")
    lines = sheet().splitlines()
    assert "Dm – G7 Target: 104 BPM" in lines
    assert "by 12 December 2026, for Paper Boats" in lines
    drills = [line.partition(" Target")[0] for line in lines if "Target:" in line]
    assert drills[0] == "Dm – G7"
    assert sorted(drills[1:]) == ["A – E", "C – F"]


def test_a_target_that_is_named_holds_for_every_drill(tmp_path, sheet):
    assert sheet("Dm G7", "F", "--target", "120").count("Target: 120 BPM") == 2


def test_a_drill_named_that_was_never_played_has_empty_boxes_and_the_chords(sheet):
    lines = sheet("Dm G7").splitlines()
    assert {"Dm", "G7", "Player: Tess Teacher:", "Dm – G7 Target: BPM"} <= set(lines)
    assert not [line for line in lines if line.endswith(" Nov")]


def test_a_blank_sheet_says_how_to_use_it_and_tells_nothing_of_the_log(tmp_path, sheet):
    play(tmp_path, "Dm G7")
    words = " ".join(sheet("Dm G7", "--blank").split())
    assert "Count four beats in, then play eight landings" in words
    assert "four times in five" in words
    assert "Nov" not in words
    assert "Drill:" in sheet("--blank")


def test_only_the_last_weeks_of_playing_are_printed(tmp_path, sheet):
    play(tmp_path, "Dm G7", days=3, gap_days=10)
    lines = sheet("--weeks", "2").splitlines()
    assert "22 Nov" in lines
    assert "12 Nov" in lines
    assert "2 Nov" not in lines


def test_twelve_drills_are_printed_and_the_rest_counted(tmp_path, sheet, capsys):
    roots = ("A", "B", "C", "D", "E", "F", "G")
    play(tmp_path, *roots, *(f"{root}m" for root in roots), days=1)
    assert sheet().count("How it felt") == 12
    assert "2 more drills were left out" in capsys.readouterr().out


def test_the_same_record_gives_the_same_bytes(tmp_path, sheet):
    play(tmp_path, "Dm G7", "F")
    sheet()
    first = (tmp_path / "sheet.pdf").read_bytes()
    sheet()
    assert (tmp_path / "sheet.pdf").read_bytes() == first


def test_a_left_handed_sheet_is_another_and_has_the_same_words(tmp_path, sheet):
    right, drawn = sheet("F"), (tmp_path / "sheet.pdf").read_bytes()
    left = sheet("F", "--left-handed")
    assert sorted("".join(right.split())) == sorted("".join(left.split()))
    assert (tmp_path / "sheet.pdf").read_bytes() != drawn


def test_another_tuning_is_drawn_and_chords_without_a_shape_in_it_stay_empty(sheet):
    assert "A – D" in sheet("D A", "--tuning", "D A D G B E")
    assert "Cmaj13♯11" in sheet("Cmaj13#11", "--tuning", "G4 C4 E4 A4")


def test_with_no_takes_and_no_drill_the_mend_is_said(refused):
    said = refused()
    assert "There are no takes to print a sheet of" in said
    assert "--blank" in said
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("F", "--paper", "a3"), "“a3”"),
        (("F", "--out", "sheet.doc"), "sheet.doc"),
        (("F", "--out", "/no/such/folder/sheet.pdf"), "sheet.pdf cannot be written"),
        (("H Q",), "H"),
        (("level C G",), "level C G"),
    ],
)
def test_what_is_off_is_named_in_one_sentence(refused, words, named):
    said = refused(*words)
    assert named in said
    assert said.count("\n") == 1
