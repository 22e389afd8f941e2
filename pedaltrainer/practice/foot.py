"""How late a foot speaks up: which landing a press is about, and how well it fits each of them.

A foot that speaks up in the middle of a take is late by about a quarter of a second, a slow one by more. So a
press says only roughly which landing was the first miss: what it was counted for is kept, and the likelihood
knows how often that is a landing early or late.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.take import REACTION_S

Array = NDArray[np.float64]

STRAY_PRESS = 0.02
"""The share of true misses whose press tells nothing of where: a foot that hesitated."""
CLEAR_OF_THE_NEXT_S = 0.12
"""A press is looked for so long before the usual reaction: one that is quicker still belongs to its landing.
One and a half of its standard deviations, so that of quick feet one in fifteen is counted a landing early."""


class Lateness(NamedTuple):
    """One kind of foot: the share of feet that are so, and how late they speak up (a normal law)."""

    share: float
    mean_s: float
    sd_s: float


Law = tuple[Lateness, ...]

FEET: Law = (Lateness(0.6, REACTION_S, 0.08), Lateness(0.4, 0.40, 0.15))
"""Quick and slow feet: whose foot it is need not be known. Ours: no published source; what it costs and
spares is in docs/evidence/measuring.md."""


def one_foot(mean_s: float, sd_s: float = 0.08) -> Law:
    """The law of a foot that is known."""
    return (Lateness(1.0, mean_s, sd_s),)


def taken_off_s(reaction_s: float, landing_s: float) -> float:
    """What is taken off a press to find its landing: the reaction, less a margin for quicker presses.

    landing_s: seconds from one landing to the next. Taking off the whole mean would count half of all
    presses a landing early.
    """
    return max(0.0, reaction_s - min(landing_s / 2, CLEAR_OF_THE_NEXT_S))


def missed_landing(press_beat: float, taken_off_beats: float, drill: Drill, landings: int) -> int:
    """The 1-based landing that a press in a speak-up take is about.

    The last landing at or before the press less what is taken off it. press_beat counts beats from the
    first landing. A press sooner after the first landing than that can only be about the first; one after
    the last, about the last.
    """
    about = drill.landing_at(press_beat - taken_off_beats) + 1
    return min(max(about, 1), landings)


def fit_of_landing(first_miss: int, landing_s: float, landings: int, off_s: float, law: Law = FEET) -> Array:
    """How well a counted first miss fits a true one at each landing: [landings + 1] chances.

    off_s: what was taken off the press. The last column is of a press for nothing.
    """
    fits = np.full(landings + 1, STRAY_PRESS / landings)
    for share, mean_s, sd_s in law:
        for true in range(1, landings + 1):
            late_s = (first_miss - true) * landing_s + off_s
            low = 0.0 if first_miss == 1 else _below(late_s, mean_s, sd_s)
            high = 1.0 if first_miss == landings else _below(late_s + landing_s, mean_s, sd_s)
            fits[true - 1] += (1 - STRAY_PRESS) * share * (high - low)
    fits[landings] = 1 / landings
    return fits


def _below(late_s: float, mean_s: float, sd_s: float) -> float:
    """The chance that a foot is no later than this."""
    return 0.5 * math.erfc((mean_s - late_s) / sd_s / math.sqrt(2))


def fit_of_press(
    press_s: Array, landing_s: Array | float, landings: int, reaction_s: float, reaction_sd_s: float = 0.08
) -> Array:
    """How well presses fit a first miss at each landing: [players, landings + 1], densities in 1/s.

    press_s: [players], from the first landing; landing_s: seconds from one landing to the next. The last
    column is the density of a press for nothing. The first sessions measured by it (`ladders.rules`).
    """
    landings_at_s = np.arange(landings) * np.asarray(landing_s)[..., None]
    late_s = press_s[:, None] - landings_at_s
    z = (late_s - reaction_s) * (1 / reaction_sd_s)
    fits: Array = np.empty((len(press_s), landings + 1))
    fits[:, landings] = 1 / (landings * np.asarray(landing_s))
    # The first landing always may be meant: no press is impossible.
    np.multiply(
        (late_s > 0) | (np.arange(landings) == 0), STRAY_PRESS * fits[:, landings:], out=fits[:, :landings]
    )
    fits[:, :landings] += (1 - STRAY_PRESS) / (reaction_sd_s * math.sqrt(2 * math.pi)) * np.exp(-0.5 * z * z)
    return fits
