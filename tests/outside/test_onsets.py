"""The ear's onsets against mir_eval (C. Raffel and others, ISMIR 2014), on strummed takes with known onsets.

A mark to stand beside: strum events from a microphone, F-measure about .98 by a trained network (S. Murgul
and others, arXiv 2508.07973, 2025), there on recorded players, here on made-up takes.
"""

from __future__ import annotations

import mir_eval
import numpy as np
import pytest

from pedaltrainer.ear.measuring import measure
from tests.ear.instruments import Instrument, steel_guitar
from tests.ear.made_up import sitting


@pytest.fixture(scope="module")
def guitar(tmp_path_factory: pytest.TempPathFactory) -> Instrument:
    return steel_guitar(tmp_path_factory.mktemp("notes"))


@pytest.mark.parametrize(("click_db", "rough"), [(None, False), (None, True), (-20, False)])
def test_onsets_of_strums_are_found_within_50_ms(
    guitar: Instrument, click_db: float | None, rough: bool
) -> None:
    found, true = [], []
    for seed in range(300, 304):
        one = sitting(guitar, seed, takes=2, kinds=("late",), rough=rough, click_db=click_db)
        for wave, _, _, at_s in one.takes:
            # One take after another, well apart.
            apart_s = 60.0 * len(found)
            measured = measure(one.expected, wave.astype(np.float64))
            found.append([apart_s + lan.onset.at_s for lan in measured.landings if lan.onset is not None])
            true.append([apart_s + at for at in at_s])
    told, wanted = np.sort(np.concatenate(found)), np.sort(np.concatenate(true))
    f_measure, precision, recall = mir_eval.onset.f_measure(wanted, told, window=0.05)
    assert f_measure >= 0.98, (precision, recall)
