"""The contrast of a page, by WCAG 2.2 (W3C, 2023): 1.4.6 asks 7:1 of words, 1.4.11 asks 3:1 of drawings."""

from __future__ import annotations

import pytest

from pedaltrainer.page import look
from pedaltrainer.screen.palette import relative_luminance


def contrast(one: str, other: str) -> float:
    def luminance(ink: str) -> float:
        red, green, blue = (int(ink[at : at + 2], 16) for at in (1, 3, 5))
        return relative_luminance((red, green, blue))

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("inks", [look.LIGHT, look.DARK], ids=["light", "dark"])
def test_words_can_be_read_on_every_ground_they_stand_on(inks):
    for ink, ground in look.WORDS:
        assert contrast(inks[ink], inks[ground]) >= 7, (ink, ground)


@pytest.mark.parametrize("inks", [look.LIGHT, look.DARK], ids=["light", "dark"])
def test_lines_of_a_drawing_can_be_told_from_their_ground(inks):
    for ink, ground in look.DRAWN:
        assert contrast(inks[ink], inks[ground]) >= 3, (ink, ground)


def test_the_two_looks_name_the_same_inks():
    assert look.LIGHT.keys() == look.DARK.keys()
