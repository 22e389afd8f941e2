"""Thousands of made-up players measured at once, with the product's own functions.

Players are the first axis of every array. What the ladder believes and asks for comes from
pedaltrainer.practice (clean_tempo, choosing, seek); only hands and feet (`players`) and the stage's clock are
simulated here. tests/practice/test_simulated.py holds a batch of these against single ladders, take by take.

Time is the stage's: what the player's watch would say, with every count-in, answer and breath.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.counted import missed_more, missed_once
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.foot import fit_of_landing, fit_of_press
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.ladders.seek import highest_next, shape_of
from pedaltrainer.practice.rules import FIRST
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.answering import LATE_PRESS_MARGIN_S
from pedaltrainer.session.settings import Settings
from pedaltrainer.timing.grid import SLOWEST_BPM
from tests.benchmarks.players import Players, Said

Array = NDArray[np.float64]

COUNT_S = Settings((parse_drill("Am E"),)).count_s
ASKED_S, TAP_S = 0.7, 0.3
"""A foot answers so long after the take; a tap is known that much later, when it is no double tap."""
DRILL = parse_drill("Am E")


@dataclass(frozen=True, slots=True)
class Way:
    """A way to measure: a ladder's start, and the stage's breath and lead between takes."""

    name: str
    start: LadderStart
    breath_s: float
    lead_s: float

    def count_in_beats(self, tempo_bpm: Array, first: bool) -> Array:
        whole = self.start.count_in_beats
        if first or not self.start.rules.short_count_in:
            return np.full(len(tempo_bpm), float(whole))
        return np.minimum(np.maximum(2.0, np.ceil(tempo_bpm / 60)), whole)

    def seconds(self, tempo_bpm: Array, said: Said, first: bool) -> tuple[Array, Array]:
        """From one decision to the next, and to the answer before it: each [players]."""
        beat_s, start = 60 / tempo_bpm, self.start
        answered_s = self.lead_s + self.count_in_beats(tempo_bpm, first) * beat_s + said.played_s
        if start.speak_up:
            # A late foot is waited for before silence is a pass.
            waits_s = np.maximum(0.0, start.reaction_s + LATE_PRESS_MARGIN_S - 0.5 * beat_s)
            answered_s = answered_s + np.where(said.passed, waits_s, 0.0)
        else:
            answered_s = answered_s + np.where(
                said.broke_off, 0.0, ASKED_S + np.where(said.passed, TAP_S, 0.0)
            )
            if start.counts_misses:
                # One more tap a moment later, and until it is known; or the longer breath goes by.
                counted_s = np.where(said.one_miss, COUNT_S - self.breath_s, 2 * TAP_S)
                answered_s = answered_s + np.where(said.passed | said.broke_off, 0.0, counted_s)
        return answered_s + self.breath_s, answered_s

    @property
    def table(self) -> choosing.OutcomeTable:
        return choosing.table(shape_of(self.start))

    def likelihood(self, tempo_bpm: Array, said: Said) -> Array:
        return likelihood_of(self.start, tempo_bpm, said)


def _way(name: str, style: AnswerStyle) -> Way:
    """The way of a new session of today."""
    settings = Settings((DRILL,), style)
    start = LadderStart(60, speak_up=style is AnswerStyle.SPEAK_UP, pause_s=settings.pause_s)
    return Way(name, start, settings.breath_s, settings.lead_s)


ASK, SPEAK_UP = _way("ask", AnswerStyle.ASK), _way("speak-up", AnswerStyle.SPEAK_UP)
COUNTED = replace(ASK, name="ask, counted", start=replace(ASK.start, counts_misses=True))
ASK_BEFORE = Way("ask, as it was", LadderStart(60, rules=FIRST), 1.5, 0.5)
SPEAK_UP_BEFORE = Way("speak-up, as it was", LadderStart(60, speak_up=True, rules=FIRST), 1.5, 0.5)


@dataclass
class Found:
    """What was believed at a time: arrays [players]. error: of the tempo, as a share."""

    mass: Array
    clean_log: Array
    takes: NDArray[np.int64]
    ended_s: Array
    log_likelihood: Array | None = None

    def __post_init__(self) -> None:
        self.estimate_log = ct.moments(self.mass)[0]
        self.low_log, self.high_log = ct.quantile(self.mass, 0.05), ct.quantile(self.mass, 0.95)

    @property
    def error(self) -> Array:
        return np.expm1(self.estimate_log - self.clean_log)

    @property
    def covers(self) -> NDArray[np.bool_]:
        return (self.low_log <= self.clean_log) & (self.clean_log <= self.high_log)

    def as_history(self, days_ago: float = 1.0) -> list[PastResult]:
        """What a next sitting starts from, as the product keeps it."""
        return [ct.past_result(ct.Posterior(mass.copy()), days_ago) for mass in self.mass]


def past_results(players: Players, off: float, days_ago: float) -> list[PastResult]:
    """A previous result each, this far off, to either side by the toss of a coin."""
    side = players.rng.choice((-1.0, 1.0), len(players.clean_log))
    bpm = np.exp(players.clean_log + side * math.log1p(off))
    return [PastResult(one, one / 1.05, one * 1.05, days_ago) for one in bpm]


def measure(
    players: Players,
    way: Way,
    *at_s: float,
    history: list[PastResult] | None = None,
    keep_likelihood: bool = False,
    until_tight: bool = False,
    trace: list | None = None,
) -> list[Found]:
    """Seek's measurement of every player, as it stands after so many seconds, the last of them its end.

    A take that is answered later is not in it.
    """
    start, rules, count = way.start, way.start.rules, len(players.clean_log)
    mass = np.repeat(ct.prior((), rules).mass[None], count, axis=0)
    before = np.full(count, math.nan)
    if history is not None:
        mass = np.stack([ct.prior([past], rules).mass for past in history])
        before = np.exp(ct.moments(mass)[0])
    best, failed, run = np.full(count, math.nan), np.zeros(count, bool), np.zeros(count, np.int64)
    last_bpm = np.full(count, math.nan)
    clock_s, ended_s = np.zeros(count), np.full(count, at_s[-1])
    seen = np.zeros(mass.shape, np.float32) if keep_likelihood else None
    stands = [(mass.copy(), np.zeros(count, np.int64)) for _ in at_s]
    active, number = np.arange(count), 0
    while len(active):
        # Every active player has answered as often as the others: all began together.
        now = ct.wander(mass[active]) if number else mass[active]
        cautious = failed[active] & (run[active] < (rules.clean_run or math.inf))
        highest = highest_next(start, best[active], cautious, before[active])
        if start.most_rise is not None and number:
            gentle = last_bpm[active] * (1 + start.most_rise)
            highest = np.maximum(np.minimum(highest, gentle), SLOWEST_BPM + 1.0)
        every = rules.steady_every if history is not None else None
        if every is not None and number % every == every - 1:
            tempo_bpm = choosing.clean_at(now, ct.CLEAN_CHANCE, start.landings, highest)
        else:
            tempo_bpm = choosing.most_telling(now, way.table, highest)
        if start.first_bpm is not None and not number:
            tempo_bpm = np.full(len(active), float(start.first_bpm))
        last_bpm[active] = tempo_bpm
        said = players.play(active, tempo_bpm, start, number)
        spent_s, answered_s = way.seconds(tempo_bpm, said, number == 0)
        likelihood = way.likelihood(tempo_bpm, said)
        after = ct.weigh(now, likelihood)
        for (stand, takes), limit_s in zip(stands, at_s, strict=True):
            in_time = clock_s[active] + answered_s <= limit_s
            stand[active[in_time]] = after[in_time]
            takes[active[in_time]] += 1
        done = active[in_time]
        mass[done] = after[in_time]
        if seen is not None:
            seen[done] += np.log(likelihood[in_time])
        if trace is not None:
            trace.append((active, tempo_bpm, said))
        clock_s[active] += spent_s
        best[active] = np.where(said.passed, np.fmax(best[active], tempo_bpm), best[active])
        failed[active] |= ~said.passed
        run[active] = np.where(said.passed, run[active] + 1, 0)
        if until_tight:
            low, high = ct.quantile(mass[done], 0.05), ct.quantile(mass[done], 0.95)
            tight = np.sqrt(np.exp(high - low)) - 1 <= start.tight
            ended_s[done[tight]] = clock_s[done[tight]] - way.breath_s
            done = done[~tight]
        active, number = done, number + 1
    return [
        Found(stand, players.now_log(np.maximum(takes - 1, 0)), takes, ended_s, seen)
        for stand, takes in stands
    ]


def likelihood_of(start: LadderStart, tempo_bpm: Array, said: Said) -> Array:
    """The likelihood of one answer each, as the ladder takes it: [players, spreads, tempos]."""
    keep_log = ct.log_keep(np.log(tempo_bpm))
    landing_s = start.beats_per_chord * 60 / tempo_bpm
    if not start.speak_up:
        likelihood = ct.answer_likelihood(keep_log, start.landings, said.passed, None)
        if start.counts_misses:
            once, more = missed_once(keep_log, start.landings), missed_more(keep_log, start.landings)
            counted = ~said.passed & ~said.broke_off
            told = np.where(said.one_miss[:, None, None], once, more)
            likelihood = np.where(counted[:, None, None], told, likelihood)
        heard = said.broke_off & start.rules.hears_the_moment
        if heard.any():
            where = fit_of_press(said.press_s[heard], landing_s[heard], start.landings, start.reaction_s)
            told = ct.answer_likelihood(keep_log[heard], start.landings, said.passed[heard], where)
            likelihood[heard] = told
        return likelihood
    if start.rules.hears_the_moment:
        where = fit_of_press(said.press_s, landing_s, start.landings, start.reaction_s)
    else:
        where = np.stack(
            [
                _fit_where_counted(start, float(press), float(landing))
                for press, landing in zip(said.press_s, landing_s, strict=True)
            ]
        )
    return ct.answer_likelihood(keep_log, start.landings, said.passed, where)


def counted_landing(start: LadderStart, press_s: float, landing_s: float) -> int:
    """The landing that a press is counted for: 1-based."""
    off_s = start.rules.off_s(start.reaction_s, landing_s)
    return min(max(math.floor((press_s - off_s) / landing_s) + 1, 1), start.landings)


def _fit_where_counted(start: LadderStart, press_s: float, landing_s: float) -> Array:
    return _fit(counted_landing(start, press_s, landing_s), landing_s, replace(start, history=()))


@lru_cache(maxsize=4096)
def _fit(landing: int, landing_s: float, start: LadderStart) -> Array:
    off_s = start.rules.off_s(start.reaction_s, landing_s)
    return fit_of_landing(landing, landing_s, start.landings, off_s, start.rules.law(start.reaction_s))
