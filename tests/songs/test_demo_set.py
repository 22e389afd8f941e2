"""The set of the invented band that comes with the program, and the charts of its guide."""

import re
from datetime import date
from pathlib import Path

from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "configs" / "songs"
GUIDE = (ROOT / "docs" / "guide" / "songs.md").read_text(encoding="utf-8")


def demo_set() -> list[Song]:
    return [
        parse_chart(path.read_text(encoding="utf-8"), path.name) for path in sorted(FOLDER.glob("*.chart"))
    ]


def test_the_set_is_three_songs_of_a_minute_to_three_in_different_metres() -> None:
    songs = demo_set()
    assert [song.title for song in songs] == ["Breakwater Road", "Low Water", "Salt and Rope"]
    assert all(60 <= song.seconds <= 180 for song in songs)
    assert {song.bars[0].beats for song in songs} == {2, 4}


def test_the_set_asks_for_fourteen_changes_with_a_barred_f_and_a_bm() -> None:
    pairs = {frozenset((change.here, change.there)) for song in demo_set() for change in changes_of(song)}
    assert len(pairs) == 14
    assert {"F", "Bm"} <= frozenset.union(*pairs)


def test_no_change_of_the_set_leaves_less_than_a_quarter_of_a_second() -> None:
    assert min(change.air_ms for song in demo_set() for change in changes_of(song)) > 250


def test_the_guides_chart_can_be_read() -> None:
    (chart,) = re.findall("```\n(.*?)```", GUIDE, re.DOTALL)
    song = parse_chart(chart, "guide.chart", date(2026, 11, 25))
    assert (len(song.bars), song.by) == (14, date(2026, 12, 12))


def test_the_guides_bars_can_be_read() -> None:
    rows = [
        found.replace("\\|", "|") for found in re.findall(r"^\| `(\\\| [^`]*\\\|)` \|", GUIDE, re.MULTILINE)
    ]
    assert len(rows) == 4
    for row in rows:
        parse_chart(row, "guide.chart")
