"""How well the ladders measure, on made-up players of many kinds whose clean tempo is known.

    python -m tests.benchmarks.measuring [--players N] [--only TABLE ...]

Prints its tables; seeds are fixed, so it prints the same every time. Seconds are the stage's: count-ins,
answers and breaths are in them. A cell is the RMS error of the tempo in per cent, its mean, and in brackets
how many of a hundred 90 % intervals hold the truth; what is told at a time rests on the takes answered by
then. "As it was": the first rules, by which sessions of the first logs are told again, with the pauses and
count-ins of then. `players` says who is measured, `bounds` what no method can be below.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import product

import numpy as np
from tabulate import tabulate

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.foot import missed_landing, one_foot, taken_off_s
from pedaltrainer.practice.ladders.ladder import LADDERS
from pedaltrainer.practice.rules import FIRST, NOW
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.session.settings import GENTLE_RISE
from tests.benchmarks.bounds import smallest_rms
from tests.benchmarks.players import KINDS, USUAL, Array, Kind, Players
from tests.benchmarks.rivals import by_rule, habit, quest_plus, steps
from tests.benchmarks.simulated import (
    ASK,
    ASK_BEFORE,
    COUNTED,
    DRILL,
    SPEAK_UP,
    SPEAK_UP_BEFORE,
    Found,
    Way,
    measure,
)
from tests.benchmarks.up_down import transformed, weighted

AT_S = (90.0, 150.0)
FIRST_DAY_S = (90.0, 150.0, 300.0)
DAYS = (1, 2, 4, 8)

WAYS = (ASK_BEFORE, ASK, SPEAK_UP_BEFORE, SPEAK_UP)
HAZY = next(kind for kind in KINDS if kind.name.startswith("hazy"))
SLOW = next(kind for kind in KINDS if kind.name.startswith("slow"))
QUEST_PLUS_PLAYERS = 300
"""The library works out one player at a time."""
Row = list[str]


def told(error: Array, covers: Array | None = None) -> str:
    """RMS error, bias and, where there is an interval, how often it holds the truth."""
    rms = math.sqrt(float(np.mean(error**2)))
    inside = "" if covers is None else f" ({covers.mean() * 100:.0f})"
    return f"{rms * 100:.1f} {error.mean() * 100:+.1f}{inside}"


def found_row(name: str, found: Iterable[Found]) -> Row:
    return [name, *(told(one.error, one.covers) for one in found)]


# --- methods ---------------------------------------------------------------------------------


def methods(count: int) -> tuple[list[str], Iterable[Row]]:
    """Every method on the usual players, beside the bound."""
    return ["method", *(f"{at:.0f} s" for at in AT_S)], _methods(count)


def _methods(count: int) -> Iterable[Row]:
    error, seconds = habit(Players.drawn(count, 11))
    yield [f"habit: +5 until missed twice, at its end, {seconds.mean():.0f} s", told(error), ""]
    yield ["steps, ask", *(told(steps(Players.drawn(count, 12), at)) for at in AT_S)]
    for name, make in (("up-down", transformed), ("weighted", weighted)):
        errors = (by_rule(Players.drawn(count, 12), make(60, 8), at) for at in AT_S)
        yield [f"{name}, ask", *map(told, errors)]
    yield [
        f"least entropy by `questplus`, ask ({QUEST_PLUS_PLAYERS} players)",
        *(told(*one) for one in quest_plus(Players.drawn(QUEST_PLUS_PLAYERS, 21), AT_S)),
    ]
    for way in (*WAYS, COUNTED):
        yield found_row(f"seek: {way.name}", measure(Players.drawn(count, 21), way, *AT_S))
    for way in (ASK, SPEAK_UP):
        yield [f"bound, {way.name}", *(f"{smallest_rms(way, at) * 100:.1f}" for at in AT_S)]
    for way in (ASK, SPEAK_UP):
        (found,) = measure(Players.drawn(count, 22), way, 600, until_tight=True)
        middle = np.median(found.ended_s)
        yield [
            f"seek: {way.name}, to +-5 % or 600 s: median {middle:.0f} s",
            told(found.error, found.covers),
            "",
        ]


# --- kinds of players ------------------------------------------------------------------------


def kinds_asked(count: int) -> tuple[list[str], Iterable[Row]]:
    """Every kind of player, asked about every take: before, now, and with misses counted."""
    return _kinds(count, (ASK_BEFORE, ASK, COUNTED))


def kinds_speaking_up(count: int) -> tuple[list[str], Iterable[Row]]:
    """Every kind of player who speaks up, before and now."""
    return _kinds(count, (SPEAK_UP_BEFORE, SPEAK_UP))


def _kinds(count: int, ways: tuple[Way, ...]) -> tuple[list[str], Iterable[Row]]:
    headers = ["players", *(f"{way.name}, {at:.0f} s" for way in ways for at in AT_S)]
    return headers, (
        [kind.name, *(told(one.error, one.covers) for way in ways for one in _of_kind(count, kind, way))]
        for kind in KINDS
    )


def _of_kind(count: int, kind: Kind, way: Way) -> list[Found]:
    return measure(Players.drawn(count, 31, kind), way, *AT_S)


# --- sittings --------------------------------------------------------------------------------


def sittings(count: int) -> tuple[list[str], Iterable[Row]]:
    """90 s a day for eight days, each with what the day before has found; days differ by 2 %."""
    ways = (
        (ASK_BEFORE, False),
        (ASK, False),
        (ASK, True),
        (_steadied(ASK), True),
        (SPEAK_UP_BEFORE, False),
        (SPEAK_UP, False),
        (SPEAK_UP, True),
        (_steadied(SPEAK_UP), True),
    )
    headers = ["players", "way", "kept from day to day", *(f"day {day}" for day in DAYS)]
    return headers, (
        [
            kind.name,
            way.name,
            "level and spread" if spread else "the level",
            *_days(min(count, 600), kind, way, spread),
        ]
        for kind in (USUAL, HAZY)
        for way, spread in ways
    )


def _steadied(way: Way) -> Way:
    """Without the takes at the clean tempo."""
    return replace(_ruled(way, steady_every=None), name=f"{way.name}, no takes at four in five")


def _days(count: int, kind: Kind, way: Way, keeps_spread: bool) -> list[str]:
    players, history, days = Players.drawn(count, 41, kind), None, []
    at_rest = players.clean_log.copy()
    for _ in range(8):
        players.clean_log = at_rest + players.rng.normal(0.0, 0.02, count)
        (found,) = measure(players, way, 90, history=history)
        history = found.as_history()
        if not keeps_spread:
            history = [replace(past, spread=None) for past in history]
        days.append(told(found.error, found.covers))
    return [days[day - 1] for day in DAYS]


# --- feet ------------------------------------------------------------------------------------


def feet(count: int) -> tuple[list[str], Iterable[Row]]:
    """What it would bring to know whose foot it is: quick and slow feet who speak up."""
    slow = replace(SPEAK_UP, start=replace(SPEAK_UP.start, reaction_s=0.40))
    ways: dict[str, Callable[[Kind], Way]] = {
        "both believed in, as today": lambda kind: SPEAK_UP,
        "a quick foot believed in": lambda kind: _ruled(SPEAK_UP, feet=one_foot(0.25)),
        "the player's own known": lambda kind: _ruled(
            slow if kind is SLOW else SPEAK_UP, feet=one_foot(*kind.reaction_s)
        ),
    }
    headers = ["the foot", *(f"{kind.name}, {at:.0f} s" for kind in (USUAL, SLOW) for at in AT_S)]
    return headers, (
        [
            name,
            *(
                told(one.error, one.covers)
                for kind in (USUAL, SLOW)
                for one in measure(Players.drawn(count, 32, kind), way(kind), *AT_S)
            ),
        ]
        for name, way in ways.items()
    )


# --- which landing ---------------------------------------------------------------------------


def landings(count: int) -> tuple[list[str], Iterable[Row]]:
    """How often a press in a speak-up take is counted for another landing than the one that was missed."""
    feet = {"250 +- 80 ms": (0.25, 0.08), "400 +- 150 ms": (0.40, 0.15)}
    headers = ["feet", "tempo", "the whole reaction taken off", "now"]
    return headers, (
        [name, f"{bpm} BPM", *(f"{_wrong(bpm, *foot, whole) * 100:.0f} %" for whole in (True, False))]
        for name, foot in feet.items()
        for bpm in (60, 90, 120, 160)
    )


def _wrong(tempo_bpm: int, mean_s: float, sd_s: float, whole: bool) -> float:
    rng = np.random.default_rng(51)
    true = rng.integers(1, 9, 20_000)
    landing_s = 60 / tempo_bpm
    press_s = (true - 1) * landing_s + np.maximum(0.1, rng.normal(mean_s, sd_s, len(true)))
    off_s = 0.25 if whole else taken_off_s(0.25, landing_s)
    counted = [missed_landing(beat, off_s / landing_s, DRILL, 8) for beat in press_s / landing_s]
    return float(np.mean(np.array(counted) != true))


# --- what earns its place --------------------------------------------------------------------


def parts(count: int) -> tuple[list[str], Iterable[Row]]:
    """What each part of today's rules is worth: the rules without it, on the usual players and the hazy."""
    without: dict[str, Callable[[Way], Way]] = {
        "today's": lambda way: way,
        "whole count-ins": lambda way: _ruled(way, short_count_in=False),
        "pauses not reckoned with": lambda way: _ruled(way, counts_pauses=False),
        "breaths of 0.8 s": lambda way: replace(way, breath_s=0.8),
        "breaths of 1.5 s and leads of 0.5": lambda way: replace(way, breath_s=1.5, lead_s=0.5),
        "spreads believed as before": lambda way: _ruled(
            way, spread_sd=FIRST.spread_sd, widest_spread=FIRST.widest_spread
        ),
        "spreads believed wider": lambda way: _ruled(way, spread_sd=0.75),
        "short steps after the first miss": lambda way: _ruled(way, clean_run=None),
        "one foot believed in": lambda way: _ruled(way, feet=one_foot(0.25)),
    }
    cases = tuple(product((USUAL, HAZY), (ASK, SPEAK_UP)))
    headers = ["rules", *(f"{kind.name}, {way.name}, {at:.0f} s" for kind, way in cases for at in AT_S)]
    return headers, (
        [
            name,
            *(
                told(one.error, one.covers)
                for kind, way in cases
                for one in _of_kind(min(count, 1000), kind, change(way))
            ),
        ]
        for name, change in without.items()
    )


