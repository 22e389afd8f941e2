"""Chord boxes on paper: what is drawn, and where."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.paper import page
from pedaltrainer.paper.boxes import save_boxes, signs
from pedaltrainer.screen.palette import contrast

F = ChordBox("F", (1, 3, 3, 2, 1, 1), (1, 3, 4, 2, 1, 1), (("F", "C", "F", "A", "C", "F"),))
C = ChordBox("C", (None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0), caption=("open",))


def pixels(path):
    from matplotlib.image import imread

    return imread(path)[:, :, :3]


def share_of(colour: str, picture) -> float:
    from matplotlib.colors import to_rgb

    return float((np.abs(picture - np.array(to_rgb(colour))).max(axis=2) < 0.02).mean())


def rgb(colour: str) -> tuple[int, int, int]:
    return tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))


def svg_words(path) -> list[str]:
    """What an SVG draws as words: each is named in a comment beside its outlines."""
    parser = ET.XMLParser(target=ET.TreeBuilder(insert_comments=True))
    tree = ET.parse(path, parser)
    return [node.text.strip() for node in tree.iter() if node.tag is ET.Comment]


def test_an_svg_has_the_title_fingers_notes_and_caption(tmp_path):
    save_boxes(tmp_path / "b.svg", [F, C], "Two shapes", ["a legend"])
    words = svg_words(tmp_path / "b.svg")
    assert {"Two shapes", "a legend", "F", "C", "A", "open", "1", "2", "3", "4"} <= set(words)
    assert words.count("1") == 4


def test_a_capo_is_named_where_it_lies_and_not_beside_a_box_up_the_neck(tmp_path):
    save_boxes(tmp_path / "low.svg", [replace(C, capo=2)])
    up_the_neck = ChordBox("Cm", (None, 8, 10, 10, 9, 8), (0, 1, 3, 4, 2, 1), capo=2)
    save_boxes(tmp_path / "high.svg", [up_the_neck])
    assert "capo 2" in svg_words(tmp_path / "low.svg")
    assert "capo 2" not in svg_words(tmp_path / "high.svg")
    assert "8" in svg_words(tmp_path / "high.svg")


def test_the_same_boxes_give_the_same_file(tmp_path):
    for kind in ("svg", "png", "pdf"):
        for name in ("one", "two"):
            save_boxes(tmp_path / f"{name}.{kind}", [F, C], "Two shapes")
        assert (tmp_path / f"one.{kind}").read_bytes() == (tmp_path / f"two.{kind}").read_bytes()


def test_a_pdf_is_a_pdf(tmp_path):
    save_boxes(tmp_path / "b.PDF", [F])
    assert (tmp_path / "b.PDF").read_bytes().startswith(b"%PDF-")


def test_only_fingers_that_stay_or_move_together_have_a_ring(tmp_path):
    save_boxes(tmp_path / "plain.png", [C])
    save_boxes(tmp_path / "stays.png", [replace(C, stays=frozenset({1}))])
    save_boxes(tmp_path / "together.png", [replace(C, together=frozenset({1}))])
    plain, stays, together = (
        share_of(page.ACCENT, pixels(tmp_path / f"{name}.png")) for name in ("plain", "stays", "together")
    )
    assert plain == 0
    # Dashes have gaps: the two marks differ without their colour.
    assert 0 < together < stays


def test_a_left_handed_box_is_the_mirror_of_the_other(tmp_path):
    # Without digits and words, which are not mirrored; the thickness of strings stays with the string.
    bare = ChordBox("", (None, 3, 2, 0, 1, 0), (0,) * 6)
    save_boxes(tmp_path / "right.png", [bare])
    save_boxes(tmp_path / "left.png", [bare], left_handed=True)
    right, left = pixels(tmp_path / "right.png"), pixels(tmp_path / "left.png")
    dark = [np.flatnonzero((picture.max(axis=2) < 0.5).any(axis=0)) for picture in (right, left)]
    assert share_of(page.INK, right) == pytest.approx(share_of(page.INK, left), rel=0.05)
    columns = right[:, dark[0][0] : dark[0][-1] + 1], left[:, dark[1][0] : dark[1][-1] + 1][:, ::-1]
    width = min(part.shape[1] for part in columns)
    same = np.abs(columns[0][:, :width] - columns[1][:, :width]).max(axis=2) < 0.5
    assert same.mean() > 0.97
    assert (np.abs(right - left).max(axis=2) < 0.5).mean() < 0.97


@pytest.mark.parametrize("strings", [4, 5, 7, 8])
def test_other_numbers_of_strings_can_be_drawn(tmp_path, strings):
    save_boxes(tmp_path / "b.png", [ChordBox("E", (2,) * strings, (1,) * strings, capo=2)])
    assert share_of(page.INK, pixels(tmp_path / "b.png")) > 0.01


def test_another_kind_of_file_is_refused_and_named():
    from pathlib import Path

    with pytest.raises(InputError, match=r"boxes\.bmp .* \.png, \.svg or \.pdf"):
        save_boxes(Path("boxes.bmp"), [F])


def test_a_file_that_cannot_be_written_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        save_boxes(tmp_path / "none" / "b.png", [F])


def test_inks_can_be_told_apart_in_grey():
    """WCAG 2.2: 4.5 for words (1.4.3), 3 for what must be seen of a graphic (1.4.11)."""

    assert contrast(rgb(page.INK), rgb(page.GROUND)) > 4.5
    assert contrast(rgb(page.ACCENT), rgb(page.GROUND)) > 3


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Bbm7b5", "B♭m7♭5"),
        ("F#", "F♯"),
        ("C7#9/Bb", "C7♯9/B♭"),
        ("bb7", "♭♭7"),
        ("Bbb", "B♭♭"),
        ("by", "by"),
    ],
)
def test_sharps_and_flats_are_printed_with_their_signs(typed, printed):
    assert signs(typed) == printed
