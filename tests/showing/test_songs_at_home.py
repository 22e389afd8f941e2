"""The pages of songs: what their rows say, and the bars as they are drawn."""

from __future__ import annotations

from datetime import date

import pytest

from pedaltrainer.practice.coach.readiness import song_standing
from pedaltrainer.session.home import Leaf, Verb
from pedaltrainer.showing.home import song_writing as writing
from pedaltrainer.showing.home import songs as pages
from pedaltrainer.showing.home import tapping
from pedaltrainer.showing.home.song_bars import bars_of
from pedaltrainer.showing.home.songs import SongFacts
from pedaltrainer.songs.chart import parse_chart

TODAY = date(2026, 11, 20)


def facts(chart: str, title: str = "Song", by: str = "") -> SongFacts:
    text = f"title: {title}\n" + (f"by: {by}\n" if by else "") + chart
    song = parse_chart(text, "song.chart", TODAY)
    return SongFacts(song, song_standing(song, {}))


def rows(leaf: Leaf) -> list[str]:
    return [row.words for row in leaf.rows]


def test_songs_with_a_date_to_come_stand_first_the_next_one_before_the_others():
    there = [
        facts("| C | G |", "A"),
        facts("| C | G |", "B", "2026-12-24"),
        facts("| C | G |", "C", "2026-12-01"),
        facts("| C | G |", "D", "2026-10-01"),
    ]
    assert rows(pages.songs(there, TODAY))[:4] == ["C: ?, 1 Dec", "B: ?, 24 Dec", "A: ?", "D: ?, 1 Oct"]


def test_many_songs_are_on_pages_of_six():
    there = [facts("| C | G |", f"Song {letter}") for letter in "ABCDEFGHIJKLMN"]
    first = pages.songs(there, TODAY)
    assert rows(first)[6:] == ["More songs", "Write a song", "Back"]
    more = next(row.errand.value for row in first.rows if row.words == "More songs")
    assert rows(pages.songs(there, TODAY, first=int(more)))[0] == "Song G: ?"
    assert "More songs" not in rows(pages.songs(there, TODAY, first=12))


def test_a_long_title_is_cut_in_a_row_and_whole_in_its_errand():
    long = "The Ballad of the Very Long Pier in Winter"
    row = pages.songs([facts("| C | G |", long)], TODAY).rows[0]
    assert row.words == "The Ballad of the…: ?"
    assert row.errand.value == long


def test_the_strip_has_a_bar_for_each_that_is_written_and_a_line_where_nothing_is_landed():
    one = facts("[Verse] x2\n| C | C | G | F . G . |\n[End]\n| C - - - |\n")
    bars = bars_of(one.song, one.standing).bars
    assert [(bar.chord, bar.begins) for bar in bars] == [
        ("C", True),
        ("", False),
        ("G", False),
        ("F", False),
        ("C", True),
    ]
    assert {bar.share for bar in bars} == {None}
    assert any(bar.is_hardest for bar in bars)


def test_a_song_without_changes_has_nothing_to_practise():
    one = facts("| C | C |")
    leaf = pages.song(one, one.standing.standings, TODAY)
    assert leaf.lines == ("There is no change in it.",)
    begun = [row.words for row in leaf.rows if row.errand.verb is Verb.PLAY]
    assert begun == ["Run it through"]
    assert pages.song_key(one).title == "Now: C"


def test_half_and_twice_a_tempo_are_offered_where_they_are_tempos():
    assert rows(tapping.tapped("104 new song"))[:3] == ["104 BPM", "Half of it: 52", "Twice that: 208"]
    assert rows(tapping.tapped("200 new song"))[:3] == ["200 BPM", "Half of it: 100", "Tap it again"]
    assert rows(tapping.tapped("- new song")) == ["Tap it again", "Back"]
    to_song = tapping.tapped("104 song Low Water").rows[1].errand
    assert (to_song.verb, to_song.value, to_song.then_value) == (Verb.DO, "52 Low Water", "Low Water")


@pytest.mark.parametrize("value", ["104 4", "88 3 Am F", "120 2 F#m7 G[320033]"])
def test_a_draft_is_its_page_s_value(value):
    draft = writing.read_draft(value)
    assert draft.value == value
    assert writing.write(draft, ()).place.value == value
    assert [bar.slots[0].chord for bar in writing.song_of(draft, "Song 1").bars] == list(draft.chords)


def test_after_a_phrase_it_comes_round_and_before_it_the_nearest_chords_are_first():
    assert writing.likeliest(writing.read_draft("100 4 G D Em C"), ())[:4] == ["G", "D", "Em", "C"]
    assert writing.likeliest(writing.read_draft("100 4 D G"), ())[:2] == ["Em", "C"]
    known = ("Bb", "Gm")
    assert writing.likeliest(writing.read_draft("100 4"), known)[:3] == ["Bb", "Gm", "G"]


def test_a_new_song_has_a_name_that_no_other_has():
    assert writing.new_title([]) == "Song 1"
    assert writing.new_title(["song 1", "Song 3", "Low Water"]) == "Song 2"


def test_the_beats_of_a_bar_go_round():
    value, seen = "100 4", []
    for _ in range(3):
        row = next(row for row in writing.write(writing.read_draft(value), ()).rows if "Beats" in row.words)
        value = row.errand.value
        seen.append(value)
    assert seen == ["100 3", "100 2", "100 4"]
