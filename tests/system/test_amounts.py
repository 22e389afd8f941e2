"""One way to say how many of a thing there are."""

from __future__ import annotations

import pytest

from pedaltrainer.system.amounts import counted, plural


@pytest.mark.parametrize(
    ("number", "thing", "words"),
    [
        (0, "take", "0 takes"),
        (1, "take", "1 take"),
        (2, "press", "2 presses"),
        (1, "press", "1 press"),
        (1204, "take", "1,204 takes"),
    ],
)
def test_one_thing_is_one_and_any_other_number_are_several(number, thing, words):
    assert counted(number, thing) == words


def test_a_fraction_of_minutes_is_several():
    assert plural(2.5, "minute") == plural(0.5, "minute") == "minutes"
