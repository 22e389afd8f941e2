"""The sheet's PDF as other programs read it: pypdf, and poppler's tools where they are installed.

Sizes of paper: ISO 216 (A4, 210 x 297 mm); ANSI/ASME Y14.1 (A, 8.5 x 11 in).
"""

from __future__ import annotations

import os
import shutil
import subprocess

import pytest
from pypdf import PdfReader

from pedaltrainer.cli import main

INCH_POINTS = 72
SIZES_POINTS = {
    "a4": (210 / 25.4 * INCH_POINTS, 297 / 25.4 * INCH_POINTS),
    "letter": (8.5 * INCH_POINTS, 11 * INCH_POINTS),
}


@pytest.fixture
def printed(tmp_path):
    def run(*words: str) -> PdfReader:
        path = tmp_path / "sheet.pdf"
        assert main(["sheet", "--data", str(tmp_path), "--out", str(path), *words]) == 0
        return PdfReader(path)

    return run


@pytest.mark.parametrize("paper", SIZES_POINTS)
def test_pages_have_the_size_of_the_paper(printed, paper):
    box = printed("--blank", "F#m Bb", "--paper", paper).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(SIZES_POINTS[paper], abs=0.5)


def fonts(reader: PdfReader):
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            yield font.get_object()


def test_every_font_is_in_the_file_and_its_letters_can_be_read_back(printed):
    """ISO 32000-1, 9.6.5: a Type 3 font's glyphs are in the font; 9.10.3: /ToUnicode."""
    there = list(fonts(printed("--blank", "F#m Bb")))
    assert there
    for font in there:
        assert font["/Subtype"] == "/Type3"
        assert len(font["/CharProcs"]) > 0
        assert "/ToUnicode" in font


def test_the_file_does_not_say_when_it_was_made(printed):
    about = printed("--blank", "F").metadata
    assert about.title == "Practice sheet"
    assert about.creation_date is None
    assert about.modification_date is None


@pytest.mark.skipif(
    shutil.which("pdftotext") is None and not os.environ.get("CI"), reason="poppler-utils is not installed"
)
def test_poppler_reads_the_same_words_and_finds_all_fonts_embedded(printed, tmp_path):
    printed("--blank", "F#m Bb")
    path = str(tmp_path / "sheet.pdf")
    words = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    assert "B♭ – F♯m" in words.stdout
    assert "Stop at pain, tingling or numbness" in words.stdout
    assert words.stderr == ""
    listed = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True)
    rows = [line.split() for line in listed.stdout.splitlines()[2:]]
    assert rows
    # The columns from the right: object and generation, in Unicode, subset, embedded.
    assert all(row[-5] == "yes" and row[-3] == "yes" for row in rows)
