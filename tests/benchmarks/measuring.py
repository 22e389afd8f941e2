"""How well the ladders measure, on made-up players whose clean tempo is known.

    python -m tests.benchmarks.measuring [--players N] [--months N] [--only measure|trend|speed]

Prints one table; seeds are fixed, so it prints the same every time. Players:
clean tempo 50-160 BPM log-uniform, spread 3, 5 or 8 % of log tempo, 3 % of
answers pressed wrong, feet that speak up 250 +- 80 ms after the miss. A take is
eight landings on the beat after four beats of count-in, and all twelve beats
count as playing. Errors are of the tempo, as a share; "at" counts only takes
that had ended by then. The bound beside a row is Cramér and Rao's, with
everything but the clean tempo known: no method can be below it. A row with
drift lets the clean tempo move evenly by so much while it is measured, and asks
for where it is at the end.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable, Iterable
from statistics import NormalDist

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import Sitting, Verdict, trend
from tests.benchmarks.simulated import Found, Players, measure, past_results, smallest_rms
from tests.benchmarks.up_down import UpDown, transformed, weighted

ASK, SPEAK_UP = LadderStart(60), LadderStart(60, speak_up=True)
DRIFTS = (0.0, 0.03, -0.03)
DRILL = parse_drill("Am E")
HISTORY_SD = 0.08
Row = list[str]


def row(name: str, at: str, error: np.ndarray, covers: np.ndarray | None, smallest: float | None) -> Row:
    rms = float(np.sqrt(np.mean(error**2)))
    return [
        name,
        at,
        f"{rms * 100:.1f} %",
        f"{error.mean() * 100:+.1f} %",
        "-" if covers is None else f"{covers.mean() * 100:.1f} %",
        "-" if smallest is None else f"{smallest * 100:.1f} %",
        "-" if smallest is None else f"{rms / smallest:.2f}",
    ]


# --- one player at a time: the simple rules ------------------------------------------


def habit(players: Players) -> tuple[np.ndarray, np.ndarray]:
    """The trade's habit: up 5 BPM after a clean take, once more after a miss, over at two in a row.

    Common practice, no published source. The result is the last tempo that came out clean;
    whoever cannot do the first tempo goes down by 5 until one comes. Errors and seconds.
    """
    errors, seconds = [], []
    for who in range(len(players.clean_log)):
        one, tempo_bpm, best, misses, spent = np.array([who]), 60.0, None, 0, 0.0
        while tempo_bpm > 20:
            passed, _, spent_s = players.play(one, np.array([tempo_bpm]), ASK, 0.0)
            spent += float(spent_s[0])
            if passed[0]:
                went_down = best is None and tempo_bpm < 60
                best, misses = tempo_bpm, 0
                if went_down:
                    break
                tempo_bpm += 5
                continue
            misses += 1
            if misses == 2:
                if best is not None:
                    break
                tempo_bpm, misses = tempo_bpm - 5, 0
        errors.append((best or tempo_bpm) / math.exp(players.clean_log[who]) - 1)
        seconds.append(spent)
    return np.array(errors), np.array(seconds)


def by_rule(players: Players, rule: UpDown, seconds: float) -> np.ndarray:
    """The error of an up-down rule after so many seconds; of its tempo where it has found none yet."""
    errors = []
    for who in range(len(players.clean_log)):
        after, one, spent = rule, np.array([who]), 0.0
        while not after.ended:
            passed, _, spent_s = players.play(one, np.array([float(after.tempo_bpm)]), ASK, 0.0)
            spent += float(spent_s[0])
            if spent > seconds:
                break
            after = after.answered(bool(passed[0]))
        found = after.found_bpm or after.tempo_bpm
        errors.append(found / math.exp(players.clean_log[who]) - 1)
    return np.array(errors)


def simple_rules(count: int) -> Iterable[Row]:
    players = Players.drawn(count, seed=11)
    errors, seconds = habit(players)
    yield row("habit: +5 until failed twice", f"its end, {seconds.mean():.0f} s", errors, None, None)
    for name, make in (("up-down", transformed), ("weighted", weighted)):
        for at in (90, 150):
            players = Players.drawn(count, seed=12)
            smallest = smallest_rms(players, ASK, at)
            errors = by_rule(players, make(ASK.start_bpm, ASK.step_bpm), at)
            yield row(f"{name} (ask)", f"{at} s", errors, None, smallest)


# --- seek ----------------------------------------------------------------------------


def seek_rows(count: int) -> Iterable[Row]:
    for name, start, at, off in (
        ("seek, ask", ASK, 90, None),
        ("seek, ask", ASK, 150, None),
        ("seek, speak-up", SPEAK_UP, 90, None),
        ("seek, speak-up", SPEAK_UP, 150, None),
        ("seek, history 8 % off, ask", ASK, 45, 0.08),
        ("seek, history 8 % off, speak-up", SPEAK_UP, 45, 0.08),
    ):
        found: list[Found] = []
        for drift in DRIFTS:
            players = Players.drawn(count, seed=21)
            history = None if off is None else past_results(players, off, days_ago=7)
            found.append(measure(players, start, at, history=history, drift=drift))
        smallest = smallest_rms(players, start, at, math.inf if off is None else HISTORY_SD)
        for drift, one in zip(DRIFTS, found, strict=True):
            yield row(f"{name}, drift {drift * 100:+.0f} %", f"{at} s", one.error, one.covers, smallest)
        pooled = (np.concatenate([one.error for one in found]), np.concatenate([one.covers for one in found]))
        yield row(f"{name}: all", f"{at} s", *pooled, smallest)


def to_their_own_end(count: int) -> Iterable[Row]:
    for name, start in (("ask", ASK), ("speak-up", SPEAK_UP)):
        found = measure(Players.drawn(count, seed=22), start, 300, until_tight=True)
        middle = np.median(found.ended_s)
        yield row(
            f"seek, {name}, ends at +-5 % or 300 s", f"median {middle:.0f} s", found.error, found.covers, None
        )


def wrong_model(count: int) -> Iterable[Row]:
    for name, truth, lapse in (
        ("probit truth", "probit", 0.03),
        ("correlated landings", "correlated", 0.03),
        ("10 % lapses", "logistic", 0.10),
    ):
        for style, start in (("ask", ASK), ("speak-up", SPEAK_UP)):
            found = measure(Players.drawn(count, 31, truth, lapse), start, 90)
            yield row(f"seek, {style}, {name}", "90 s", found.error, found.covers, None)


# --- the trend -------------------------------------------------------------------------


def days_measured(
    count: int, start: LadderStart, gain: float, days: int, seed: int, day_sd: float, bad_day: bool
) -> tuple[list[list[Sitting]], np.ndarray]:
    """Every player's days, measured 90 s each with yesterday's result as history; and the day's RMS error."""
    players = Players.drawn(count, seed)
    first_log = players.clean_log.copy()
    lists: list[list[Sitting]] = [[] for _ in range(count)]
    history: list[PastResult] | None = None
    errors = []
    for day in range(days):
        effect = players.rng.normal(0.0, day_sd, count) if day_sd else np.zeros(count)
        if bad_day and day == days - 4:
            effect = effect - 0.15
        players.clean_log = first_log + gain * day + effect
        found = measure(players, start, 90, history=history, keep_likelihood=True)
        errors.append(float(np.sqrt(np.mean(found.error**2))))
        low, middle, high = np.exp([found.low_log, found.estimate_log, found.high_log])
        history = [PastResult(*one, 1.0) for one in zip(middle, low, high, strict=True)]
        told = found.log_likelihood
        assert told is not None
        told = np.exp(told - told.max(axis=(1, 2), keepdims=True))
        for who in range(count):
            lists[who].append(Sitting(float(day), told[who], int(found.takes[who])))
    return lists, np.array(errors)