def _ruled(way: Way, **changes: object) -> Way:
    rules = replace(NOW, **changes)  # type: ignore[arg-type]
    return replace(way, start=replace(way.start, rules=rules))


# --- who begins ------------------------------------------------------------------------------


def first_tempos(count: int) -> tuple[list[str], Iterable[Row]]:
    """Players who say how fast their changes go and rise gently from there, beside those who do not."""
    headers = ["players", "clean tempo", "first take", *(f"{at:.0f} s" for at in FIRST_DAY_S)]
    return headers, _first_tempos(count)


def _first_tempos(count: int) -> Iterable[Row]:
    for name, (low, high), first in (
        ("slow", (30, 70), 40),
        ("middling", (60, 110), 60),
        ("quick", (90, 160), 90),
        ("fast, but they say slow", (90, 160), 40),
        ("slow, but they say quick", (30, 70), 90),
    ):
        for way in (ASK, SPEAK_UP):
            for first_bpm in (None, first):
                rise = None if first_bpm is None else GENTLE_RISE
                begun = replace(way, start=replace(way.start, first_bpm=first_bpm, most_rise=rise))
                players = Players.drawn(count, 61)
                players.clean_log = players.rng.uniform(math.log(low), math.log(high), count)
                how = "as it was" if first_bpm is None else f"at {first_bpm}"
                found = measure(players, begun, *FIRST_DAY_S)
                yield [f"{name}, {way.name}", f"{low}-{high}", *found_row(how, found)]


