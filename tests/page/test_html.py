"""A page of any content: whole, escaped, and nothing in it from anywhere else."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.page import content as c
from pedaltrainer.page.drawing import MOST_LINES, tempo_lines
from pedaltrainer.page.html import page
from pedaltrainer.page.markup import Markup, element, text
from tests.page.reading import Reader

FIRST = date(2026, 1, 5)
HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(1)>",
    '" onload="alert(1)',
    "&lt;b&gt; & &amp; &#60;",
    "<!-- -->",
    "]]><svg onload=alert(1)>",
    "\u202eabc\u2066",
    "נועם & نور",
    "\x00\x1b[2J",
)
names = st.text() | st.sampled_from(HOSTILE)
dates = st.dates(date(1990, 1, 1), date(2100, 1, 1))
tempos = st.floats(20, 400)
maybe_tempo = st.none() | tempos


@st.composite
def plots(draw: st.DrawFn) -> c.TrendPlot:
    days = sorted(draw(st.lists(dates, min_size=1, max_size=5, unique=True)))
    told = [c.PlotDay(day, *(draw(maybe_tempo) for _ in range(3))) for day in days]
    line = [c.PlotPoint(day.toordinal() + 0.5, *(draw(tempos) for _ in range(3))) for day in days]
    low_bpm = draw(st.floats(20, 200))
    return c.TrendPlot(
        draw(names), draw(names), tuple(told), tuple(line), low_bpm, low_bpm * 1.5, draw(maybe_tempo)
    )


words = names | st.builds(c.Name, names) | st.tuples(names, st.builds(c.Name, names))
blocks = (
    st.builds(c.Lines, st.tuples(words, words), st.booleans())
    | st.builds(c.Facts, st.tuples(st.tuples(names, words)))
    | st.builds(
        c.Table,
        names,
        st.tuples(names, names),
        st.tuples(st.tuples(words, words)),
        st.just(frozenset({1})),
        st.booleans(),
    )
    | plots()
    | st.builds(c.Bars, names, names, st.just(((FIRST, 0), (FIRST + timedelta(7), 3))), st.just(4))
    | st.builds(
        c.Weeks,
        names,
        st.tuples(st.builds(c.Week, dates, st.floats(0, 600), st.integers(0, 7))),
    )
)


@given(names, st.lists(blocks, max_size=4), names)
def test_no_text_can_break_a_page_or_run_in_it(title, inside, heading):
    whole = page(
        c.Page(
            ("Report: ", c.Name(title)),
            tuple(inside),
            (c.PageSection("a", c.Name(heading), tuple(inside), (c.PageSection("b", heading),)),),
        )
    )
    read = Reader(whole)
    whole.encode()
    ids = [one.attributes["id"] for one in read.elements if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    for one in read.elements:
        assert not {"src", "srcset", "action", "style", "xlink:href"} & one.attributes.keys()
        assert (one.attributes.get("href") or "#").startswith("#")
    assert read.texts("h1") == [f"Report: {kept(title)}"]
    assert read.texts("h2") == [kept(heading)]


def kept(said: str) -> str:
    """What a reader gets of a text: all but characters that are no letters, as the standards name them.

    WHATWG HTML, 13.3.5: no control characters, surrogates or noncharacters; UAX 9, table 3: nothing that
    embeds, overrides or isolates a direction.
    """
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    return "".join(
        letter
        for letter in said
        if (unicodedata.category(letter) != "Cc" or letter in "\t\n")
        and unicodedata.category(letter) != "Cs"
        and unicodedata.bidirectional(letter) not in turning
        and not (ord(letter) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(letter) <= 0xFDEF)
    )


@given(names)
def test_an_attribute_holds_any_text_and_ends_where_it_should(said):
    (one,) = Reader(element("p", title=said)).elements
    assert one.attributes == {"title": kept(said)}


def test_markup_comes_only_from_escaping():
    assert element("p", "<b>") == "<p>&lt;b&gt;</p>"
    assert element("p", Markup("<b>x</b>")) == "<p><b>x</b></p>"
    assert text("a & b") == "a &amp; b"


def a_page(*inside: c.Block) -> Reader:
    return Reader(page(c.Page("Report", tuple(inside), ())))


def test_a_name_stands_apart_from_the_direction_of_the_words_around_it():
    assert a_page(c.Lines((("Played by ", c.Name("נועם"), " (3)"),))).texts("bdi") == ["נועם"]


def test_dates_are_told_to_programs_too():
    (one,) = a_page(c.Lines(("Reached by 2026-03-28, not on 2026-13-45.",))).all("time")
    assert (one.text, one.attributes["datetime"]) == ("2026-03-28", "2026-03-28")


def test_the_language_is_named_and_nothing_may_be_loaded():
    read = a_page()
    assert read.all("html")[0].attributes["lang"] == "en"
    policy = next(one for one in read.all("meta") if "http-equiv" in one.attributes)
    assert "default-src 'none'" in (policy.attributes["content"] or "")
    assert not re.search(r"url\(|@import|https?:", read.texts("style")[0])


def test_every_drawing_has_a_title_and_a_description():
    read = a_page(c.Bars("Changes ready", "3 of 4", ((FIRST, 3),), 4))
    (drawing,) = read.all("svg")
    assert drawing.attributes["role"] == "img"
    named = (drawing.attributes["aria-labelledby"] or "").split()
    told = {one.attributes["id"]: one.text for one in read.all("title") + read.all("desc") if one.attributes}
    assert [told[key] for key in named] == ["Changes ready", "3 of 4"]


def test_a_week_has_its_minutes_and_days_beside_a_board_of_that_length():
    weeks = (
        c.Week(FIRST, 12.0, 2),
        c.Week(FIRST + timedelta(7), 0.0, 0),
        c.Week(FIRST + timedelta(14), 48.2, 5),
    )
    read = a_page(c.Weeks("Minutes", weeks))
    assert [text for text in read.texts("td") if text] == ["12", "2", "none", "–", "48", "5"]
    boards = [one for one in read.all("rect") if one.attributes.get("class") == "bar"]
    assert [one.attributes["width"] for one in boards] == [f"{12 / 48.2:.1%}", "100.0%"]


def test_a_row_is_headed_by_its_first_cell():
    read = a_page(c.Table("Drills", ("drill", "takes"), (("Am – E", "3"),), frozenset({1})))
    assert [(one.text, one.attributes["scope"]) for one in read.all("th")] == [
        ("drill", "col"),
        ("takes", "col"),
        ("Am – E", "row"),
    ]


@given(st.floats(20, 300), st.floats(1.01, 6))
def test_the_lines_of_a_scale_are_round_and_few(low_bpm, times):
    lines = tempo_lines(low_bpm, low_bpm * times)
    assert len(lines) <= MOST_LINES
    assert all(low_bpm <= bpm <= low_bpm * times for bpm in lines)
