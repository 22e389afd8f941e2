"""Whether a guitar plays alone: with another one, or other music, more sounds than the chords of the take.

Two guitars that play the same chords at the same time are one to it.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pedaltrainer.ear.expected import Expected, ExpectedLanding
from pedaltrainer.ear.leak import Samples
from pedaltrainer.ear.measuring import Measured
from pedaltrainer.ear.strings import Norm, foreign_notes, notes_of, own_share

OWN_NOTES, MORE_NOTES = 0.495, 0.15
"""Of the middle landing of a guitar alone at least 0.501 are its chord's own notes, and at most 0.142 are
more than in clean takes, 0.066 where nothing was missed: 640 rough takes on the development guitars."""
FEWEST = 4
IN_PLACE_MS, STRENGTH, RISE = 80.0, 0.5, 0.15
"""Beside the middle landing of the take: what is struck so is neither absent nor late."""


def is_alone(expected: Expected, heard: Measured, norms: Mapping[str, Norm] | None) -> bool:
    """Do most landings have no more in them than their chords? norms: of clean takes, where there are some.

    Nothing is said against a take with fewer than four landings struck in their places.
    """
    struck = _struck_in_place(expected, heard)
    if len(struck) < FEWEST:
        return True
    if norms is None:
        own = [own_share(notes_of(power), wanted.shape.midi) for wanted, power in struck]
        return float(np.median(own)) > OWN_NOTES
    more = [foreign_notes(notes_of(power), norms[wanted.chord]).sum() for wanted, power in struck]
    return float(np.median(more)) < MORE_NOTES


def _struck_in_place(expected: Expected, heard: Measured) -> list[tuple[ExpectedLanding, Samples]]:
    """The landings that were plainly struck in their places, with the spectra of what sounds."""
    struck = [
        (wanted, one.power, (one.onset.strength, one.onset.rise, one.lag_ms))
        for wanted, one in zip(expected.landings, heard.landings, strict=True)
        if one.onset is not None and one.power is not None
    ]
    if not struck:
        return []
    strength, rise, middle_ms = np.median([figures for _, _, figures in struck], axis=0)
    return [
        (wanted, power)
        for wanted, power, (strong, rose, lag_ms) in struck
        if strong > STRENGTH * strength and rose > RISE * rise and abs(lag_ms - middle_ms) < IN_PLACE_MS
    ]