def best_possible(gain: float, day_error: float, days: int) -> float:
    """The chance that the best one-sided 5 % test of a line tells a rise, its error bars known."""
    at = np.arange(days) - (days - 1) / 2
    slope_sd = day_error / math.sqrt(float((at**2).sum()))
    normal = NormalDist()
    return 1 - normal.cdf(normal.inv_cdf(0.95) - gain / slope_sd)


def trend_rows(count: int) -> Iterable[Row]:
    for style, start in (("speak-up", SPEAK_UP), ("ask", ASK)):
        for gain, told_on, day_sd, bad_day in (
            (0.0, (7, 14, 30), 0.0, False),
            (0.0, (7, 14, 30), 0.02, False),
            (0.0, (7, 14), 0.0, True),
            (0.005, (7, 14, 30), 0.0, False),
            (0.01, (7, 14), 0.0, False),
            (0.01, (7, 14), 0.02, False),
            (0.01, (14,), 0.0, True),
            (0.02, (7, 14), 0.0, False),
            (0.02, (7,), 0.02, False),
            (-0.01, (7, 14), 0.0, False),
        ):
            for at in told_on if bad_day else (max(told_on),):
                lists, errors = days_measured(count, start, gain, at, 41, day_sd, bad_day)
                for until in (at,) if bad_day else told_on:
                    yield trend_row(style, gain, until, lists, errors, day_sd, bad_day)
                if gain == 0 and at == 30:
                    yield ever_row(style, lists[:200], day_sd)


