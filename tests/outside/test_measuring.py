"""The measuring held against published rules and general-purpose libraries.

Watson, A. B. (2017), "QUEST+", Journal of Vision 17(3):10, as the library `questplus`: posterior and
next stimulus.
`statsmodels` (Logit) and `scipy.optimize`: the logistic fit. `scipy.stats.theilslopes`: the trend.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import scipy.optimize
import scipy.special
import scipy.stats
import statsmodels.api as sm
import xarray as xr
from questplus import QuestPlus

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.counted import LAPSE
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.choosing import CANDIDATES_BPM, TakeShape
from pedaltrainer.practice.trend import days_of, trend_of
from tests.practice.answers import is_clean, take

# --- the posterior and the next stimulus ---------------------------------------------------


def quest_plus(shape: TakeShape) -> QuestPlus:
    """The library on our grid and our law: it brings Bayes' rule, outcomes and choice of its own.

    `questplus` knows no logistic with our lapse and offset, so its table of likelihoods is
    replaced, computed here with scipy alone.
    """
    prior = ct.prior().mass
    of = QuestPlus(
        stim_domain={"intensity": CANDIDATES_BPM.astype(float)},
        param_domain={"mean": ct.LOG_TEMPOS, "sd": ct.SPREADS},
        outcome_domain={"response": ["miss", "clean"]},
        func="norm_cdf",
        stim_scale="linear",
    )
    distance = ct.LOG_TEMPOS[None, :, None] - np.log(CANDIDATES_BPM)[:, None, None]
    clean = scipy.special.expit(distance / ct.SPREADS + scipy.special.logit(0.8)) ** (shape.landings / 8)
    said = LAPSE + (1 - 2 * LAPSE) * clean
    law = xr.DataArray(
        np.stack([1 - said, said]),
        dims=("response", "intensity", "mean", "sd"),
        coords={
            "response": ["miss", "clean"],
            "intensity": CANDIDATES_BPM.astype(float),
            "mean": ct.LOG_TEMPOS,
            "sd": ct.SPREADS,
        },
    )
    of.likelihoods = law
    of.prior = of.posterior = xr.DataArray(prior.T, dims=("mean", "sd"), coords=of.prior.coords)
    return of


ANSWERS = [(81, True), (108, True), (135, False), (119, False), (98, True), (104, True), (111, False)]


def on_the_candidates(bpm: float) -> float:
    return float(CANDIDATES_BPM[np.abs(CANDIDATES_BPM - bpm).argmin()])


@pytest.mark.parametrize("landings", [8, 16])
def test_the_posterior_is_that_of_quest_plus(landings):
    theirs, ours = quest_plus(TakeShape(landings)), ct.prior().mass[None]
    for bpm, passed in ANSWERS:
        tempo_bpm = on_the_candidates(bpm)
        theirs.update(stim={"intensity": tempo_bpm}, outcome={"response": "clean" if passed else "miss"})
        ours = ct.weigh(ours, ct.take_likelihood(take(tempo_bpm, passed, landings=landings))[None])
        assert ours[0] == pytest.approx(theirs.posterior.transpose("sd", "mean").values, abs=1e-12)
    assert ct.moments(ours)[0][0] == pytest.approx(theirs.param_estimate["mean"])


@pytest.mark.parametrize("answers", range(len(ANSWERS) + 1))
def test_the_least_entropy_is_expected_where_quest_plus_expects_it(answers):
    theirs, ours = quest_plus(TakeShape()), ct.prior().mass[None]
    for bpm, passed in ANSWERS[:answers]:
        tempo_bpm = on_the_candidates(bpm)
        theirs.update(stim={"intensity": tempo_bpm}, outcome={"response": "clean" if passed else "miss"})
        ours = ct.weigh(ours, ct.take_likelihood(take(tempo_bpm, passed))[None])
    clean = choosing.table(TakeShape()).chances.T.astype(float).reshape(len(CANDIDATES_BPM), *ours.shape[1:])
    entropy = np.zeros(len(CANDIDATES_BPM))
    for likelihood in (clean, 1 - clean):
        chance = (ours * likelihood).sum(axis=(1, 2))
        after = ct.weigh(np.repeat(ours, len(CANDIDATES_BPM), axis=0), likelihood)
        entropy -= chance * (after * np.log(np.maximum(after, 1e-300))).sum(axis=(1, 2))
    assert CANDIDATES_BPM[entropy.argmin()] == theirs.next_stim["intensity"]
    assert entropy.min() == pytest.approx(theirs.entropy, abs=1e-5)


@pytest.mark.parametrize("answers", [0, 3, len(ANSWERS)])
def test_the_next_tempo_is_the_one_quest_plus_posteriors_say_pays_best(answers):
    """The library's own posteriors after every possible answer, weighed by variance and seconds."""
    theirs, ours = quest_plus(TakeShape()), ct.prior().mass[None]
    for bpm, passed in ANSWERS[:answers]:
        tempo_bpm = on_the_candidates(bpm)
        theirs.update(stim={"intensity": tempo_bpm}, outcome={"response": "clean" if passed else "miss"})
        ours = ct.weigh(ours, ct.take_likelihood(take(tempo_bpm, passed))[None])
    after = theirs.posterior * theirs.likelihoods
    chance = after.sum(dim=("mean", "sd"))
    after = after / chance

    def variance(of):
        mean = (of * of["mean"]).sum(dim=("mean", "sd"))
        return (of * of["mean"] ** 2).sum(dim=("mean", "sd")) - mean**2

    gain = variance(theirs.posterior) - (chance * variance(after)).sum(dim="response")
    # A count-in of two beats, and of never less than a second; eight landings.
    tempo_bpm = gain["intensity"]
    count_in_beats = np.ceil(tempo_bpm / 60).clip(2, 4)
    seconds = (count_in_beats + 8) * 60 / tempo_bpm
    best = float((gain / seconds).idxmax())
    chosen = choosing.most_telling(ours, choosing.table(TakeShape()), np.array([math.inf]))[0]
    assert chosen == best
    gains, cost_s = choosing.gains(ours, choosing.table(TakeShape()))
    assert gains[0] == pytest.approx(gain.values, abs=1e-6)
    assert cost_s[0] == pytest.approx(seconds.values, rel=1e-5)


