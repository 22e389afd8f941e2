"""A made-up player at the pedal: for the demo, the end-to-end test and the soak.

Pure: what the player does in a moment depends on the state and the seed
alone, never on when it was asked. So a rehearsal in real time and one on a
simulated clock press the same switch at the same heard seconds.

The chance of a clean take falls with the logarithm of the tempo, as a
logistic that passes four in five at the player's clean tempo; every landing
of a take is equally likely to be the one that goes wrong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.pedals.events import GestureKind
from pedaltrainer.practice.clean_tempo import CLEAN_LANDINGS, CLEAN_LOGIT
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.rehearsal.learner import Learner
from pedaltrainer.session.effects import Run
from pedaltrainer.session.state import Phase, State

LAPSE_CHANCE = 0.03
REACTION_S = (0.250, 0.080)
"""Mean and standard deviation of how late the foot speaks up after a miss."""
CLEAR_OF_THE_EDGE_S = 0.01
"""A made-up press never lands closer than this to where it would count for another landing."""


@dataclass(frozen=True, slots=True)
class MadeUpPlayer:
    """A player whose true clean tempo is known: skill_bpm for every drill, or what a learner's hands can.

    spread: of the logistic, in natural log of the tempo.
    """

    skill_bpm: float
    seed: int = 0
    spread: float = 0.05
    learner: Learner | None = None

    def true_bpm(self, drill: Drill) -> float:
        """The true clean tempo of a drill."""
        return self.skill_bpm if self.learner is None else self.learner.skill_bpm(drill)

    def clean_take_chance(self, tempo_bpm: float, drill: Drill) -> float:
        """The chance that a take of 8 landings comes out clean at a tempo; 0.8 at the true clean tempo."""
        z = (math.log(self.true_bpm(drill)) - math.log(tempo_bpm)) / self.spread + CLEAN_LOGIT
        return 1 / (1 + math.exp(-max(min(z, 500), -500)))


@dataclass(frozen=True, slots=True)
class PlannedEdge:
    """A way down or up of the made-up player's switch, at a heard second."""

    heard_s: float
    down: bool


def presses(player: MadeUpPlayer, state: State) -> tuple[PlannedEdge, ...]:
    """What the player's foot does about a phase that has just begun, in order of time."""
    chance = np.random.default_rng((player.seed, state.serial, list(Phase).index(state.phase)))
    match state.phase:
        case Phase.TAKE if state.settings.answer_style is AnswerStyle.SPEAK_UP:
            return _speak_up(player, state, chance)
        case Phase.ASKING:
            kind = GestureKind.DOUBLE if first_miss(player, state) else GestureKind.TAP
            if chance.random() < LAPSE_CHANCE:
                kind = GestureKind.TAP if kind is GestureKind.DOUBLE else GestureKind.DOUBLE
            return _gesture(kind, state.now_s + chance.uniform(0.5, 0.9))
        case Phase.BREATH if state.may_count and _misses(player, state.answers[-1].run) > 1:
            return _gesture(GestureKind.TAP, state.now_s + chance.uniform(0.2, 0.4))
        case (
            Phase.CAUTIONS
            | Phase.PLAN
            | Phase.READY
            | Phase.DRILL_DONE
            | Phase.REST_OFFERED
            | Phase.STILL_THERE
        ):
            return _gesture(GestureKind.TAP, state.now_s + 1.0)
        case Phase.FINISHED:
            # Late enough to be no late answer.
            return _gesture(GestureKind.TAP, state.now_s + state.settings.grace_s + 1.0)
        case Phase.SCREEN_SIZE | Phase.DISTANCE | Phase.PAUSED:
            return _gesture(GestureKind.HOLD, state.now_s + 2.0)
    return ()


def first_miss(player: MadeUpPlayer, state: State) -> int | None:
    """The 1-based landing that goes wrong in the take that is on, None when it is clean."""
    if state.run is None:
        return None
    went_wrong = _went_wrong(player, state.run)
    return int(np.argmax(went_wrong)) + 1 if went_wrong.any() else None


def _misses(player: MadeUpPlayer, run: Run) -> int:
    return int(_went_wrong(player, run).sum())


def _went_wrong(player: MadeUpPlayer, run: Run) -> NDArray[np.bool_]:
    """Which landings of a take go wrong."""
    chance = np.random.default_rng((player.seed, run.serial))
    clean = player.clean_take_chance(run.tempo_bpm, run.drill)
    landing_chance = clean ** (1 / CLEAN_LANDINGS)
    wrong: NDArray[np.bool_] = chance.random(run.landings) >= landing_chance
    return wrong


def _speak_up(player: MadeUpPlayer, state: State, chance: np.random.Generator) -> tuple[PlannedEdge, ...]:
    missed = first_miss(player, state)
    if missed is None or state.run is None:
        return ()
    reaction_s = max(0.1, chance.normal(*REACTION_S))
    edge_s = state.settings.taken_off_s(state.run.drill, state.run.tempo_bpm)
    off_the_edge_s = reaction_s - edge_s
    if abs(off_the_edge_s) < CLEAR_OF_THE_EDGE_S:
        reaction_s = edge_s + math.copysign(CLEAR_OF_THE_EDGE_S, off_the_edge_s)
    landing_s = state.run.beat_s(float(state.run.drill.landing_beat(missed - 1)))
    return _gesture(GestureKind.TAP, landing_s + reaction_s)


def _gesture(kind: GestureKind, at_s: float) -> tuple[PlannedEdge, ...]:
    down_up_s = {
        GestureKind.TAP: ((0.0, 0.09),),
        GestureKind.DOUBLE: ((0.0, 0.08), (0.18, 0.26)),
        GestureKind.HOLD: ((0.0, 0.9),),
    }[kind]
    return tuple(
        PlannedEdge(at_s + offset, down)
        for pair in down_up_s
        for offset, down in zip(pair, (True, False), strict=True)
    )
