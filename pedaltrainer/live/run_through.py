"""A run-through on the stage: the foot's events go in, its effects are carried out, its passes are kept."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live.band import Band
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.piece import PieceAct, begun_book
from pedaltrainer.live.sounding import lead_s
from pedaltrainer.records.log import Log
from pedaltrainer.screen.view import StageView
from pedaltrainer.session.events import Event
from pedaltrainer.session.piece import KeepPiece, PlayPiece, StopPiece
from pedaltrainer.session.replay import event_to_json, note
from pedaltrainer.session.run_through import (
    Review,
    RunSettings,
    RunState,
    review_to_json,
    run_settings_to_json,
    run_step,
)
from pedaltrainer.showing.run_through import run_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.timing.clock_out import ClockOut
from pedaltrainer.timing.midi_clock import clock_of
from pedaltrainer.timing.stream import ClickStream
from pedaltrainer.timing.track import click_samples


@dataclass(slots=True)
class RunThrough(PieceAct):
    """Plays a song's part, and marks what the foot says."""

    state: RunState
    band: Band | None = None
    clock: ClockOut | None = None
    _kept: bool = False

    @property
    def is_fresh(self) -> bool:
        return not self.state.passes

    def view(self, heard_s: float, around: Surroundings) -> StageView:
        trouble = (self.book.trouble,) if self.book.trouble else ()
        return run_view(self.state, heard_s, replace(around, notices=(*trouble, *around.notices)))

    def _happen(self, event: Event) -> None:
        note(self.book.inputs, event_to_json(event))
        self.state, effects = run_step(self.state, event)
        for effect in effects:
            match effect:
                case PlayPiece(start_s):
                    start = round(start_s * self.stream.rate)
                    track = self.state.settings.one_pass.track
                    clicks = click_samples(track, self.stream.rate)
                    plan = self.stream.play_clicks([(start + sample, sound) for sample, sound in clicks])
                    if self.band is not None:
                        self.band.accompany(track, start, plan, self.stream)
                    if self.clock is not None:
                        rate, before = self.stream.rate, self.state.settings.sixteenths_before
                        self.clock.follow(clock_of(track, rate, before), start_s, rate, self.stream)
                case StopPiece():
                    self.stream.stop_plan()
                    if self.clock is not None:
                        self.clock.stop()
                case KeepPiece():
                    self._kept = True
                    self.book.write()

    @property
    def played_s(self) -> float:
        """How long was played in it."""
        return sum(played.until_s for played in self.state.passes)

    def finish(self) -> None:
        """Write what still waits. Raises InputError when it cannot be written."""
        if self._kept:
            self.book.write()
        if self.book.trouble:
            raise InputError(f"{self.book.trouble} The run-through is not kept.")

    def review(self, number: int, review: Review) -> None:
        """Keep what the player made of a pass afterwards. Raises InputError when it cannot be written."""
        self.book.inputs.append(review_to_json(number, review, self.state.now_s))
        self.finish()


def open_run(
    log: Log, desk: Desk, settings: RunSettings, stream: ClickStream, foot: Foot, heard_s: float
) -> RunThrough:
    """A run-through with the stage's stream, foot and log, ready to begin."""
    settings = replace(settings, rate=stream.rate, lead_s=max(settings.lead_s, lead_s(stream)))
    book = begun_book(log, desk.player, run_settings_to_json(settings))
    return RunThrough(RunState(settings, now_s=heard_s), stream, book, foot)