def ever_row(style: str, lists: list[list[Sitting]], day_sd: float) -> Row:
    """Who looks every day is told more often: the share told each verdict at least once by day 30."""
    ever = [{trend(days[:until]).verdict for until in range(3, 31)} for days in lists]
    shares = (sum(verdict in told for told in ever) / len(ever) for verdict in Verdict)
    differ = f", days differ {day_sd * 100:.0f} %" if day_sd else ""
    return [
        f"+0.0 %/day{differ} ({style})",
        "ever, looking daily to 30",
        *(f"{share * 100:.1f} %" for share in shares),
        "-",
        "-",
    ]


def trend_row(
    style: str,
    gain: float,
    until: int,
    lists: list[list[Sitting]],
    errors: np.ndarray,
    day_sd: float,
    bad_day: bool,
) -> Row:
    verdicts = [trend(days[:until]).verdict for days in lists]
    share = {verdict: verdicts.count(verdict) / len(verdicts) for verdict in Verdict}
    day_error = math.hypot(float(np.sqrt(np.mean(errors[1:until] ** 2))), day_sd)
    what = f"{gain * 100:+.1f} %/day" + (f", days differ {day_sd * 100:.0f} %" if day_sd else "")
    return [
        f"{what}{', one day 15 % down' if bad_day else ''} ({style})",
        f"day {until}",
        *(f"{share[verdict] * 100:.1f} %" for verdict in Verdict),
        f"{day_error * 100:.1f} %",
        f"{best_possible(gain, day_error, until) * 100:.0f} %" if gain > 0 and not bad_day else "-",
    ]


# --- speed -------------------------------------------------------------------------------


def speed() -> Iterable[str]:
    rng = np.random.default_rng(51)
    for style, start in (("ask", ASK), ("speak-up", SPEAK_UP)):
        spent_ms = []
        for _ in range(20):
            ladder = LADDERS["seek"](start)
            for _ in range(25):
                before = time.perf_counter()
                tempo_bpm = ladder.tempo_bpm
                spent_ms.append((time.perf_counter() - before) * 1000)
                passed = rng.random() < 0.6
                press = None if passed or not start.speak_up else float(rng.uniform(0.2, 7.5))
                outcome = Outcome.PASS_ if passed else Outcome.FAIL
                ladder = ladder.answered(Take(DRILL, tempo_bpm, 8, outcome, press_beat=press))
        p50, p99 = np.percentile(spent_ms, [50, 99])
        yield f"deciding the next tempo, {style}: p50 {p50:.2f} ms, p99 {p99:.2f} ms (goal 15 ms)"
        takes = [
            Take(
                DRILL, float(rng.integers(60, 120)), 8, Outcome.FAIL, press_beat=float(rng.uniform(0.2, 7.5))
            )
            if start.speak_up and rng.random() < 0.4
            else Take(
                DRILL, float(rng.integers(60, 120)), 8, Outcome.PASS_ if rng.random() < 0.6 else Outcome.FAIL
            )
            for _ in range(1000)
        ]
        before = time.perf_counter()
        posterior = ct.prior()
        for take in takes:
            posterior = ct.update(posterior, take)
        yield f"1,000 takes, {style}: {(time.perf_counter() - before) * 1000:.0f} ms (goal 50 ms)"


MEASURES: tuple[Callable[[int], Iterable[Row]], ...] = (
    simple_rules,
    seek_rows,
    to_their_own_end,
    wrong_model,
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--players", type=int, default=2000)
    parser.add_argument("--months", type=int, default=600, help="players followed over days (600)")
    parser.add_argument("--only", choices=("measure", "trend", "speed"))
    asked = parser.parse_args()
    if asked.only in (None, "measure"):
        rows = [one for rows in MEASURES for one in rows(asked.players)]
        headers = ["method", "at", "RMS error", "bias", "90 % covers", "bound", "over bound"]
        print(tabulate(rows, headers, tablefmt="github"), flush=True)
    if asked.only in (None, "trend"):
        headers = ["trend", "told", *Verdict, "a day's error", "best test: rising"]
        print("\n" + tabulate(list(trend_rows(asked.months)), headers, tablefmt="github"), flush=True)
    if asked.only in (None, "speed"):
        print("\n" + "\n".join(speed()))


if __name__ == "__main__":
    main()
