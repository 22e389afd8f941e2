"""Made-up players who learn, by the hundred: their hands, and what a trainer may see of them.

Truth. A player has shapes and changes between pairs of them. Each shape and each travel has a clean tempo
of its own; a change comes to

    min(ratio * the slower of its two shapes, its travel)

Practice moves shapes and travels, not changes. The air time of each falls by a power law of the landings
that went into it (A. Newell and P. S. Rosenbloom, 1981), or by an exponential one (A. Heathcote, S. Brown
and D. J. K. Mewhort, 2000), towards a floor of its own. A re-landing gives its shape every landing, a
change half of them to each shape and all of them to its travel. A landing counts in full near the edge of
what the hand can do and for little far below or above it. `Assumptions` can bend each of these: learning by
steps, forgetting, interference, shapes that every change learns anew, haste that harms, days that differ.

Players are the first axis of every array. `Log` is what a trainer may see: answers, and the beliefs that
the product makes of them. ASSUMPTIONS is printed by the benchmark.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.coach.evidence import Evidence, Known, history_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.ladders import choosing
from pedaltrainer.practice.ladders.rungs import LadderStart
from pedaltrainer.practice.ladders.seek import highest_next, shape_of
from pedaltrainer.timing.grid import FASTEST_BPM
from tests.benchmarks.players import Kind as PlayerKind
from tests.benchmarks.players import Players, Said
from tests.benchmarks.simulated import likelihood_of

NAMES = ("C", "G", "D", "Am", "Em", "F", "Bm")
EDGE, EDGE_WIDTH, LEAST_WORTH = -0.03, 0.20, 0.10
PAUSE_S, NEW_DRILL_S = 3.0, 6.0
KEEP_LOG = ct.log_keep(np.log(np.maximum(np.arange(FASTEST_BPM + 1), 1.0)))
"""The model's chances by whole tempo, worked out once."""
START = datetime(2027, 1, 1, 18, tzinfo=UTC)


@dataclass(frozen=True)
class Assumptions:
    """What the made-up players are like. Tempos and spreads in log tempo unless named otherwise."""

    level_bpm: float = 75.0
    level_sd: float = 0.20
    shape_sd: float = 0.20
    travel_above: float = 0.0
    """A travel's clean tempo over ratio * the slower shape, on the mean: 0, so either limits half of them."""
    travel_sd: float = 0.15
    ratio_sd: float = 0.06
    change_sd: float = 0.03
    shapes_faster: float = 0.0
    """Added to every shape: 0.6 and no shape ever limits."""
    law: str = "power"
    exponent: float = 0.4
    experience: float = 150.0
    """Landings that stand behind what the player can do at the start; a larger number learns more slowly."""
    experience_sd: float = 0.5
    room: tuple[float, float] = (2.0, 3.0)
    """The floor's tempo over the tempo at the start."""
    needed: tuple[float, float] = (1.0, 1.3)
    """The set's tempo over the median clean tempo of its changes."""
    spreads: tuple[float, ...] = (0.03, 0.05, 0.08)
    lapse: float = 0.03
    shape_share: float = 0.5
    """The share of a change's landings that trains each shape."""
    song_gap_sd: float = 0.08
    step_landings: float = 0.0
    """Landings bear fruit only in steps of so many; 0: at once."""
    forgetting: float = 0.0
    """The share of what was gained on a part that a night takes away."""
    interference: float = 0.0
    """What each landing on a change takes from the travels of the changes that share a shape with it."""
    shared_shapes: bool = True
    """False: every change has to learn its two shapes for itself."""
    haste: float = 0.0
    """What a landing more than a tenth above the clean tempo takes away from its parts."""
    day_sd: float = 0.0

    @property
    def words(self) -> str:
        return f"""\
level {self.level_bpm:g} BPM; in log tempo sd {self.level_sd:g} a player, {self.shape_sd:g} a shape
travel = ratio x slower shape x exp(N({self.travel_above:g}, {self.travel_sd:g}))
ratio = 5/6 x exp(N(0, {self.ratio_sd:g})) a player, x exp(N(0, {self.change_sd:g})) a change
learning: {self.law} law, exponent {self.exponent:g}, {self.experience:g} landings of experience a part \
(sd {self.experience_sd:g} in log)
towards a floor of {self.room[0]:g}-{self.room[1]:g} x the tempo at the start
a landing counts exp(-((x - {EDGE:g}) / {EDGE_WIDTH:g})^2 / 2), at least {LEAST_WORTH:g}; \
x = log(tempo / the part's clean tempo)
a re-landing trains its shape by 1 a landing; a change its travel by 1, each shape by {self.shape_share:g}
set: 3 songs, at {self.needed[0]:g}-{self.needed[1]:g} x the median clean tempo of the 12 changes \
(sd {self.song_gap_sd:g} a song)
spread 3, 5 or 8 %; {self.lapse * 100:g} % of answers wrong; 8 landings after a count-in of 4
{PAUSE_S:g} s between takes, {NEW_DRILL_S:g} s for a new drill
no forgetting, no gain from spacing or from mixing drills, no fatigue"""


