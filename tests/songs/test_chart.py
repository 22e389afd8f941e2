"""Charts: what a player writes, read; and what is no chart, told in one sentence."""

import re
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.chart import LONGEST_CHART, parse_chart
from pedaltrainer.songs.metre import Metre, parse_metre
from pedaltrainer.songs.song import Mark, Song
from pedaltrainer.songs.writing import write_chart
from tests.songs.charts import songs

TODAY = date(2026, 11, 25)


def read(text: str, name: str = "test.chart") -> Song:
    return parse_chart(text, name, TODAY)


def chords(song: Song) -> str:
    """The song's bars written out, one space between slots."""
    return " | ".join(" ".join(slot.chord or str(slot.mark) for slot in bar.slots) for bar in song.bars)


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        read(text)
    return str(caught.value)


def test_a_whole_chart_is_read() -> None:
    song = read(
        "# the band's key\n"
        "title: Song #2 of the Pier\n"
        "tempo: 96.5 bpm\n"
        "metre: 3/4\n"
        "strum: 16ths\n"
        "gap: muted\n"
        "by: 12 December\n"
        "\n"
        "[Verse #1] x2   # softly\n"
        "| Am / G | F . - |\n"
        "| E7 x / |\n"
    )
    assert song.title == "Song #2 of the Pier"
    assert (song.strum, song.gap, song.by) == (Fraction(1, 16), Gap.MUTED, date(2026, 12, 12))
    assert song.notes == ("the band's key", "softly")
    assert [(section.name, section.times, len(section.bars)) for section in song.sections] == [
        ("Verse #1", 2, 3)
    ]
    first, second, third = song.sections[0].bars
    assert (first.tempo_bpm, first.beats, first.beat_unit) == (96.5, 3, Fraction(1, 4))
    assert [slot.beat for slot in first.slots] == [0, 1, 2]
    assert [slot.mark for slot in second.slots] == [None, Mark.HELD, Mark.FREE]
    assert [slot.chord for slot in third.slots] == ["E7", None, None]
    assert song.seconds == pytest.approx(2 * 9 * 60 / 96.5)


def test_a_chart_of_bars_alone_has_usual_values_and_the_files_name() -> None:
    song = read("| Am | G |", "folder/low-water.chart")
    assert song.title == "low-water"
    assert (song.strum, song.gap, song.by) == (Fraction(1, 8), Gap.LIFTED, None)
    assert {(bar.tempo_bpm, bar.beats) for bar in song.bars} == {(100, 4)}


@pytest.mark.parametrize(
    ("metre", "slots", "beats"),
    [
        ("4/4", "C G", [0, 2]),
        ("4/4", "C / / / / / / G", [0, "1/2", 1, "3/2", 2, "5/2", 3, "7/2"]),
        ("3/4", "C / G", [0, 1, 2]),
        ("6/8", "C G", [0, 1]),
        ("6/8", "C / / G / /", [0, "1/3", "2/3", 1, "4/3", "5/3"]),
        ("6/8", "C / G", [0, "2/3", "4/3"]),
        ("12/8", "C G", [0, 2]),
        ("6/8 in 6", "C / G", [0, 2, 4]),
        ("5/4", "C / / G /", [0, 1, 2, 3, 4]),
    ],
)
def test_the_slots_divide_the_bar_evenly(metre: str, slots: str, beats: list[int | str]) -> None:
    bar = read(f"metre: {metre}\n| {slots} |").bars[0]
    assert [slot.beat for slot in bar.slots] == [Fraction(beat) for beat in beats]


def test_an_uneven_number_of_slots_is_refused_with_line_bar_and_mend() -> None:
    assert refusal("title: X\n| Am | C G F |") == (
        "test.chart, line 2, bar 2: 3 slots do not divide the 4 beats of 4/4 evenly; "
        "write 1, 2, 4 or 8 of them, with / . - or x where no chord begins."
    )


