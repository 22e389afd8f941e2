"""A second guitar in the recording is told as such, and one by itself is not."""

from __future__ import annotations

import numpy as np
import pytest

from pedaltrainer.ear.hearing import listen
from pedaltrainer.ear.verdicts import Unheard, UnheardError
from tests.ear.instruments import Instrument
from tests.ear.made_up import Sitting, sitting
from tests.ear.second_guitar import with_second

SEEDS = range(600, 603)


def refusal(one: Sitting, take: np.ndarray, references: bool) -> Unheard | None:
    """Why the take is refused, if it is."""
    known = [wave.astype(np.float64) for wave in one.references] if references else []
    try:
        listen(one.expected, take.astype(np.float64), known)
    except UnheardError as refused:
        return refused.why if refused.recording == 0 else None
    return None


@pytest.mark.parametrize("references", [True, False], ids=["beside clean takes", "by itself"])
def test_another_drill_on_another_guitar_is_no_take_of_this_one(guitar: Instrument, references: bool) -> None:
    whys = []
    for seed in SEEDS:
        one = sitting(guitar, seed, takes=1, kinds=())
        rng = np.random.default_rng(seed)
        both = with_second(rng, one, one.takes[0][0], guitar, "same beat")
        assert refusal(one, one.takes[0][0], references) is None
        whys.append(refusal(one, both, references))
    assert Unheard.NOT_ALONE in whys
    # By itself a recording has nothing to be held against: some of these are missed.
    assert whys.count(None) <= (0 if references else 1)
    assert {*whys} <= {Unheard.NOT_ALONE, Unheard.OTHER_CHORD, None}


def test_clean_takes_that_are_not_alone_are_named(guitar: Instrument) -> None:
    one = sitting(guitar, SEEDS[0], takes=1, kinds=())
    rng = np.random.default_rng(SEEDS[0])
    take, good = one.takes[0][0].astype(np.float64), one.references[0].astype(np.float64)
    both = with_second(rng, one, one.references[1], guitar, "same beat").astype(np.float64)
    with pytest.raises(UnheardError) as refused:
        listen(one.expected, take, [good, both])
    assert (refused.value.why, refused.value.recording) == (Unheard.NOT_ALONE, 2)


def test_one_guitar_with_wrong_chords_and_strokes_that_are_missing_is_alone(guitar: Instrument) -> None:
    for seed in SEEDS:
        kinds = ("wrong", "absent", "late")
        one = sitting(guitar, seed, takes=1, kinds=kinds, rough=True, share=1, per_take=3)
        assert refusal(one, one.takes[0][0], references=True) is None
