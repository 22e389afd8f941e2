"""The heat strip: what is drawn of a song, and that it reads without colour."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.paper.page import GROUND, INK
from pedaltrainer.paper.strip import (
    FILLS,
    LIGHT_INK,
    NARROW_ROW,
    WIDE_ROW,
    Cell,
    Level,
    Part,
    Stretch,
    Strip,
    bars_in_a_row,
    save_strip,
)
from pedaltrainer.practice.coach.readiness import song_standing
from pedaltrainer.screen.palette import contrast
from pedaltrainer.telling.strips import FIGURES, LEVELS, strip_of
from tests.paper.test_boxes import pixels, rgb, svg_words
from tests.telling.made_up import known, song


def strip(**clean_bpm: float) -> Strip:
    return strip_of(song(), song_standing(song(), known(**clean_bpm)))


def stretches(drawn: Strip) -> list[Stretch]:
    return [one for part in drawn.parts for cell in part.cells for one in cell.stretches]


def drawn_words(tmp_path, drawn: Strip) -> list[str]:
    save_strip(tmp_path / "strip.svg", drawn)
    return svg_words(tmp_path / "strip.svg")


SLOW = {"Am_F": 70, "F_C": 90, "C_G": 103, "Am_G": 150}


def test_sections_stand_in_rows_with_a_cell_a_bar():
    drawn = strip(**SLOW)
    assert [part.name for part in drawn.parts] == ["Verse x2", "Bridge"]
    assert [[cell.number for cell in part.cells] for part in drawn.parts] == [[1, 2, 3, 4], [9, 10]]


def test_a_change_is_marked_where_it_falls_with_its_readiness_as_a_number():
    (there, back) = strip(**SLOW).parts[0].cells[2].stretches
    assert (there.chord, there.start, there.end) == ("C", 0.0, 0.5)
    assert (back.chord, back.start, back.end) == ("G", 0.5, 1.0)
    # Clean at 90 and 103 of the 104 BPM asked for; the estimates come within a few per cent of that.
    assert int(there.figure) == pytest.approx(100 * 90 / 104, abs=6)
    assert int(back.figure) == pytest.approx(100 * 103 / 104, abs=6)


def test_lightness_tells_how_far_off_a_change_is():
    levels = {one.chord: one.level for one in stretches(strip(**SLOW)) if one.level is not None}
    assert levels["F"] is Level.FAR
    assert levels["C"] is Level.SHORT
    assert levels["G"] is Level.READY
    assert stretches(strip(**SLOW))[3].level is Level.NEAR


def test_the_bottleneck_is_marked_wherever_it_falls(tmp_path):
    drawn = strip(**SLOW)
    assert [one.chord for one in stretches(drawn) if one.is_bottleneck] == ["F"]
    assert "bottleneck" in drawn_words(tmp_path, drawn)


def test_what_was_never_played_has_a_question_mark_and_no_bottleneck(tmp_path):
    drawn = strip()
    assert {one.figure for one in stretches(drawn) if one.level is not None} == {"?"}
    assert not any(one.is_bottleneck for one in stretches(drawn))
    words = drawn_words(tmp_path, drawn)
    assert "bottleneck" not in words
    assert LEVELS[Level.UNKNOWN] in words
    assert LEVELS[Level.READY] not in words


def test_the_first_chord_of_a_song_is_no_change():
    first = stretches(strip(**SLOW))[0]
    assert (first.chord, first.level, first.figure) == ("Am", None, "")


def test_an_svg_has_the_title_sections_chords_figures_and_legend(tmp_path):
    words = drawn_words(tmp_path, strip(**SLOW))
    assert {"Paper Boats, 104 BPM", "Verse x2", "Bridge", "Am", "F", "C", "G", "1", "9"} <= set(words)
    assert {LEVELS[level] for level in (Level.READY, Level.NEAR, Level.SHORT, Level.FAR)} <= set(words)
    assert FIGURES in words
    assert any(re.match(r"(All its|At what tempo|It does not come)", word) for word in words)


def test_sharps_and_flats_are_printed_as_musicians_print_them(tmp_path):
    cell = Cell(1, (Stretch(0, 1, "Bbm7b5"),))
    assert "B♭m7♭5" in drawn_words(tmp_path, Strip("Flat", (), [Part("", (cell,))], LEVELS, "", FIGURES))


def test_each_step_is_plain_to_see_in_grey_and_letters_stand_out_on_all():
    """Letters at 7:1 or more, as WCAG 2.2 AAA asks of text (success criterion 1.4.6)."""
    lightest_first = [rgb(FILLS[level]) for level in (Level.READY, Level.NEAR, Level.SHORT, Level.FAR)]
    for lighter, darker in pairwise(lightest_first):
        assert contrast(lighter, darker) > 1.3
    for level, fill in FILLS.items():
        letters = GROUND if level in LIGHT_INK else INK
        assert contrast(rgb(letters), rgb(fill)) >= 7


def test_ready_and_unknown_differ_by_more_than_colour(tmp_path):
    shares = []
    for level in (Level.READY, Level.UNKNOWN):
        cell = Cell(1, (Stretch(0, 1, "C", level, ""),))
        save_strip(tmp_path / "one.png", Strip("Same", (), [Part("", (cell,))], {}, "", ""))
        shares.append(float((pixels(tmp_path / "one.png").mean(axis=2) < 0.3).mean()))
    assert shares[0] > shares[1] * 1.1


@pytest.mark.parametrize(("chord", "bars"), [("C", WIDE_ROW), ("F#m7b5", NARROW_ROW)])
def test_rows_have_eight_bars_where_the_names_have_room_and_four_where_not(chord, bars):
    quarters = tuple(Stretch(at / 4, (at + 1) / 4, chord) for at in range(4))
    assert bars_in_a_row([Part("", (Cell(1, quarters),))]) == bars


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_the_same_strip_gives_the_same_file(tmp_path, kind):
    for name in ("one", "two"):
        save_strip(tmp_path / f"{name}.{kind}", strip(**SLOW))
    assert (tmp_path / f"one.{kind}").read_bytes() == (tmp_path / f"two.{kind}").read_bytes()


def test_a_very_long_song_can_still_be_drawn(tmp_path):
    cells = tuple(Cell(at, (Stretch(0, 1, "C", Level.NEAR, "95"),)) for at in range(1, 801))
    save_strip(tmp_path / "long.svg", Strip("Long", (), [Part("", cells)], LEVELS, "", FIGURES))
    assert ET.parse(tmp_path / "long.svg").getroot().tag.endswith("svg")


def test_another_kind_of_file_is_refused_in_one_sentence(tmp_path):
    with pytest.raises(InputError, match=r"strip\.txt is no picture this program makes; name a file ending"):
        save_strip(tmp_path / "strip.txt", strip())
