"""The practice sheet on paper: what stands on which page."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from pedaltrainer.errors import InputError
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.paper import sheet as paper
from pedaltrainer.paper.sheet import PAPERS, Entry, Exercise, Sheet, paginated, save_sheet

C = ChordBox("C", (None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0))
G = ChordBox("G", (3, 2, 0, 0, 0, 3), (2, 1, 0, 0, 0, 3))
CHANGE = Exercise("C – G", (C, G), "96", "for Paper Boats", entries=(Entry("2 Nov", "78", "70 to 85"),))
PASSAGE = Exercise("A passage", (C, G) * 4)


def sheet(*exercises: Exercise) -> Sheet:
    return Sheet("Practice sheet", "Tess", exercises, ("How to use it.",), ("Stop at pain.",))


def pages(tmp_path, *exercises: Exercise, size: str = "a4") -> list[str]:
    save_sheet(tmp_path / "s.pdf", sheet(*exercises), size)
    return [page.extract_text() for page in PdfReader(tmp_path / "s.pdf").pages]


@pytest.mark.parametrize("size", PAPERS)
def test_a_page_holds_three_changes(tmp_path, size):
    assert len(pages(tmp_path, *[CHANGE] * 3, size=size)) == 1
    assert len(pages(tmp_path, *[CHANGE] * 4, size=size)) == 2


@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("mix", [(CHANGE,) * 12, (CHANGE, PASSAGE) * 4, (PASSAGE,) * 5])
def test_every_drill_is_on_one_page_and_none_runs_into_the_foot(size, mix):
    there = paginated(sheet(*mix), PAPERS[size])
    assert tuple(one for page in there for one in page) == mix
    for number, page in enumerate(there):
        room = paper._room(sheet(), PAPERS[size], first=number == 0)
        gaps = paper.BELOW_EXERCISE * (len(page) - 1)
        assert sum(paper.exercise_height(one, PAPERS[size]) for one in page) + gaps <= room


def test_pages_are_numbered_and_each_has_the_cautions(tmp_path):
    there = pages(tmp_path, *[CHANGE] * 7)
    for number, words in enumerate(there, start=1):
        assert f"page {number} of {len(there)}" in words
        assert "Stop at pain." in words
    assert ["How to use it." in words for words in there] == [True, False, False]


def test_no_more_days_are_filled_in_than_a_row_has_and_a_row_stays_empty(tmp_path):
    days = tuple(Entry(f"{day} Nov", str(60 + day)) for day in range(1, 21))
    (words,) = pages(tmp_path, replace(CHANGE, entries=days))
    shown = [entry.day for entry in days if entry.day in words.splitlines()]
    assert shown == [f"{day} Nov" for day in range(13, 21)]


def test_a_drill_without_a_target_has_a_line_for_it(tmp_path):
    (words,) = pages(tmp_path, replace(CHANGE, target="", reason=""))
    assert "C – G Target: BPM" in words
    assert "96" not in words


def test_a_long_name_does_not_run_into_the_target(tmp_path):
    long = "F♯m7♭5 – B♭maj7♯11, in one place, sixteen beats each, with all of its fingers"
    points = paper.NAME * 95 / paper.words_width(long, paper.NAME)
    assert points < paper.NAME
    assert long in pages(tmp_path, replace(CHANGE, title=long))[0]


def test_a_box_of_a_chord_that_is_not_known_is_left_empty(tmp_path):
    unknown = ChordBox("Xyz", (None,) * 6, (0,) * 6)
    (words,) = pages(tmp_path, Exercise("Xyz, landed again", (unknown,)))
    assert "Xyz" in words.splitlines()


@pytest.mark.parametrize("size", PAPERS)
def test_nothing_but_white_is_within_12_mm_of_the_edge(size):
    """Most printers leave no more than 6 mm unprinted (common practice, no published source)."""
    import numpy as np
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    full = sheet(CHANGE, PASSAGE, replace(CHANGE, title=""))
    dots_a_mm = 4
    with paper.our_look(salt=""):
        for figure in paper.drawn_pages(full, PAPERS[size], left_handed=True):
            figure.set_dpi(25.4 * dots_a_mm)
            canvas = FigureCanvasAgg(figure)
            canvas.draw()
            dark = np.asarray(canvas.buffer_rgba())[:, :, :3].min(axis=2) < 250
            edge = 12 * dots_a_mm
            assert dark.any()
            assert not dark[:edge].any()
            assert not dark[-edge:].any()
            assert not dark[:, :edge].any()
            assert not dark[:, -edge:].any()


def test_another_kind_of_file_or_paper_is_refused_and_the_mend_named(tmp_path):
    with pytest.raises(InputError, match=r"s\.png .*\.pdf"):
        save_sheet(Path("s.png"), sheet(CHANGE))
    with pytest.raises(InputError, match=r"“a3” is no paper .* a4 or letter"):
        save_sheet(tmp_path / "s.pdf", sheet(CHANGE), "a3")
    with pytest.raises(InputError, match="cannot be written"):
        save_sheet(tmp_path / "none" / "s.pdf", sheet(CHANGE))
