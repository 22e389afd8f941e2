"""The pages say of care what the program says."""

from __future__ import annotations

from pathlib import Path

import pytest

from pedaltrainer.showing.pages import CAUTIONS, SEE_SOMEBODY, STOP

ROOT = Path(__file__).parents[2]


def words_of(page: str) -> str:
    """A page's text on one line, without the marks for bold letters."""
    return " ".join((ROOT / page).read_text(encoding="utf-8").replace("*", "").split())


def test_the_readme_has_every_caution_in_the_words_of_the_program():
    words = words_of("README.md")
    assert [said for said in (*CAUTIONS, SEE_SOMEBODY) if said.rstrip(".") not in words] == []


@pytest.mark.parametrize("page", ["docs/guide/coach.md"])
def test_a_guide_to_hard_practice_says_when_to_stop(page):
    assert f"{STOP} {SEE_SOMEBODY}" in words_of(page)
