"""Is it working? What the days say, and what they do not."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pytest

from pedaltrainer.practice.trend import Outlook, Verdict, days_of, trend, trend_of
from tests.practice.answers import is_clean, take, void

FIRST = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def practised(on_days, clean_bpm_on, takes=14, seed=0):
    """Dated takes around each day's clean tempo, a quarter of a minute apart."""
    rng = np.random.default_rng(seed)
    dated = []
    for day in on_days:
        clean_bpm = clean_bpm_on(day)
        for n in range(takes):
            tempo_bpm = round(clean_bpm * math.exp(rng.normal(0.04, 0.07)))
            when = FIRST + timedelta(days=day, seconds=15 * n)
            dated.append((when, take(tempo_bpm, is_clean(rng, tempo_bpm, clean_bpm))))
    return dated


def gaining(per_day, start_bpm=80):
    return lambda day: start_bpm * math.exp(per_day * day)


def test_two_per_cent_a_day_for_a_fortnight_is_rising():
    found = trend_of(practised(range(14), gaining(0.02)))
    assert found.verdict is Verdict.RISING
    assert found.probability > 0.96
    assert found.per_day_low < 0.02 < found.per_day_high


def test_two_per_cent_a_day_lost_is_falling():
    assert trend_of(practised(range(14), gaining(-0.02))).verdict is Verdict.FALLING


def test_two_months_without_change_are_flat():
    found = trend_of(practised(range(60), gaining(0.0)))
    assert found.verdict is Verdict.FLAT
    assert found.when_reached(100).outlook is Outlook.NOT_AT_THIS_RATE


@pytest.mark.parametrize("days", [0, 1, 2])
def test_before_the_third_day_it_is_too_early_to_say(days):
    found = trend_of(practised(range(days), gaining(0.05)))
    assert found.verdict is Verdict.TOO_EARLY
    assert found.when_reached(120).outlook is Outlook.TOO_EARLY


def test_three_sittings_in_a_day_are_no_three_days():
    found = trend_of(practised([0, 0.3, 0.6], gaining(0.3)))
    assert found.verdict is Verdict.TOO_EARLY


def test_one_bad_day_does_not_turn_a_rise():
    rise = gaining(0.015)
    found = trend_of(practised(range(18), lambda day: rise(day) * (0.8 if day == 12 else 1)))
    assert found.verdict is Verdict.RISING
    assert found.per_day == pytest.approx(0.015, abs=0.006)


def test_a_gap_counts_with_its_days():
    days = [0, 1, 2, 20, 21, 22]
    found = trend_of(practised(days, gaining(0.01), takes=20))
    assert found.per_day == pytest.approx(0.01, abs=0.004)


def test_takes_out_of_order_or_from_another_time_zone_are_the_same_takes():
    dated = practised(range(10), gaining(0.01))
    zone = timezone(timedelta(hours=13))
    moved = [(when.astimezone(zone), one) for when, one in reversed(dated)]
    one, other = trend_of(dated), trend_of(moved)
    assert (one.verdict, one.per_day) == (other.verdict, pytest.approx(other.per_day))
    assert len(days_of(moved)) == 10


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="no time zone"):
        trend_of([(datetime(2026, 3, 1, 18, 0), take(80, True))])


def test_void_takes_are_left_out():
    dated = practised(range(5), gaining(0.01))
    with_voids = [*dated, *((FIRST + timedelta(days=40 + n), void()) for n in range(5))]
    assert trend_of(with_voids).per_day == pytest.approx(trend_of(dated).per_day)


def test_a_target_ahead_is_reached_in_a_range_of_dates_that_holds_the_true_one():
    found = trend_of(practised(range(21), gaining(0.01), takes=30))
    reach = found.when_reached(120)
    true = (FIRST + timedelta(days=math.log(120 / 80) / 0.01)).date()
    assert reach.earliest <= true <= reach.latest
    assert reach.outlook is Outlook.DATED
    assert reach.earliest > date(2026, 3, 21)


def test_the_late_date_reckons_with_gains_that_get_smaller():
    """A player by the power law: each day's gain is the first one's over the days practised."""
    law = lambda day: 80 * (1 + day / 7) ** 0.25  # noqa: E731
    found = trend_of(practised(range(28), law, takes=30))
    reach = found.when_reached(130)
    true_days = 7 * ((130 / 80) ** 4 - 1)
    assert true_days > 40
    assert reach.earliest <= (FIRST + timedelta(days=true_days)).date()
    assert reach.latest is None or reach.latest >= (FIRST + timedelta(days=true_days)).date()


def test_a_target_below_todays_tempo_is_reached_already():
    found = trend_of(practised(range(14), gaining(0.01)))
    assert found.when_reached(60).outlook is Outlook.REACHED


