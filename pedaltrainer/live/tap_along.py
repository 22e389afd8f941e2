"""Tapping along on the stage: the click is played, taps go in, and what a foot's trial says is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.piece import PieceAct, begun_book
from pedaltrainer.live.sounding import lead_s
from pedaltrainer.records.log import Log
from pedaltrainer.screen.view import StageView
from pedaltrainer.session.events import Event
from pedaltrainer.session.piece import KeepPiece, PiecePhase, PlayPiece, StopPiece
from pedaltrainer.session.replay import event_to_json, note
from pedaltrainer.session.tap_along import (
    COUNT_IN_BEATS,
    Aim,
    ShiftSound,
    TapSettings,
    TapState,
    ready,
    tap_settings_to_json,
    tap_step,
)
from pedaltrainer.showing.tap_along import tap_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.timing.click import ClickPlan
from pedaltrainer.timing.stream import ClickStream


@dataclass(slots=True)
class TapAlong(PieceAct):
    """Plays the click of a trial and hears the taps. shift_sound: takes the sound to be so late."""

    state: TapState
    shift_sound: Callable[[float], None] = lambda delay_s: None

    @property
    def is_fresh(self) -> bool:
        return self.state.phase is PiecePhase.READY

    def view(self, heard_s: float, around: Surroundings) -> StageView:
        return tap_view(self.state, heard_s, around)

    def _happen(self, event: Event) -> None:
        note(self.book.inputs, event_to_json(event))
        self.state, effects = tap_step(self.state, event)
        for effect in effects:
            match effect:
                case PlayPiece(start_s):
                    settings, rate = self.state.settings, self.stream.rate
                    plan = ClickPlan(
                        *(round(start_s * rate), settings.tempo_bpm, COUNT_IN_BEATS, settings.beats, 4),
                        offbeat=False,
                    )
                    self.stream.play(plan)
                case StopPiece():
                    self.stream.stop_plan()
                case ShiftSound(delay_s):
                    self.shift_sound(delay_s)
                case KeepPiece() if self.state.settings.aim == Aim.FOOT:
                    self.book.write()

    def finish(self) -> None:
        """Raises InputError when a foot's trial could not be kept."""
        if self.book.trouble:
            self.book.write()
        if self.book.trouble:
            raise InputError(f"{self.book.trouble} What you tapped is not kept.")


def open_tapping(
    log: Log, desk: Desk, settings: TapSettings, stream: ClickStream, foot: Foot, heard_s: float
) -> TapAlong:
    """A trial with the stage's stream, foot and log, ready to begin."""
    settings = replace(
        settings,
        rate=stream.rate,
        lead_s=max(settings.lead_s, lead_s(stream)),
        reckoned_s=stream.latency_s,
    )
    book = begun_book(log, desk.player, tap_settings_to_json(settings))
    return TapAlong(ready(settings, heard_s), stream, book, foot)
