"""What the log tells of a drill, as of now."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.evidence import (
    belief_on,
    evidence_of,
    found_in,
    history_of,
    in_sittings,
    related,
    same_air,
    shape_drill,
)
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.rungs import Finding
from pedaltrainer.practice.take import Outcome, Take
from tests.practice.knowing import NOW, evidence, known, sitting

CHANGE = parse_drill("Am E")


def test_without_takes_a_player_never_seen_is_believed():
    found = evidence_of(CHANGE, in_sittings([]), NOW)
    assert found.takes == 0
    assert found.last is None
    assert found.found is None
    assert np.array_equal(found.belief.mass, ct.prior().mass)


def test_takes_of_this_very_sitting_count_as_the_ladder_counts_them():
    dated = sitting(CHANGE, 80, days_ago=0.01)
    belief = ct.prior()
    for _, take in dated:
        belief = ct.update(belief, take)
    assert np.allclose(evidence_of(CHANGE, in_sittings(dated), NOW).belief.mass, belief.mass)


def test_days_without_playing_leave_the_belief_and_widen_what_the_next_sitting_begins_with():
    found = [evidence_of(CHANGE, in_sittings(sitting(CHANGE, 80, days_ago)), NOW) for days_ago in (1, 7, 30)]
    assert all(np.array_equal(one.belief.mass, found[0].belief.mass) for one in found)
    widths = [ct.estimate(ct.prior((one.found,))).half_width for one in found]
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]


def test_the_order_in_which_takes_are_read_does_not_matter():
    dated = sitting(CHANGE, 80, 3) + sitting(CHANGE, 84, 1, seed=1)
    there, back = (
        evidence_of(CHANGE, in_sittings(dated), NOW),
        evidence_of(CHANGE, in_sittings(dated[::-1]), NOW),
    )
    assert np.array_equal(there.belief.mass, back.belief.mass)


def test_hazy_hands_are_known_for_it_at_the_next_sitting():
    """Takes well apart that turn out either way tell of a wide limit, and the next prior is wider for it."""
    answers = {False: ((60, True), (70, True), (110, False), (120, False)), True: ((60, False), (120, True))}
    found = {}
    for is_hazy, mixed in answers.items():
        takes = [
            Take(CHANGE, bpm, 8, Outcome.PASS_ if clean else Outcome.FAIL)
            for bpm, clean in (mixed + answers[False]) * 4
        ]
        dated = [(NOW + timedelta(seconds=9 * n), take) for n, take in enumerate(takes)]
        found[is_hazy] = evidence_of(CHANGE, in_sittings(dated), NOW + timedelta(days=1)).found
    assert found[True].spread > 1.5 * found[False].spread
    over = {is_hazy: ct.prior((past,)).mass.sum(axis=1) @ ct.SPREADS for is_hazy, past in found.items()}
    assert over[True] > 1.3 * over[False]


def test_void_takes_tell_nothing():
    void = [(when, Take(CHANGE, 200, 8, Outcome.VOID)) for when, _ in sitting(CHANGE, 80, 0.5)]
    dated = sitting(CHANGE, 80, 1)
    with_void, without = (
        evidence_of(CHANGE, in_sittings(dated + void), NOW),
        evidence_of(CHANGE, in_sittings(dated), NOW),
    )
    assert np.array_equal(with_void.belief.mass, without.belief.mass)
    assert with_void.last == without.last
    assert evidence_of(CHANGE, in_sittings(void), NOW).takes == 0


def test_the_last_day_counts_most():
    rose = evidence_of(CHANGE, in_sittings(sitting(CHANGE, 70, 2) + sitting(CHANGE, 90, 1)), NOW).estimate
    fell = evidence_of(CHANGE, in_sittings(sitting(CHANGE, 90, 2) + sitting(CHANGE, 70, 1)), NOW).estimate
    assert rose.bpm > fell.bpm * 1.04


def test_what_a_session_began_with_is_all_it_takes_from_those_before_it():
    early, late = (in_sittings(sitting(CHANGE, bpm, days))[0] for bpm, days in ((64, 4), (80, 1)))
    knew = replace(late, history=(ct.PastResult(90, 80, 100, 3.0),))
    alone, both = evidence_of(CHANGE, [knew], NOW), evidence_of(CHANGE, [early, knew], NOW)
    assert np.array_equal(alone.belief.mass, both.belief.mass)
    assert both.takes == len(late.dated)


@pytest.mark.parametrize("history", [(), (ct.PastResult(90, 80, 100, 0.0, related=True),)])
def test_a_session_that_knew_nothing_of_its_own_takes_from_the_one_before_it_and_no_further(history):
    oldest, early, late = (
        in_sittings(sitting(CHANGE, bpm, days))[0] for bpm, days in ((100, 9), (64, 4), (80, 1))
    )
    late = replace(late, history=history)
    alone, two, three = (
        evidence_of(CHANGE, all_of_them, NOW)
        for all_of_them in ([late], [early, late], [oldest, early, late])
    )
    assert two.estimate.bpm < alone.estimate.bpm
    assert np.array_equal(two.belief.mass, three.belief.mass)
    *_, last = found_in([oldest, early, late])
    assert np.array_equal(last.belief.mass, three.belief.mass)


def test_a_clock_that_was_set_back_puts_nothing_into_the_future():
    found = evidence_of(CHANGE, in_sittings(sitting(CHANGE, 80, days_ago=-3)), NOW)
    assert found.days_since(NOW) == 0
    assert found.found is not None
    assert found.found.days_ago == 0


def test_a_time_without_a_time_zone_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        evidence_of(CHANGE, in_sittings([(datetime(2027, 1, 1), Take(CHANGE, 80, 8, Outcome.PASS_))]), NOW)


def test_takes_of_no_session_are_parted_where_they_pause():
    dated = sitting(CHANGE, 80, 3) + sitting(CHANGE, 84, 1, seed=1)
    assert [len(one.dated) for one in in_sittings(dated[::-1])] == [12, 12]


def test_what_can_be_said_follows_from_both_sides_and_from_what_was_known():
    passed = [(NOW, Take(CHANGE, 80, 8, Outcome.PASS_))] * 4
    missed = [(NOW, Take(CHANGE, 80, 8, Outcome.FAIL))] * 4

    def finding(dated, history=()):
        return evidence_of(CHANGE, [replace(in_sittings(dated)[0], history=history)], NOW).finding

    assert finding(passed) is Finding.ABOVE
    assert finding(missed) is Finding.BELOW
    assert finding([passed[0], (NOW, Take(CHANGE, 200, 8, Outcome.FAIL))]) is Finding.WITHIN
    assert finding(passed, (ct.PastResult(80, 76, 84, 1.0),)) is Finding.CLEAN_TEMPO


# --- relatives ----------------------------------------------------------------------------


def test_a_change_never_played_is_believed_near_five_sixths_of_its_slower_shape():
    found = ct.estimate(belief_on(parse_drill("C F"), known(C=120, F=72)))
    # Common practice, no published source: 5/6 of 72 is 60.
    assert found.bpm == pytest.approx(60, rel=0.08)
    assert found.low_bpm < 60 < found.high_bpm


def test_other_changes_of_its_shapes_speak_for_a_change_never_played():
    alike = known(C_F=60, F_G=62, Am_F=58)
    assert ct.estimate(belief_on(parse_drill("F E"), alike)).bpm == pytest.approx(60, rel=0.12)


def test_three_relatives_are_no_surer_than_kin_can_be():
    for alike in (known(C_F=60), known(C_F=60, F_G=60, Am_F=60, D_F=60)):
        found = ct.estimate(belief_on(parse_drill("F E"), alike))
        assert math.log(found.high_bpm / found.low_bpm) / 2 > 1.5 * ct.RELATED_SD


def test_a_shape_never_landed_alone_is_faster_than_its_changes():
    assert ct.estimate(belief_on(parse_drill("F"), known(C_F=60, F_G=60))).bpm == pytest.approx(72, rel=0.05)


def test_a_player_unknown_on_these_shapes_is_known_by_the_others_if_less_well():
    (near,) = related(parse_drill("F E"), known(C_F=60))
    (far,) = related(parse_drill("F E"), known(C_G=60))
    assert far.bpm == pytest.approx(near.bpm)
    assert far.high_bpm / far.low_bpm > near.high_bpm / near.low_bpm


def test_what_was_measured_is_not_talked_away_by_relatives():
    own = evidence("Am E", 80)
    alone = ct.estimate(belief_on(CHANGE, known(own)))
    among = ct.estimate(belief_on(CHANGE, known(own, Am_C=120, E_C=120)))
    assert among.bpm == pytest.approx(alone.bpm, rel=0.03)


def test_slow_pieces_say_nothing_of_a_change():
    assert related(CHANGE, known(evidence("pressure E", 40), evidence("shared C Am", 200))) == ()


def test_a_ladder_starts_from_the_drills_own_result_before_its_relatives():
    own = evidence("Am E", 80)
    assert history_of(CHANGE, known(own, Am_C=120)) == (own.found,)
    (kin,) = history_of(CHANGE, known(Am_C=120))
    assert kin.related


def test_an_instant_change_is_compared_with_the_lifted_shape_at_the_same_air_time():
    instant = parse_drill("Am E instant")
    shape = shape_drill(instant, "E")
    assert shape.words == "E"
    # A quarter of a beat in the air at 60 BPM is half a beat at 120.
    assert 120 * same_air(shape, instant) == 60