# --- the logistic fit ----------------------------------------------------------------------


def answered_by_a_player(count: int, spread: float) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(7)
    tempos = np.rint(90 * np.exp(rng.normal(0.05, 0.1, count)))
    return tempos, np.array([is_clean(rng, bpm, 92, spread) for bpm in tempos])


def test_the_fit_is_that_of_statsmodels_and_scipy():
    spread = float(ct.SPREADS[2])
    tempos, passed = answered_by_a_player(3000, spread)
    log_likelihood = sum(
        np.log(ct.take_likelihood(take(float(bpm), bool(one)), lapse=0.0) + 1e-300)
        for bpm, one in zip(tempos, passed, strict=True)
    )
    fit = sm.Logit(passed.astype(float), sm.add_constant(np.log(tempos))).fit(disp=0)
    level, slope = fit.params
    clean_log = (scipy.special.logit(0.8) - level) / slope
    assert -1 / slope == pytest.approx(spread, rel=0.1)
    # Our grid's likelihood of (clean tempo, spread) is statsmodels' of (level, slope), point by point.
    for row, tempo in [(2, 120), (3, 122), (1, 118)]:
        s, theta = ct.SPREADS[row], ct.LOG_TEMPOS[tempo]
        params = [theta / s + scipy.special.logit(0.8), -1 / s]
        near = fit.model.loglike(np.array(params))
        assert log_likelihood[row, tempo] == pytest.approx(near, rel=1e-9)
    weight = np.exp(log_likelihood - log_likelihood.max())
    weight /= weight.sum()
    assert (weight.sum(axis=0) @ ct.LOG_TEMPOS) == pytest.approx(clean_log, abs=ct.GRID_STEP / 3)

    def against(params):
        z = (params[0] - np.log(tempos)) / params[1] + scipy.special.logit(0.8)
        return -np.where(passed, scipy.special.log_expit(z), scipy.special.log_expit(-z)).sum()

    found = scipy.optimize.minimize(against, [math.log(85), 0.06], method="Nelder-Mead")
    assert found.x[0] == pytest.approx(clean_log, abs=1e-3)


# --- the trend -------------------------------------------------------------------------------


@pytest.mark.parametrize("per_day", [0.01, -0.015, 0.0])
def test_on_clean_days_the_trend_is_the_slope_of_theil_and_sen(per_day):
    rng = np.random.default_rng(9)
    first = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
    dated = []
    for day in range(28):
        clean_bpm = 85 * math.exp(per_day * day)
        for n in range(60):
            bpm = float(round(clean_bpm * math.exp(rng.normal(0.05, 0.06))))
            dated.append(
                (first + timedelta(days=day, seconds=20 * n), take(bpm, is_clean(rng, bpm, clean_bpm)))
            )
    days = days_of(dated)
    tempos = []
    for day in days:
        weight = ct.spread_prior() @ day.likelihood
        weight /= weight.sum()
        tempos.append(weight @ ct.LOG_TEMPOS)
    slope, _, low, high = scipy.stats.theilslopes(tempos, [day.at_days for day in days], 0.9)
    found = trend_of(dated)
    assert low <= found.per_day <= high
    assert found.per_day == pytest.approx(slope, abs=0.0005)
    assert found.per_day_low < per_day < found.per_day_high
