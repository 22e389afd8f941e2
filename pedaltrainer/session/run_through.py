"""A run-through on the stage: ready, played, over. Pure: (state, event) -> (state, effects).

It never stops for a miss. Whatever the foot does while the song plays is a press at once, and a press says
"there": its bar is flagged. Only a hold says something else: it stops, and the press that it began with is no
mark. What is done with the flags afterwards is home's affair.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.run_through import Pass, bar_meant, pass_of, with_mark
from pedaltrainer.practice.take import REACTION_S
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
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song
from pedaltrainer.timing.grid import nearest_sample_s

RUN_THROUGH = "run_through"
"""The key of a session's settings in the log by which a run-through is told from a session of drills."""
RINGS_S = 1.0
"""How long the last chord may ring, and be said to have missed."""
PRESS_SEEN_S = 2.0


@dataclass(frozen=True, slots=True)
class RunSettings:
    """What a run-through is run with. Kept in the log, with the chart itself: a chart that is edited later
    changes nothing.

    first, end: bars of the song written out. per_cent: of its tempo. loop: over and over until it is stopped.
    histories: what was known before of changes in it, by the drill's key.
    """

    chart: str
    per_cent: int = 100
    first: int = 0
    end: int | None = None
    loop: bool = False
    reaction_s: float = REACTION_S
    lead_s: float = 0.3
    rate: int = 48_000
    histories: tuple[tuple[str, PastResult], ...] = ()

    @property
    def known(self) -> dict[str, PastResult]:
        return dict(self.histories)

    @property
    def song(self) -> Song:
        return _song_of(self.chart)

    @property
    def sixteenths_before(self) -> int:
        """How many sixteenths of the song lie before the part that is played."""
        return int(16 * sum(bar.beats * bar.beat_unit for bar in self.song.bars[: self.first]))

    @property
    def one_pass(self) -> Pass:
        return _pass_of(self.chart, self.per_cent, self.first, self.end)


@lru_cache(maxsize=32)
def _song_of(chart: str) -> Song:
    return parse_chart(chart, "the song")


@lru_cache(maxsize=32)
def _pass_of(chart: str, per_cent: int, first: int, end: int | None) -> Pass:
    """By the chart, since a text is told from another sooner than a song is."""
    return pass_of(_song_of(chart), per_cent, first, end)


@dataclass(frozen=True, slots=True)
class PassPlayed:
    """A pass that is over. marks: presses, in seconds from its first beat; until_s: how far it went."""

    marks: tuple[float, ...]
    until_s: float
    whole: bool


@dataclass(frozen=True, slots=True)
class RunState(PieceState):
    """Everything a run-through knows."""

    settings: RunSettings
    marks: tuple[float, ...] = ()
    before_last: tuple[float, ...] = ()
    """The marks before the press that arrived at last_t_s: a hold takes that back."""
    last_t_s: float | None = None
    flagged_s: float | None = None
    """When a bar was flagged last."""
    passes: tuple[PassPlayed, ...] = ()
    stumbles: int = 0
    """How often the sound broke while it played."""

    def at_s(self, heard_s: float) -> float:
        """Seconds from the first beat after the count-in."""
        return heard_s - self.start_s - self.settings.one_pass.counted_in_s

    @property
    def flags(self) -> frozenset[int]:
        """The bars of the pass that are flagged."""
        reaction_s = self.settings.reaction_s
        return frozenset(bar_meant(self.settings.one_pass, mark, reaction_s) for mark in self.marks)


RunEffect = PlayPiece | StopPiece | KeepPiece
RunStep = tuple[RunState, tuple[RunEffect, ...]]


def run_step(state: RunState, event: Event) -> RunStep:
    """The state after one event, and what the world is to do about it."""
    state = replace(state, now_s=max(state.now_s, event.heard_s))
    match event:
        case Pressed(answers=True) if state.phase is PiecePhase.PLAYING:
            return _pressed(state, event), ()
        case Given(control=control):
            return _given(state, event, control)
        case Due() if state.due_s is not None and state.now_s >= state.due_s:
            return _over(state, whole=True)
        case Shut() | SoundLost():
            return _stopped(with_reason(state, event))
        case SoundStumbled() if state.phase is PiecePhase.PLAYING:
            return replace(state, stumbles=state.stumbles + 1), ()
    return on_a_pedal(state, event), ()


