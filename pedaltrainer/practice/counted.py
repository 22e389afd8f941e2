"""What an answer tells that counts the misses: clean, one missed, more than one. Pure.

Where a landing that follows a miss is missed more easily, a single miss is rarer than independent landings
would make it; TOGETHER is how strongly that is reckoned with, chosen where it loses least on players whose
misses cluster (docs/evidence/measuring.md).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LAPSE = 0.03
"""The chance that an answer was pressed wrong."""
TOGETHER = 0.4
MISCOUNTED = 0.1
"""The share of missed takes whose misses are counted wrong."""


def as_a_pass(clean: Array, lapse: float) -> Array:
    """The chance that a take is answered as a pass, from the chance that it is clean."""
    return lapse + (1 - 2 * lapse) * clean


def missed_once(keep_log: Array, landings: int, lapse: float = LAPSE) -> Array:
    """The chance of "missed, once", of the shape of keep_log: the log chance that one landing goes well."""
    return _counted(keep_log, landings, lapse)[0]


def missed_more(keep_log: Array, landings: int, lapse: float = LAPSE) -> Array:
    """The chance of "missed more than once". With `missed_once` and `as_a_pass` it adds up to one."""
    return _counted(keep_log, landings, lapse)[1]


def _counted(keep_log: Array, landings: int, lapse: float) -> tuple[Array, Array]:
    clean = np.exp(landings * keep_log)
    single = (1 - np.exp(keep_log)) * np.exp((landings - 1) * keep_log)
    single *= (landings - 1) * (1 - TOGETHER) + 1
    several = np.maximum(1 - clean - single, 0.0)
    for_nothing = lapse * clean / 2
    once = (1 - lapse) * (single * (1 - MISCOUNTED) + several * MISCOUNTED) + for_nothing
    more = (1 - lapse) * (several * (1 - MISCOUNTED) + single * MISCOUNTED) + for_nothing
    return once, more