def test_a_target_is_not_reached_by_takes_that_were_never_near_it():
    dated = [(FIRST + timedelta(days=n % 5, seconds=n), take(80, True)) for n in range(50)]
    found = trend_of(dated)
    assert found.when_reached(200).outlook is Outlook.NEVER_CLEAN
    assert found.when_reached(81).outlook is Outlook.NEVER_CLEAN
    assert found.when_reached(80).outlook is Outlook.REACHED


def test_a_target_is_not_reached_by_falling():
    found = trend_of(practised(range(14), gaining(-0.02)))
    assert found.when_reached(120).outlook is Outlook.NOT_AT_THIS_RATE


@pytest.mark.parametrize("target_bpm", [0, -5, math.nan, math.inf])
def test_a_target_that_is_none_is_refused(target_bpm):
    with pytest.raises(ValueError, match="no target"):
        trend_of(practised(range(5), gaining(0))).when_reached(target_bpm)


@pytest.mark.parametrize("passed", [lambda n: True, lambda n: False, lambda n: n % 2 == 0])
@pytest.mark.parametrize("days", [3, 30, 400])
def test_odd_answers_at_one_tempo_give_no_false_certainty(passed, days):
    dated = [
        (FIRST + timedelta(days=day, seconds=15 * n), take(90, passed(n)))
        for day in range(days)
        for n in range(4)
    ]
    with np.errstate(divide="raise", invalid="raise"):
        found = trend_of(dated)
        reach = found.when_reached(150)
    assert found.verdict in {Verdict.TOO_EARLY, Verdict.FLAT}
    assert reach.outlook in {Outlook.TOO_EARLY, Outlook.NEVER_CLEAN, Outlook.NOT_AT_THIS_RATE}


def test_ten_thousand_takes_in_a_sitting_are_borne():
    dated = practised([0, 5, 9], gaining(0.02), takes=3500)
    found = trend_of(dated)
    assert found.days == 3
    assert found.per_day_low < 0.02 < found.per_day_high


def test_a_first_sign_is_told_without_a_claim_before_the_rise_is():
    told = [trend_of(practised(range(days), gaining(0.01))).verdict for days in range(3, 31)]
    assert told[0] is Verdict.TOO_EARLY
    assert told.index(Verdict.LEANING_UP) < told.index(Verdict.RISING)
    assert {one for one in told if one.claims} == {Verdict.RISING}
    assert told[-1] is Verdict.RISING
    falls = [trend_of(practised(range(days), gaining(-0.01))).verdict for days in (12, 30)]
    assert falls == [Verdict.LEANING_DOWN, Verdict.FALLING]


@pytest.mark.parametrize("keeps", [0.0, 0.7])
def test_a_flat_player_who_looks_every_day_is_rarely_told_rising_or_falling(keeps):
    """Days differ by 4 %, each for itself or in streaks."""
    told = []
    for seed in range(20):
        rng, off = np.random.default_rng(seed), [0.0]
        for _ in range(24):
            off.append(keeps * off[-1] + rng.normal(0, 0.04 * math.sqrt(1 - keeps**2)))
        days = days_of(practised(range(24), lambda day, off=off: 80 * math.exp(off[day + 1]), seed=seed))
        told.append({trend(days[:upto]).verdict for upto in range(3, 25)})
    for claim in (Verdict.RISING, Verdict.FALLING):
        assert sum(claim in one for one in told) <= 2


def test_easy_takes_for_months_do_not_make_a_rise():
    """Ten days at the limit, then eighty far below it: all clean, which tells nothing of the limit."""
    dated = practised(range(10), gaining(0.0))
    easy = [(FIRST + timedelta(days=10 + n // 10, seconds=15 * n), take(60, True)) for n in range(800)]
    found = trend_of([*dated, *easy])
    assert not found.verdict.claims
    assert found.per_day_low < 0 < found.per_day_high


def test_a_player_seen_by_no_ladder_is_not_told_wonders():
    """Answers by the toss of a coin, at any tempo."""
    rng = np.random.default_rng(1)
    for days in (4, 20):
        dated = [
            (
                FIRST + timedelta(days=n % days, seconds=n),
                take(int(rng.integers(40, 200)), rng.random() < 0.5),
            )
            for n in range(10 * days)
        ]
        assert trend_of(dated).verdict not in {Verdict.RISING, Verdict.FALLING}


def test_years_of_practice_are_borne():
    found = trend_of(practised(range(0, 1500, 2), gaining(0.0005), takes=3))
    assert found.verdict is Verdict.RISING
    assert found.per_day == pytest.approx(0.0005, abs=0.0001)
