"""Shapes against the open data: 1,046 published positions of 496 pairs of root and suffix
(tests/data/README.md), one to four a pair out of some hundreds that a hand can hold.

The program knows the grips of these positions, so that finding them again says little. What it does with
positions it has not seen is measured by hiding some and drawing the grips from the rest alone. The shares
asked for are our own, a little under what was measured (tests/benchmarks/shapes.py).
"""

from __future__ import annotations

import pytest

from pedaltrainer.neck.repertoire import usual_repertoire
from pedaltrainer.neck.shapes import Shape
from tests.neck.published import (
    Shares,
    Split,
    foreign_notes,
    grips_on_c,
    hiding_roots,
    hiding_rows,
    needed_notes_missing,
    read_chords,
    repertoire_from,
    shares,
)

CHORDS = read_chords()

# Rows that sound a note their name does not have: taken for slips, never shown.
SLIPS = {
    "A dim 1", "Ab maj7b5 2", "B aug 3", "C# 11 2", "C# 7b5 3", "C# aug 1", "D maj9 1", "D mmaj11 2",
    "E madd9 1", "E madd9 3", "Eb 7b5 2", "G m11 2",
}  # fmt: skip


def test_the_notes_of_every_published_row_are_reproduced() -> None:
    rows = [row for chord in CHORDS for row in chord.rows]
    assert len(rows) == 1046
    assert [Shape(row.frets, row.fingers).midi for row in rows] == [row.midi for row in rows]


def test_the_rows_with_a_foreign_note_are_the_known_slips() -> None:
    assert {row.name for chord in CHORDS for row in chord.rows if foreign_notes(chord, row)} == SLIPS


def test_few_published_rows_leave_out_what_we_hold_for_needed() -> None:
    rows = [(chord, row) for chord in CHORDS for row in chord.rows if row.name not in SLIPS]
    missing = [row.name for chord, row in rows if needed_notes_missing(chord, row)]
    assert len(missing) <= 0.01 * len(rows), missing


def test_the_grips_in_use_are_those_of_the_data() -> None:
    drawn = repertoire_from(CHORDS)
    known = usual_repertoire()
    assert {quality: dict(grips) for quality, grips in drawn.grips.items()} == {
        quality: dict(grips) for quality, grips in known.grips.items()
    }
    assert (drawn.layouts, drawn.forms) == (known.layouts, known.forms)


def test_hidden_positions_lend_no_grip() -> None:
    shown, hidden = hiding_rows(CHORDS, seed=1)
    assert sum(len(chord.rows) for chord in (*shown, *hidden)) == 1046
    assert not {row.name for one in shown for row in one.rows} & {
        row.name for one in hidden for row in one.rows
    }
    assert sum(grip.roots for grip in grips_on_c(shown)) <= 523


def test_published_frets_are_among_the_first_twelve() -> None:
    _assert_at_least(shares(CHORDS), Shares(positions=0.965, every=0.935, lowest=0.955, any=0.975))


@pytest.mark.parametrize(
    ("split", "least"),
    [
        (hiding_rows(CHORDS, seed=1), Shares(positions=0.78, every=0.70, lowest=0.76, any=0.81)),
        (hiding_rows(CHORDS, seed=1, share=0.1), Shares(positions=0.80, every=0.79, lowest=0.80, any=0.81)),
        (hiding_roots(CHORDS, seed=1), Shares(positions=0.78, every=0.62, lowest=0.80, any=0.90)),
    ],
    ids=["half of the positions", "a tenth of the positions", "six of the roots"],
)
def test_positions_that_were_hidden_are_among_the_first_twelve(split: Split, least: Shares) -> None:
    shown, hidden = split
    _assert_at_least(shares(hidden, repertoire_from(shown)), least)


def _assert_at_least(measured: Shares, least: Shares) -> None:
    assert measured.positions >= least.positions, measured
    assert measured.every >= least.every, measured
    assert measured.lowest >= least.lowest, measured
    assert measured.any >= least.any, measured