# Which metres are compound, and what their beat is: the common rule of music notation.
@pytest.mark.parametrize(
    ("text", "metre"),
    [
        ("4/4", Metre(4, Fraction(1, 4))),
        ("3/4", Metre(3, Fraction(1, 4))),
        ("2/2", Metre(2, Fraction(1, 2))),
        ("6/8", Metre(2, Fraction(3, 8))),
        ("9/8", Metre(3, Fraction(3, 8))),
        ("12/8", Metre(4, Fraction(3, 8))),
        ("3/8", Metre(3, Fraction(1, 8))),
        ("7/8", Metre(7, Fraction(1, 8))),
        ("6/8 in 6", Metre(6, Fraction(1, 8))),
        ("3/8 in 1", Metre(1, Fraction(3, 8))),
        ("6/4", Metre(6, Fraction(1, 4))),
        ("6/4 in 2", Metre(2, Fraction(3, 4))),
    ],
)
def test_metres(text: str, metre: Metre) -> None:
    assert parse_metre(text) == metre
    assert str(metre) == text


@given(st.integers(1, 32), st.sampled_from([1, 2, 4, 8, 16, 32]), st.integers(1, 32))
def test_a_metre_is_read_back_as_it_was_written(count: int, unit: int, beats: int) -> None:
    metre = parse_metre(f"{count}/{unit} in {beats}")
    assert (metre is None) == bool(count % beats)
    assert metre is None or parse_metre(str(metre)) == metre


@pytest.mark.parametrize(
    ("bars", "written_out"),
    [
        ("|: Am | G :|", "Am | G | Am | G"),
        ("|: Am :| x3", "Am | Am | Am"),
        ("| C | Am :| F |", "C | Am | C | Am | F"),
        ("|: C :|: G :| F |", "C | C | G | G | F"),
        ("|: Am | G |\n| F :|", "Am | G | F | Am | G | F"),
        ("|: Am |1 G :|2 F | C |", "Am | G | Am | F | C"),
        ("|: Am |1 G | F :|2 E7 ||", "Am | G | F | Am | E7"),
        ("| Am / G / | % | % |", "Am / G / | Am / G / | Am / G /"),
        ("|| Am ||: G :||", "Am | G | G"),
        ("|Am|G/B|", "Am | G/B"),
        ("| NC | n.c. | Am |", "N.C. | N.C. | Am"),
        ("| Am | :| | |: G | :|", "Am | Am | G | G"),
        ("| A♭ | F♯m7 |", "Ab | F#m7"),
    ],
)
def test_bars_are_written_out(bars: str, written_out: str) -> None:
    assert chords(read(bars)) == written_out


def test_a_sections_name_alone_plays_it_again() -> None:
    song = read("[A]\n| Am |\n[B]\ntempo: 80\n| G |\n[A] x2\n")
    assert chords(song) == "Am | G | Am | Am"
    assert [bar.tempo_bpm for bar in song.bars] == [100, 80, 100, 100]


def test_tempo_and_metre_change_between_bars() -> None:
    song = read("tempo: 90\n| C |\ntempo: 60\nmetre: 6/8\n| G |\n")
    assert [(bar.tempo_bpm, bar.beats) for bar in song.bars] == [(90, 4), (60, 2)]


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("2026-12-12", date(2026, 12, 12)),
        ("12 December", date(2026, 12, 12)),
        ("December 12", date(2026, 12, 12)),
        ("12 Dec 2027", date(2027, 12, 12)),
        ("25 November", TODAY),
        ("24 November", date(2027, 11, 24)),
        ("29 February", date(2028, 2, 29)),
    ],
)
def test_a_day_without_a_year_is_the_next_one(written: str, day: date) -> None:
    assert read(f"by: {written}\n| Am |").by == day


def test_without_todays_date_a_day_needs_its_year() -> None:
    with pytest.raises(InputError, match="12 December 2026"):
        parse_chart("by: 12 December\n| Am |", "test.chart")