@dataclass
class Learners:
    """shapes: [players, 7], travels: [players, 12], log clean tempos now. pairs: [players, 12, 2]."""

    like: Assumptions
    pairs: np.ndarray
    log_ratio: np.ndarray
    begun: np.ndarray
    floor: np.ndarray
    experience: np.ndarray
    landings: np.ndarray
    needed: np.ndarray
    spread: np.ndarray
    named: np.ndarray
    """The shapes of each change by name, [players, 12, 2]: as in pairs where changes share their shapes."""
    seed: int

    @classmethod
    def drawn(cls, count: int, seed: int, like: Assumptions, changes: int = 12) -> Learners:
        rng = np.random.default_rng(seed)
        shapes = len(NAMES)
        every = np.array([(a, b) for a in range(shapes) for b in range(a + 1, shapes)])
        pairs = np.stack([every[rng.permutation(len(every))[:changes]] for _ in range(count)])
        level = math.log(like.level_bpm) + rng.normal(0, like.level_sd, (count, 1))
        shape = level + rng.normal(0, like.shape_sd, (count, shapes)) - math.log(5 / 6)
        ratio = math.log(5 / 6) + rng.normal(0, like.ratio_sd, (count, 1))
        log_ratio = ratio + rng.normal(0, like.change_sd, (count, changes))
        slower = np.take_along_axis(shape[:, :, None], pairs, axis=1).min(axis=2)
        travel = slower + log_ratio + rng.normal(like.travel_above, like.travel_sd, (count, changes))
        begun = np.concatenate([shape + like.shapes_faster, travel], axis=1)
        named = pairs
        if not like.shared_shapes:
            own = np.take_along_axis(begun[:, :shapes], pairs.reshape(count, -1), axis=1)
            begun = np.concatenate([own, begun[:, shapes:]], axis=1)
            pairs = np.broadcast_to(np.arange(2 * changes).reshape(changes, 2), pairs.shape)
        room = np.log(rng.uniform(*like.room, begun.shape))
        experience = like.experience * np.exp(rng.normal(0, like.experience_sd, begun.shape))
        made = cls(
            like, pairs, log_ratio, begun, begun + room, experience, np.zeros(begun.shape),
            np.zeros((count, changes)), rng.choice(like.spreads, count), named, seed,
        )  # fmt: skip
        middle = np.median(made.changes_now(), axis=1, keepdims=True)
        song = np.log(rng.uniform(*like.needed, (count, 1))) + rng.normal(0, like.song_gap_sd, (count, 3))
        made.needed = middle + np.take_along_axis(song, rng.integers(0, 3, (count, changes)), axis=1)
        made._leave_room()
        return made

    def _leave_room(self) -> None:
        """Every set can be learnt: floors are at least a fifth above what it asks for."""
        shapes = self.shapes
        enough = self.needed + 0.2
        self.floor[:, shapes:] = np.maximum(self.floor[:, shapes:], enough)
        for side in range(2):
            for change in range(self.pairs.shape[1]):
                rows, at = np.arange(len(self.pairs)), self.pairs[:, change, side]
                least = enough[:, change] - self.log_ratio[:, change]
                self.floor[rows, at] = np.maximum(self.floor[rows, at], least)

    @property
    def shapes(self) -> int:
        """How many shapes are learnt: the seven there are, or two a change where none is shared."""
        return self.begun.shape[1] - self.pairs.shape[1]

    def parts_now(self) -> np.ndarray:
        """Log clean tempos of shapes and travels: [players, 7 + 12]. Air times follow the law of practice."""
        step = self.like.step_landings
        fruit = np.floor(self.landings / step) * step if step else self.landings
        gone = (np.maximum(fruit, 0.0) + self.experience) / self.experience
        if self.like.law == "power":
            left = gone**-self.like.exponent
        else:
            left = np.exp(-self.like.exponent * (gone - 1))
        air = np.exp(-self.floor) + (np.exp(-self.begun) - np.exp(-self.floor)) * left
        return -np.log(air)

    def changes_now(self) -> np.ndarray:
        parts = self.parts_now()
        return np.minimum(self.shape_bound(parts), parts[:, self.shapes :])

    def shape_bound(self, parts: np.ndarray) -> np.ndarray:
        slower = np.take_along_axis(parts[:, : self.shapes, None], self.pairs, axis=1).min(axis=2)
        return slower + self.log_ratio

    def clean_log(self, drill: np.ndarray) -> np.ndarray:
        """The log clean tempo of one drill each: [players]. Drills 0-6 re-land a shape, 7-18 are changes."""
        parts = self.parts_now()
        all_drills = np.concatenate([parts[:, : self.shapes], self.changes_now()], axis=1)
        return all_drills[np.arange(len(drill)), drill]

    def is_ready(self) -> np.ndarray:
        return (self.changes_now() >= self.needed).all(axis=1)

    def practise(
        self, who: np.ndarray, drill: np.ndarray, tempo_bpm: np.ndarray, landings: np.ndarray
    ) -> None:
        """So many landings of a drill each: all arrays [len(who)]."""
        shapes, log_tempo = self.shapes, np.log(tempo_bpm)
        parts = self.parts_now()
        alone = drill < shapes
        self._give(parts, who[alone], drill[alone], log_tempo[alone], landings[alone])
        who, drill, log_tempo, landings = (a[~alone] for a in (who, drill, log_tempo, landings))
        change = drill - shapes
        self._give(parts, who, drill, log_tempo, landings)
        for side in range(2):
            shape = self.pairs[who, change, side]
            as_alone = log_tempo - self.log_ratio[who, change]
            self._give(parts, who, shape, as_alone, landings * self.like.shape_share)
        if self.like.interference:
            own = self.named[who, change]
            shares = (self.named[who][:, :, :, None] == own[:, None, None, :]).any(axis=(2, 3))
            shares[np.arange(len(who)), change] = False
            self.landings[who, shapes:] -= self.like.interference * landings[:, None] * shares

    def sleep(self) -> None:
        """A night goes by."""
        self.landings *= 1 - self.like.forgetting

    def _give(
        self, parts: np.ndarray, who: np.ndarray, part: np.ndarray, log_tempo: np.ndarray, n: np.ndarray
    ) -> None:
        x = log_tempo - parts[who, part]
        worth = np.maximum(LEAST_WORTH, np.exp(-0.5 * ((x - EDGE) / EDGE_WIDTH) ** 2))
        if self.like.haste:
            worth = np.where(x > 0.1, -self.like.haste, worth)
        self.landings[who, part] += n * worth

    def drills(self, player: int) -> list[Drill]:
        alone = [Drill(Kind.RE_LAND, (name,)) for name in NAMES]
        return alone + [Drill(Kind.CHANGE, (NAMES[a], NAMES[b])) for a, b in self.pairs[player]]


