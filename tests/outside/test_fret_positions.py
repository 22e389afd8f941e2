"""Where the frets are, against the tables that guitar makers saw by."""

from __future__ import annotations

import pytest

from pedaltrainer.neck.geometry import NeckSize

MM_PER_INCH = 25.4

# Nut to fret in inches for a 25.5 in scale, as fretting tables for makers print it, to 0.001 in (from
# memory).
FRET_TABLE_INCH = {
    1: 1.431, 2: 2.782, 3: 4.057, 4: 5.261, 5: 6.397, 6: 7.469, 7: 8.481, 8: 9.436,
    9: 10.338, 10: 11.189, 11: 11.992, 12: 12.750, 13: 13.466, 14: 14.141, 15: 14.779, 16: 15.380,
    17: 15.948, 18: 16.484, 19: 16.990, 20: 17.468, 21: 17.919, 22: 18.344, 23: 18.746, 24: 19.125,
}  # fmt: skip


@pytest.mark.parametrize(("fret", "inches"), FRET_TABLE_INCH.items())
def test_every_fret_is_where_the_table_for_a_25_5_inch_scale_has_it(fret, inches):
    ours = NeckSize(25.5 * MM_PER_INCH).fret_mm(fret)
    assert round(ours / MM_PER_INCH, 3) * MM_PER_INCH == pytest.approx(inches * MM_PER_INCH, abs=0.01)


def test_every_fret_is_where_the_makers_divisor_puts_it():
    # Each fret takes 1/17.817 of what is left of the string: the workshop rule (from memory), to its own
    # rounding of the divisor, 1 / (1 - 2 ** (-1 / 12)) = 17.81715.
    neck, left_mm = NeckSize(), NeckSize().scale_mm
    for fret in range(1, 25):
        left_mm -= left_mm / 17.817
        assert neck.fret_mm(fret) == pytest.approx(neck.scale_mm - left_mm, abs=0.01)
