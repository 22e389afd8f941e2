"""Tapping along with a click, or watching the plank go with it. Pure: (state, event) -> (state, effects).

Three aims: how late the sound comes, by foot and by eye, and how steady the foot is. By foot every press is a
tap, and nothing is judged until all beats have gone by. By eye *yes* says that the plank comes too soon, *no*
too late, and *stop* that it goes with the click.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.tapping_along import BEATS, EARLIEST_S, TEMPO_BPM, asynchronies
from pedaltrainer.session.events import Due, Event, Given, Pressed, Shut, SoundLost, SoundStumbled
from pedaltrainer.session.piece import (
    KeepPiece,
    PiecePhase,
    PieceState,
    PlayPiece,
    StopPiece,
    on_a_pedal,
    over,
    with_reason,
)
from pedaltrainer.session.replay import event_from_json
from pedaltrainer.timing.grid import nearest_sample_s

TAP_ALONG = "tap_along"
"""The key of a session's settings in the log by which tapping along is told from other sessions."""
COUNT_IN_BEATS = 4
BEATS_WATCHED = 120
RINGS_S = 0.6
SHIFT_S = 0.01
MOST_DELAY_S = 1.0


class Aim(StrEnum):
    DELAY = "delay"
    FOOT = "foot"
    EYE = "eye"


@dataclass(frozen=True, slots=True)
class TapSettings:
    """What it is run with. Kept in the log. reckoned_s: how late the sound was taken to reach the ear."""

    aim: str
    reckoned_s: float
    tempo_bpm: int = TEMPO_BPM
    beats: int = BEATS
    lead_s: float = 0.3
    rate: int = 48_000

    @property
    def beat_s(self) -> float:
        return 60 / self.tempo_bpm


@dataclass(frozen=True, slots=True)
class TapState(PieceState):
    """Everything it knows. taps: the heard second of each press and the raw time by which it is known.
    delay_s: how late the sound is taken to be by now."""

    settings: TapSettings
    delay_s: float
    taps: tuple[tuple[float, float], ...] = ()
    whole: bool = False
    stumbled: bool = False

    @property
    def beats_s(self) -> tuple[float, ...]:
        """The heard second of each beat after the count-in."""
        settings = self.settings
        first = self.start_s + COUNT_IN_BEATS * settings.beat_s
        return tuple(first + beat * settings.beat_s for beat in range(settings.beats))

    @property
    def late_s(self) -> tuple[float, ...]:
        """The asynchronies, of a foot whose sound is known by the nearest beat."""
        by_foot = self.settings.aim == Aim.FOOT
        earliest_s = -self.settings.beat_s / 2 if by_foot else EARLIEST_S
        return asynchronies(self.beats_s, [heard_s for heard_s, _ in self.taps], earliest_s)


@dataclass(frozen=True, slots=True)
class ShiftSound:
    """Take the sound to be so late from now on."""

    delay_s: float


TapEffect = PlayPiece | StopPiece | KeepPiece | ShiftSound
TapStep = tuple[TapState, tuple[TapEffect, ...]]


def ready(settings: TapSettings, now_s: float = 0.0) -> TapState:
    return TapState(settings, settings.reckoned_s, now_s=now_s)


def tap_step(state: TapState, event: Event) -> TapStep:
    """The state after one event, and what the world is to do about it."""
    state = replace(state, now_s=max(state.now_s, event.heard_s))
    playing = state.phase is PiecePhase.PLAYING
    match event:
        case Pressed(answers=True) if playing and state.settings.aim != Aim.EYE:
            return replace(state, taps=(*state.taps, (event.heard_s, event.t_s))), ()
        case Given(control=control):
            return _given(state, event, control)
        case Due() if state.due_s is not None and state.now_s >= state.due_s:
            return over(replace(state, whole=True)), (KeepPiece(),)
        case SoundStumbled(at_s=at_s) if playing and state.settings.aim != Aim.EYE and at_s >= state.start_s:
            return _stopped(replace(state, stumbled=True))
        case Shut() | SoundLost():
            return _stopped(with_reason(state, event))
    return on_a_pedal(state, event), ()


def _given(state: TapState, given: Given, control: Control) -> TapStep:
    if state.phase is PiecePhase.READY:
        return _begin(state) if control in {Control.PASS_, Control.NEXT} else _stopped(state)
    if state.phase is not PiecePhase.PLAYING:
        return state, ()
    if control in {Control.PAUSE, Control.QUIT, Control.NEXT}:
        is_eye = state.settings.aim == Aim.EYE
        return _stopped(replace(state, whole=is_eye and control is not Control.QUIT))
    if state.settings.aim == Aim.EYE and control in {Control.PASS_, Control.FAIL}:
        shift_s = SHIFT_S if control is Control.PASS_ else -SHIFT_S
        state = replace(state, delay_s=min(max(round(state.delay_s + shift_s, 4), 0.0), MOST_DELAY_S))
        return state, (ShiftSound(state.delay_s),)
    return state, ()


def _begin(state: TapState) -> TapStep:
    settings = state.settings
    start_s = nearest_sample_s(state.now_s + settings.lead_s, settings.rate)
    end_s = start_s + (COUNT_IN_BEATS + settings.beats) * settings.beat_s + RINGS_S
    state = replace(state, phase=PiecePhase.PLAYING, start_s=start_s, due_s=end_s)
    return state, (PlayPiece(start_s),)


def _stopped(state: TapState) -> TapStep:
    playing = state.phase is PiecePhase.PLAYING
    return over(state), (StopPiece(),) if playing else ()


# --- as records ----------------------------------------------------------------------------


def tap_settings_to_json(settings: TapSettings) -> dict[str, Any]:
    return {TAP_ALONG: asdict(settings)}


def tap_settings_from_json(record: Mapping[str, Any]) -> TapSettings | None:
    """The settings of a record; None for those of another session. Raises InputError for broken ones."""
    if TAP_ALONG not in record:
        return None
    try:
        settings = TapSettings(**record[TAP_ALONG])
        fits = Aim(settings.aim) and settings.tempo_bpm > 0 and 1 < settings.beats <= BEATS_WATCHED
        if not fits or json.loads(json.dumps(settings.reckoned_s)) < 0:
            raise ValueError(settings)
    except (TypeError, ValueError):
        raise InputError("The settings in the log are not those of tapping along.") from None
    return settings


def tap_replay(settings: TapSettings, inputs: Iterable[Mapping[str, Any]]) -> TapState:
    """How it ended, run again from its inputs. Raises InputError for an input that is none."""
    state = ready(settings)
    for record in inputs:
        state, _ = tap_step(state, event_from_json(record))
    return state