@pytest.mark.parametrize(
    ("text", "place", "word"),
    [
        ("", "line 1", "no bars"),
        ("title: X\n", "line 1", "no bars"),
        ("tempo: fast\n| Am |", "line 1", "“fast”"),
        ("tempo: 9\n| Am |", "line 1", "10 to 600"),
        ("metre: 4/5\n| Am |", "line 1", "“4/5”"),
        ("metre: 6/8 in 4\n| Am |", "line 1", "“6/8 in 4”"),
        ("strum: 5ths\n| Am |", "line 1", "4ths, 8ths, triplets, swing, 16ths"),
        ("gap: wide\n| Am |", "line 1", "lifted, muted, instant"),
        ("by: soon\n| Am |", "line 1", "“soon”"),
        ("by: 31 June\n| Am |", "line 1", "“31 June”"),
        ("title:\n| Am |", "line 1", "title"),
        ("title: a\ntitle: b\n| Am |", "line 2", "twice"),
        ("| Am | |", "line 1, bar 2", "empty"),
        ("| Am | H |", "line 1, bar 2", "“H”"),
        ("| Am |\n\n| G | C G E7b | F |", "line 3, bar 3", "3 slots"),
        ("| Am | G[32] |", "line 1, bar 2", "“G[32]” has 2 frets"),
        ("| / Am |", "line 1, bar 1", "before any chord"),
        ("| % |", "line 1, bar 1", "there is none"),
        ("| Am % |", "line 1, bar 1", "whole bar"),
        ("| Am |\nmetre: 3/4\n| % |", "line 3, bar 2", "another metre"),
        ("|: Am |", "line 1", "still open"),
        ("|: Am |\n[B]\n| G |", "line 2", "still open"),
        ("|: Am |: G :| :|", "line 1, after bar 1", "in one another"),
        ("|: :|", "line 1", "no bar to repeat"),
        ("|: Am :| x0", "line 1, after bar 1", "x1 to x99"),
        ("|: Am :| x10000", "line 1, after bar 1", "x1 to x99"),
        ("[A] x10000\n| Am |", "line 1", "x1 to x99"),
        ("[A] twice\n| Am |", "line 1", "“twice”"),
        ("[A]\n[B]\n| Am |", "line 2", "[A] of line 1 has no bars"),
        ("|: Am |1 G :|", "line 1", ":|2"),
        ("|: Am |1 G :| F |", "line 1, bar 3", ":|2"),
        ("| Am :|2 G |", "line 1, after bar 1", "|1"),
        ("| Am : G |", "line 1, bar 1", "colon"),
        ("|: " + "Am | " * 50 + ":| x99", "line 1, after bar 50", "2,000 bars"),
        ("[A] x99\n|: " + "Am | " * 50 + "G :|", "line 2", "2,000 bars"),
    ],
)
def test_what_is_no_chart_is_told_with_its_place(text: str, place: str, word: str) -> None:
    message = refusal(text)
    assert word in message
    assert re.match(rf"test\.chart, {place}: ", message), message
    assert message.endswith(".")
    assert "\n" not in message


def test_a_chart_of_a_megabyte_is_refused() -> None:
    message = refusal("| Am | G |\n" * 100_000)
    assert f"{LONGEST_CHART:,} at most" in message


@given(songs())
def test_what_is_written_is_read_back_the_same(song: Song) -> None:
    assert read(write_chart(song)) == song


PIECES = (
    *(
        "|",
        "||",
        "|:",
        ":|",
        ":|2",
        "|1 ",
        ":|:",
        " x3",
        " ",
        "\n",
        "Am",
        "G/B",
        "F[133211]",
        "%",
        "N.C.",
        "/",
    ),
    *(".", "-", "x", "[A]", "[A] x2", "tempo: 80", "metre: 6/8", "by: 3 May", "title: T", "# note", ":", "é"),
)


@given(st.text() | st.lists(st.sampled_from(PIECES)).map("".join))
@example("| Am |\x85title: x")
@example("[" * 1000)
@example("|: Am :| x" + "9" * 5000)
@example("tempo: ٣٣\n| Am |")
@example("metre: ٣/4\n| Am |")
def test_any_text_is_a_chart_or_one_sentence(text: str) -> None:
    song = read_or_refused(text)
    assert song is None or read(write_chart(song)) == song


def read_or_refused(text: str) -> Song | None:
    try:
        return read(text)
    except InputError as error:
        message = str(error)
    assert re.fullmatch(r"test\.chart.*\.", message), message
    return None
