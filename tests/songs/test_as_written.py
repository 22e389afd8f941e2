"""Charts as they are written: each is read as it is meant, and nothing of it is lost in silence."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart
from tests.songs.as_written import CHARTS, REFUSED
from tests.songs.drawn import charts
from tests.songs.lost import Fate, fates, lost_words


def bars_of(song: Song) -> str:
    return " | ".join(" ".join(slot.chord or str(slot.mark) for slot in bar.slots) for bar in song.bars)


def read(name: str) -> Song:
    return parse_chart(CHARTS[name].chart, "a.chart")


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_is_read_as_it_is_meant(name: str) -> None:
    song, (_, bars, wanted) = read(name), CHARTS[name]
    assert bars_of(song) == bars
    last = song.bars[-1]
    found = {
        "title": song.title,
        "key": song.key,
        "capo": song.capo,
        "beats": last.beats,
        "tempo_bpm": last.tempo_bpm,
        "pattern": last.pattern,
        "told": song.told,
        "gaps": [change.gap.value for change in changes_of(song)],
    }
    assert {one: found[one] for one in wanted} == wanted


@pytest.mark.parametrize("name", CHARTS)
def test_our_own_form_of_it_is_the_same_song(name: str) -> None:
    song = read(name)
    again = parse_chart(write_chart(song), "again.chart")
    assert again == song
    assert again.told == ()


@pytest.mark.parametrize("name", CHARTS)
def test_no_word_of_it_is_lost(name: str) -> None:
    assert not {Fate.LOST, Fate.IDLE} & {fate for _, fate in fates(CHARTS[name].chart)}


def test_the_counter_knows_a_word_that_is_lost() -> None:
    assert lost_words("gap: lifted\n| G | C |\n") == ["gap: lifted"]
    assert Counter(fate for _, fate in fates("| G* |\n| C |\nwords of a song\n")) == {"read": 2, "told": 1}


@pytest.mark.parametrize("way", ["To Coda", "To Coda ⊕", "To ⊕", "⊕", "(To Coda)", "𝄌", "[To Coda]"])
@pytest.mark.parametrize("coda", ["Coda", "⊕", "⊕ Coda", "Coda 𝄌", "[Coda]", "Coda:"])
def test_the_way_to_the_coda_and_the_coda_have_many_spellings(way: str, coda: str) -> None:
    song = parse_chart(f"| C | D | {way}\n| E | D.C. al Coda\n{coda}\n| F |\n", "a.chart")
    assert (bars_of(song), song.told) == ("C | D | E | C | D | F", ())


def test_the_corpus_is_large_and_has_every_metre() -> None:
    assert len(CHARTS) >= 60
    assert {read(name).bars[0].beats for name in CHARTS} >= {2, 3, 4, 5, 7}


@pytest.mark.parametrize(
    ("chart", "told"),
    [
        ("G Em\nwords go here\n", "1 line of words is not kept."),
        ("G Em\nwords go here\nC\nand here too\n", "2 lines of words are not kept."),
        ("G Em\n", "Where there are no bar lines each chord lasts a bar (bars: says otherwise)."),
        ("bars: 2\nG Em\n", "Where there are no bar lines each chord lasts 2 bars (bars: says otherwise)."),
        ("| C |\ntempo: 80\n", "“tempo: 80” holds for no bar, and is passed over."),
        ("tempo: 80\n90 bpm\n| C |\n", "“tempo: 80” holds for no bar, and is passed over."),
        ("| C |\ngap: muted\n[B]\n| G |\n", "“gap: muted” holds for no bar, and is passed over."),
        (
            "key: D\n| 1 |\nkey: A\n| 1 |\n",
            "The song's key is D: A is only what places in it are counted from.",
        ),
        ("| am | G |\n", "“am” is read as Am."),
        ("| C /B |\n", "“/B” is read as C/B."),
        ("| C | Fine\n", "The Fine of bar 1 is passed over, for there is no D.C. or D.S."),
    ],
)
def test_what_is_taken_otherwise_than_it_stands_there_is_told(chart: str, told: str) -> None:
    assert told in parse_chart(chart, "a.chart").told


@pytest.mark.parametrize("name", REFUSED)
def test_what_stays_unclear_is_refused_with_its_mend(name: str) -> None:
    chart, says = REFUSED[name]
    with pytest.raises(InputError, match=re.escape(says)) as refused:
        parse_chart(chart, "a.chart")
    assert str(refused.value).startswith("a.chart, line ")


def test_a_form_of_bars_without_chords_is_no_trouble() -> None:
    assert bars_of(parse_chart("form: B\n[A]\n| C |\n[B]\n| - - |\n", "a")) == "- -"


def test_the_air_time_comes_from_the_strokes_of_the_pattern() -> None:
    """With nothing struck in the last half beat the hand leaves half a beat before the landing; a stroke that
    stands there is given up, and the hand leaves with it."""
    plain, (sparse,), (full,) = (
        changes_of(parse_chart(f"tempo: 60\n{pattern}| C | G |\n", "a"))
        for pattern in ("", "pattern: D - D - D - D -\n", "pattern: D - - - D - D U\n")
    )
    assert [change.air_ms for change in plain] == [500]
    assert (sparse.air_ms, full.air_ms) == (500, 500)
    (instant,) = changes_of(
        parse_chart("tempo: 60\ngap: instant\npattern: D - - - - - - -\n| C | G |\n", "a")
    )
    assert instant.air_ms == 250


PIECES = (
    *(
        "|",
        "||",
        "|:",
        ":|",
        "|1 ",
        ":|2. ",
        "x2",
        "(x3)",
        "2x",
        "%",
        "%%",
        "[A]",
        "[",
        "]",
        "{",
        "}",
        "N.C.",
        ":",
        "/",
    ),
    *(
        "Am",
        "am",
        "G/B",
        "/B",
        ">C",
        "C<",
        "G:2",
        "D:1/2",
        "1",
        "b7",
        "vi",
        "IV",
        "H",
        "F(instant)",
        "G///",
        "-",
        ".",
    ),
    *("key: D\n", "capo: 2\n", "form: A A\n", "pattern: D - U\n", "bars: 2\n", "1/8 = 120\n", "time: 6/8\n"),
    *(
        "D.C.",
        "D.S. al Coda",
        "Fine",
        "To Coda",
        "Coda",
        "Segno",
        "words of it",
        "Verse 1:",
        "\n",
        "\t",
        "#",
        "é",
    ),
)


@given(st.lists(st.sampled_from(PIECES), max_size=25).map(" ".join) | st.text(max_size=60))
@settings(max_examples=600)
def test_whatever_is_written_is_read_or_told_in_one_sentence(text: str) -> None:
    song = read_or_refused(text)
    assert song is None or parse_chart(write_chart(song), "a.chart").bars == song.bars


def read_or_refused(text: str) -> Song | None:
    try:
        return parse_chart(text, "a.chart")
    except InputError as trouble:
        said = str(trouble)
    assert re.fullmatch(r"a\.chart, line .*\.", said), said
    return None


@given(charts)
@settings(max_examples=200)
def test_of_drawn_charts_no_word_is_lost_and_our_own_form_is_the_same_song(chart: str) -> None:
    song = read_or_refused(chart)
    if song is None:
        return
    again = parse_chart(write_chart(song), "again.chart")
    assert (again, again.told) == (song, ())
    assert lost_words(chart) == []


LETTERS = st.sampled_from(["A", "Bm", "C#m7", "D", "E7", "F#m", "G", "Am/G", "Cadd9", "Ebmaj7"])


@given(
    st.lists(LETTERS, min_size=1, max_size=8),
    st.integers(1, 3),
    st.sampled_from(["x{}", "(x{})", "{}x", "× {}"]),
)
def test_no_chord_of_a_line_is_lost_in_any_spelling(chords: list[str], times: int, spelling: str) -> None:
    """Bars, chords above words, and chords among words: as many come out as were written, in their order."""
    again = spelling.format(times)
    for chart in (
        f"| {' | '.join(chords)} | {again}\n",
        f"{' | '.join(chords)} {again}\n",
        f"{'   '.join(chords)}  {again}\nand words below\n",
    ):
        song = parse_chart(chart, "a.chart")
        assert [slot.chord for bar in song.bars for slot in bar.slots] == chords * times
    among = parse_chart("".join(f"[{chord}]word " for chord in chords) + "\n", "a.chart")
    assert [slot.chord for bar in among.bars for slot in bar.slots] == chords