def _pressed(state: RunState, pressed: Pressed) -> RunState:
    at_s = state.at_s(pressed.heard_s)
    # Nothing has landed in the count-in.
    marks = with_mark(state.marks, at_s) if at_s >= 0 else state.marks
    flagged_s = pressed.heard_s if marks != state.marks else state.flagged_s
    return replace(state, before_last=state.marks, marks=marks, last_t_s=pressed.t_s, flagged_s=flagged_s)


def _given(state: RunState, given: Given, control: Control) -> RunStep:
    if state.phase is PiecePhase.READY:
        if control in {Control.PASS_, Control.NEXT}:
            return _begin(state)
        return over(state), ()
    if state.phase is PiecePhase.PLAYING and control in {Control.PAUSE, Control.QUIT, Control.NEXT}:
        if given.pressed_s == state.last_t_s:
            state = replace(state, marks=state.before_last)
        return _stopped(state)
    return state, ()


def _begin(state: RunState) -> RunStep:
    settings = state.settings
    start_s = nearest_sample_s(state.now_s + settings.lead_s, settings.rate)
    end_s = start_s + float(settings.one_pass.track.seconds) + RINGS_S
    state = replace(
        state, phase=PiecePhase.PLAYING, start_s=start_s, due_s=end_s, marks=(), before_last=(), last_t_s=None
    )
    return state, (PlayPiece(start_s),)


def _stopped(state: RunState) -> RunStep:
    if state.phase is not PiecePhase.PLAYING:
        return over(state), ()
    state, effects = _over(state, whole=False)
    return state, (StopPiece(), *effects)


def _over(state: RunState, whole: bool) -> RunStep:
    until_s = min(state.at_s(state.now_s), state.settings.one_pass.end_s)
    if until_s <= 0:
        return over(state), ()
    played = PassPlayed(state.marks, until_s, whole)
    state = over(replace(state, passes=(*state.passes, played)))
    if whole and state.settings.loop:
        state, begun = _begin(state)
        return state, (KeepPiece(), *begun)
    return state, (KeepPiece(),)


# --- as records ----------------------------------------------------------------------------


def run_settings_to_json(settings: RunSettings) -> dict[str, Any]:
    """The settings as plain data, under the key that tells them from those of drills."""
    as_read: dict[str, Any] = json.loads(json.dumps({RUN_THROUGH: asdict(settings)}))
    return as_read


def run_settings_from_json(record: Mapping[str, Any]) -> RunSettings | None:
    """The settings of a record; None for those of another session. Raises InputError for broken ones."""
    if RUN_THROUGH not in record:
        return None
    try:
        settings = RunSettings(**record[RUN_THROUGH])
        told: Any = settings.histories
        found = [(str(key), PastResult(**past)) for key, past in told]
        settings = replace(settings, histories=tuple(pair for pair in found if pair[1].can_be))
        _ = settings.one_pass
    except (TypeError, ValueError, InputError, IndexError, AttributeError):
        raise InputError("The settings in the log are not those of a run-through.") from None
    return settings


def run_replay(settings: RunSettings, inputs: Iterable[Mapping[str, Any]]) -> Iterator[RunState]:
    """The states of a run-through, run again from its inputs. Raises InputError for an input that is none."""
    state = RunState(settings)
    for record in inputs:
        if record.get("event") == REVIEWED:
            continue
        state, _ = run_step(state, event_from_json(record))
        yield state


REVIEWED = "RunReviewed"
"""An input that says what the player made of a pass afterwards."""


@dataclass(frozen=True, slots=True)
class Review:
    """What the player said of a pass afterwards: the marks that were none, and whether all else was clean."""

    dropped: tuple[int, ...] = ()
    rest_clean: bool = False


def review_to_json(pass_number: int, review: Review, heard_s: float) -> dict[str, Any]:
    return {
        "event": REVIEWED,
        "heard_s": heard_s,
        "pass": pass_number,
        "dropped": list(review.dropped),
        "rest_clean": review.rest_clean,
    }


def reviews_in(inputs: Iterable[Mapping[str, Any]]) -> dict[int, Review]:
    """The last review of each pass, by its 0-based number; what cannot be read is passed over."""
    found: dict[int, Review] = {}
    for record in inputs:
        if record.get("event") != REVIEWED:
            continue
        number, dropped = record.get("pass"), record.get("dropped")
        if type(number) is int and isinstance(dropped, list) and all(type(one) is int for one in dropped):
            found[number] = Review(tuple(dropped), record.get("rest_clean") is True)
    return found
