"""The ear on made-up takes of one guitar: what it hears, what it refuses, and what it leaves open."""

from __future__ import annotations

import numpy as np
import pytest

from pedaltrainer.ear.deciding import lateness_of, surely_timed
from pedaltrainer.ear.hearing import listen
from pedaltrainer.ear.leak import find_click
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, TakeHeard, Unheard, UnheardError
from tests.ear.instruments import Instrument
from tests.ear.made_up import expected_of, shape_of
from tests.ear.strummed import Fault, Hand, Room, strummed

CF = expected_of("C F", 90)
A_STRING = 1
"""Under C the lowest string, and no octave of another."""


def played(guitar: Instrument, room: Room, *takes: dict[int, Fault], seed: int = 5) -> list[np.ndarray]:
    """Takes of C and F by one hand in one room."""
    hand = Hand(guitar, np.random.default_rng(seed))
    return [strummed(CF, hand, room, faults)[0].astype(np.float64) for faults in takes]


def heard(guitar: Instrument, room: Room, faults: dict[int, Fault]) -> TakeHeard:
    *references, take = played(guitar, room, {}, {}, faults)
    return listen(CF, take, references)


@pytest.mark.parametrize("click_db", [None, -20])
def test_a_clean_take_is_heard_as_clean_and_its_delay_found(
    guitar: Instrument, click_db: float | None
) -> None:
    found = heard(guitar, Room(click_db=click_db, delay_ms=120), {})
    assert found.take is HeardTake.CLEAN
    assert found.guard
    assert found.delay_ms == pytest.approx(120, abs=15)
    assert [one.verdict for one in found.landings] == [HeardAs.OK] * 8


@pytest.mark.parametrize(
    ("fault", "verdict"),
    [
        (Fault(late_ms=110), HeardAs.LATE),
        (Fault(absent=True), HeardAs.ABSENT),
        (Fault(frets=shape_of("A").frets), HeardAs.WRONG),
        (Fault(dead=(A_STRING,)), HeardAs.DEAD),
    ],
    ids=lambda value: value if isinstance(value, HeardAs) else "",
)
def test_one_fault_is_named_and_nothing_else(guitar: Instrument, fault: Fault, verdict: HeardAs) -> None:
    found = heard(guitar, Room(), {4: fault})
    assert found.take is HeardTake.MISSED
    assert [one.verdict for one in found.landings] == [HeardAs.OK] * 4 + [verdict] + [HeardAs.OK] * 3
    # Of strings it is never sure by itself.
    assert found.landings[4].sure is (None if verdict is HeardAs.DEAD else True)
    if verdict is HeardAs.DEAD:
        assert found.landings[4].strings == (A_STRING,)
    if verdict is HeardAs.LATE:
        assert found.landings[4].late_ms == pytest.approx(110, abs=35)


@pytest.mark.parametrize(
    ("lag_ms", "rise_db", "strength", "verdict", "sure"),
    [
        (110, 0, 1, HeardAs.LATE, True),
        (55, 1, 1.4, HeardAs.LATE, False),
        (166, -8, 0.5, HeardAs.LATE, False),
        (10, -20, 0.1, HeardAs.ABSENT, True),
        (-124, -14, 0.7, HeardAs.ABSENT, False),
    ],
)
def test_what_a_rough_hand_does_in_order_is_told_at_most_and_nothing_to_answer_by(
    lag_ms: float, rise_db: float, strength: float, verdict: HeardAs, sure: bool
) -> None:
    assert lateness_of(lag_ms, rise_db, strength) is verdict
    assert surely_timed(verdict, lag_ms, rise_db, strength) is sure


def test_a_loud_click_is_never_taken_for_a_chord_in_time(guitar: Instrument) -> None:
    late = {number: Fault(late_ms=120) for number in range(8)}
    for seed, click_db in enumerate((0, 5, 10)):
        (take,) = played(guitar, Room(click_db=click_db), late, seed=seed)
        found = listen(CF, take)
        assert found == listen(CF, take, click=False), "whatever was said of the click"
        assert not found.guard
        assert found.take is HeardTake.UNSURE
        assert {one.verdict for one in found.landings} == {HeardAs.UNSURE}


def test_a_click_without_any_guitar_is_never_a_take(guitar: Instrument) -> None:
    for seed in range(3):
        (take,) = played(guitar, Room(click_db=0, guitar=False), {}, seed=seed)
        try:
            found = listen(CF, take)
        except UnheardError:
            continue
        assert (found.guard, found.take) == (False, HeardTake.UNSURE)


def test_the_count_in_is_found_to_the_millisecond(guitar: Instrument) -> None:
    (take,) = played(guitar, Room(click_db=-10, delay_ms=200), {})
    found = find_click(take, CF)
    assert found.likeness > 0.5
    assert found.delay_s == pytest.approx(0.2, abs=0.1)
    assert listen(CF, take).delay_ms == pytest.approx(200, abs=3)


def test_without_clean_takes_the_landings_are_held_against_each_other(guitar: Instrument) -> None:
    (take,) = played(guitar, Room(), {4: Fault(late_ms=130)})
    found = listen(CF, take)
    assert not found.has_reference
    assert found.landings[4].verdict is HeardAs.LATE
    assert found.take is HeardTake.MISSED


def test_a_chord_struck_twice_cannot_be_held_against_itself(guitar: Instrument) -> None:
    (take,) = played(guitar, Room(), {})
    assert {one.verdict for one in listen(expected_of("C F", 90, landings=4), take).landings} == {
        HeardAs.UNSURE
    }


def test_the_same_recording_is_always_heard_alike(guitar: Instrument) -> None:
    *references, take = played(guitar, Room(rough=True), {}, {}, {2: Fault(muffled=(1,))})
    assert listen(CF, take, references) == listen(CF, take.copy(), references)


def test_what_cannot_be_judged_is_refused(guitar: Instrument) -> None:
    first, second, take = played(guitar, Room(), {}, {}, {})
    (clicked,) = played(guitar, Room(click_db=-20), {})
    em = Fault(frets=shape_of("Em").frets)
    (other,) = played(guitar, Room(), dict.fromkeys(range(8), em))
    trouble = {
        Unheard.SILENT: (0 * take, None),
        Unheard.CLIPPED: (np.clip(12 * take, -1, 1), None),
        Unheard.SHORT: (take[:200_000], None),
        Unheard.LONG: (np.concatenate((take, np.zeros(61 * 48_000))), None),
        Unheard.NO_CLICK: (take, True),
        Unheard.OTHER_CHORD: (other, None),
    }
    for why, (sound, click) in trouble.items():
        with pytest.raises(UnheardError) as refused:
            listen(CF, sound, [] if click else [first, second], click)
        assert (refused.value.why, refused.value.recording) == (why, 0)
    with pytest.raises(UnheardError) as refused:
        listen(expected_of("C F", 127), take)
    assert refused.value.why is Unheard.OTHER_TEMPO
    for references in ([], [first, second]):
        with pytest.raises(UnheardError) as refused:
            listen(expected_of("Em D", 90), take, references)
        assert (refused.value.why, refused.value.recording) == (Unheard.OTHER_CHORD, len(references) and 1)
    with pytest.raises(UnheardError) as refused:
        listen(CF, take, [first, 0 * second])
    assert (refused.value.why, refused.value.recording) == (Unheard.SILENT, 2)
    assert listen(CF, clicked, (), True).guard