# --- speed -----------------------------------------------------------------------------------


def speed(_: int) -> tuple[list[str], Iterable[Row]]:
    return ["what", "p50", "p99", "goal"], _speeds()


def _speeds() -> Iterable[Row]:
    rng = np.random.default_rng(51)
    for way in (ASK, SPEAK_UP):
        spent_ms = []
        for _ in range(20):
            ladder = LADDERS["seek"](way.start)
            for _ in range(25):
                before = time.perf_counter()
                tempo_bpm = ladder.tempo_bpm
                spent_ms.append((time.perf_counter() - before) * 1000)
                ladder = ladder.answered(_some_take(rng, tempo_bpm, way.start.speak_up))
        p50, p99 = np.percentile(spent_ms, [50, 99])
        yield [f"deciding the next tempo, {way.name}", f"{p50:.2f} ms", f"{p99:.2f} ms", "15 ms"]
        takes = [_some_take(rng, int(rng.integers(60, 120)), way.start.speak_up) for _ in range(1000)]
        before = time.perf_counter()
        ct.update_all(ct.prior(), takes)
        yield [f"1,000 takes, {way.name}", f"{(time.perf_counter() - before) * 1000:.0f} ms", "", "50 ms"]


def _some_take(rng: np.random.Generator, tempo_bpm: int, speak_up: bool) -> Take:
    passed = rng.random() < 0.6
    landing = None if passed or not speak_up else int(rng.integers(1, 9))
    outcome = Outcome.PASS_ if passed else Outcome.FAIL
    return Take(DRILL, tempo_bpm, 8, outcome, landing, taken_off_s=taken_off_s(0.25, 60 / tempo_bpm))


TABLES = {
    "methods": methods,
    "kinds-asked": kinds_asked,
    "kinds-speaking-up": kinds_speaking_up,
    "sittings": sittings,
    "feet": feet,
    "landings": landings,
    "parts": parts,
    "first-tempos": first_tempos,
    "speed": speed,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--players", type=int, default=2000)
    parser.add_argument("--only", choices=TABLES, nargs="+")
    asked = parser.parse_args()
    for name in asked.only or TABLES:
        headers, rows = TABLES[name](asked.players)
        print(f"\n## {name}\n\n{tabulate(list(rows), headers, tablefmt='github')}", flush=True)


if __name__ == "__main__":
    main()