@dataclass
class Log:
    """What a trainer knows of every player: beliefs on each drill, made of answers alone."""

    learners: Learners
    style: LadderStart
    pause_s: float = PAUSE_S

    def __post_init__(self) -> None:
        count, drills = self.learners.begun.shape
        rng = np.random.default_rng(self.learners.seed + 1)
        like = self.learners.like
        feet = PlayerKind("as assumed", lapse=like.lapse)
        self.hands = Players(np.zeros(count), self.learners.spread, rng, feet)
        self.names = [self.learners.drills(player) for player in range(count)]
        self.keys = [{drill.key: at for at, drill in enumerate(drills)} for drills in self.names]
        self.mass = np.repeat(np.repeat(ct.prior().mass[None, None], drills, 1), count, 0)
        self.kin = np.ones((count, drills, len(ct.LOG_TEMPOS)))
        self.takes = np.zeros((count, drills), np.int64)
        self.last_day = np.full((count, drills), -1)
        self.found: list[list[PastResult | None]] = [[None] * drills for _ in range(count)]
        self.day = 0
        self.clock_s = np.zeros(count)
        self._fresh()

    def _fresh(self) -> None:
        self.best = np.full(self.takes.shape, math.nan)
        self.before = np.full(self.takes.shape, math.nan)
        self.opened = np.zeros(self.takes.shape, bool)

    def next_day(self) -> None:
        self.day += 1
        self._fresh()

    def known(self, player: int) -> Known:
        """Evidence of the drills played, as `evidence_of` would make it."""
        known = {}
        for index in np.flatnonzero(self.takes[player]):
            drill, last = self.names[player][index], int(self.last_day[player, index])
            belief = ct.Posterior(self.mass[player, index].copy(), int(self.takes[player, index]))
            ago = self.day - last
            found = ct.past_result(belief, ago) if not ago else self._ended(player, index)
            if ago and not self.opened[player, index]:
                belief = ct.Posterior(ct.prior((found,)).mass.copy(), belief.takes)
            when = START + timedelta(days=last)
            known[drill.key] = Evidence(drill, belief, belief.takes, when, None, found)
        return known

    def _ended(self, player: int, index: int) -> PastResult:
        last = int(self.last_day[player, index])
        kept = self.found[player][index]
        if kept is None or kept.days_ago != last:
            belief = ct.Posterior(self.mass[player, index].copy())
            # days_ago holds the day itself until it is asked for.
            kept = ct.past_result(belief, last)
            self.found[player][index] = kept
        return replace(kept, days_ago=self.day - last)

    def open(self, player: int, index: int) -> None:
        """Before today's first take of a drill: the last result widened, or what relatives suggest."""
        if self.opened[player, index]:
            return
        if self.takes[player, index]:
            history: tuple[PastResult, ...] = (self._ended(player, index),)
            belief = ct.prior(history)
            self.before[player, index] = ct.estimate(belief).bpm
        else:
            history = history_of(self.names[player][index], self.known(player))
            belief = ct.prior()
            self.kin[player, index] = ct.prior(history).mass[0] / belief.mass[0]
        self.mass[player, index] = belief.mass
        self.opened[player, index] = True

    def take(self, who: np.ndarray, drill: np.ndarray, mode: np.ndarray, slow_bpm: np.ndarray) -> np.ndarray:
        """One take each; seconds spent. mode: "m", "p" or "s" a player; slow_bpm counts for the slow ones."""
        mass = ct.wander(self.mass[who, drill])
        best, before = self.best[who, drill], self.before[who, drill]
        tempo_bpm = slow_bpm.astype(float).copy()
        for letter, cautious in (("m", None), ("p", True)):
            these = np.flatnonzero(mode == letter)
            if not len(these):
                continue
            seen = mass[these] * self.kin[who[these], drill[these], None]
            seen /= seen.sum(axis=(1, 2), keepdims=True)
            failed = np.ones(len(these), bool) if cautious else ~np.isnan(best[these])
            start = self.style
            highest = np.minimum(highest_next(start, best[these], failed, before[these]), FASTEST_BPM)
            if letter == "m":
                chosen = choosing.most_telling(seen, choosing.table(shape_of(start)), highest)
            else:
                chosen = choosing.clean_at(seen, start.practise_chance, start.landings, highest)
            tempo_bpm[these] = chosen
        said, landings, played_s = self._play(who, drill, tempo_bpm)
        passed = said.passed
        self.learners.practise(who, drill, tempo_bpm, landings)
        heard = mode != "s"
        if self.style.speak_up:
            likelihood = likelihood_of(self.style, tempo_bpm, said)[heard]
        else:
            keep_log = KEEP_LOG[np.rint(tempo_bpm[heard]).astype(np.int64)]
            likelihood = ct.answer_likelihood(keep_log, self.style.landings, passed[heard], None)
        self.mass[who[heard], drill[heard]] = ct.weigh(mass[heard], likelihood)
        self.takes[who[heard], drill[heard]] += 1
        self.last_day[who[heard], drill[heard]] = self.day
        better = heard & passed
        self.best[who[better], drill[better]] = np.fmax(best[better], tempo_bpm[better])
        spent_s = played_s + self.pause_s
        self.clock_s[who] += spent_s
        return spent_s

    def _play(
        self, who: np.ndarray, drill: np.ndarray, tempo_bpm: np.ndarray
    ) -> tuple[Said, np.ndarray, np.ndarray]:
        """What was said, landings played, seconds of the take."""
        everyone = np.zeros(len(self.takes), np.int64)
        everyone[who] = drill
        self.hands.clean_log = self.learners.clean_log(everyone)
        said = self.hands.play(who, tempo_bpm, self.style)
        landings = np.clip(np.ceil(said.played_s * tempo_bpm / 60), 1, self.style.landings)
        return said, landings, self.style.count_in_beats * 60 / tempo_bpm + said.played_s
