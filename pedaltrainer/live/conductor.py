"""Where recogniser, session, click stream and log meet: one call a happening, from one thread.

The conductor owns no thread and reads no clock: it is told the time with
every call. In a real session one thread feeds it; a fast rehearsal feeds it
from a simulated clock; both run the same code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from pedaltrainer.errors import InputError
from pedaltrainer.live.act import Act
from pedaltrainer.live.band import Band
from pedaltrainer.live.book import Book, take_row
from pedaltrainer.live.foot import Foot
from pedaltrainer.pedals.midi.lights import Moment
from pedaltrainer.practice.take import Outcome
from pedaltrainer.practice.track import take_track
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.screen.view import StageView
from pedaltrainer.session.actions import rows_in_list
from pedaltrainer.session.effects import (
    Answered,
    CancelTake,
    CautionsSeen,
    CheckSound,
    Close,
    Effect,
    NoteTake,
    PlayRun,
    RecordTake,
    Run,
    SightChosen,
    SoundCue,
    StartTeaching,
    StopClick,
    StopTeaching,
    VolumeStep,
)
from pedaltrainer.session.events import EarHeard, Event, LogBack, LogLost, Noted, Opened, SoundChecked
from pedaltrainer.session.replay import event_to_json, note
from pedaltrainer.session.state import LISTS, Phase, State
from pedaltrainer.session.step import step
from pedaltrainer.showing.kept import kept_words
from pedaltrainer.showing.light import moment_of
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.timing.click import ClickPlan, Sound
from pedaltrainer.timing.clock_out import ClockOut
from pedaltrainer.timing.midi_clock import clock_of
from pedaltrainer.timing.stream import ClickStream
from pedaltrainer.timing.track import Track

if TYPE_CHECKING:
    # What the ear needs is slow to load; most sessions have none.
    from pedaltrainer.live.ear import Ear


@dataclass(slots=True)
class Conductor(Act):
    """Feeds the session and carries out its effects. Not for use from two threads at once.

    state is replaced whole at every event, so another thread may read it at
    any time. on_settings is told what the player chose once and for all, on_volume by how many steps the
    click is to be louder;
    on_take is called with each take row that is safely on disk.
    """

    state: State
    stream: ClickStream
    book: Book
    foot: Foot = field(default_factory=Foot)
    on_settings: Callable[[CautionsSeen | SightChosen], None] = lambda effect: None
    on_teaching: Callable[[bool], None] = lambda begins: None
    on_volume: Callable[[int], None] = lambda steps: None
    on_take: Callable[[TakeRow], None] = lambda row: None
    band: Band | None = None
    clock: ClockOut | None = None
    ear: Ear | None = None
    _writing: bool = False
    _told: int = 0
    """How many takes `on_take` was told of."""
    _unsaved: list[dict[str, Any]] = field(default_factory=list)
    _starts_s: dict[int, float] = field(default_factory=dict)
    """When the takes began that the ear listens to, in heard time."""
    _take_ids: dict[int, str] = field(default_factory=dict)

    def open(self, t_s: float) -> None:
        """The stage is open: the session begins."""
        self._happen(Opened(self.stream.heard_s(t_s)))

    @property
    def closed(self) -> bool:
        return self.state.phase is Phase.CLOSED

    @property
    def due_s(self) -> float | None:
        return self.state.due_s

    @property
    def moment(self) -> Moment | None:
        return moment_of(self.state)

    @property
    def plays(self) -> bool:
        return self.state.run is not None

    @property
    def is_fresh(self) -> bool:
        return self.state.serial == 0

    @property
    def listed(self) -> tuple[int, int]:
        return (rows_in_list(self.state) if self.state.phase in LISTS else 0, self.state.chosen)

    def view(self, heard_s: float, around: Surroundings) -> StageView:
        return present(self.state, heard_s, around)

    # --- events ---------------------------------------------------------------

    def _happen(self, event: Event) -> None:
        note(self._unsaved, event_to_json(event))
        self.state, effects = step(self.state, event)
        self.foot.in_list(self.state.phase in LISTS)
        for effect in effects:
            self._carry_out(effect)
        if not self.book.is_behind or self._writing:
            return
        if self.state.log_trouble is None:
            self._write()
        else:
            self.book.keep_aside()

    def told_by_ear(self, said: EarHeard | SoundChecked, t_s: float) -> None:
        if isinstance(said, EarHeard):
            said = replace(said, take_utc=self.book.utc(self._starts_s[said.serial]))
        self._happen(replace(said, heard_s=self.stream.heard_s(t_s)))

    def _write(self) -> None:
        """Write all that waits. When the log refuses, all is kept aside at once, and the session told."""
        self._writing = True
        try:
            self.book.write()
        except InputError as trouble:
            if self.state.log_trouble is None:
                self._happen(LogLost(self.state.now_s, str(trouble)))
                # With the take that this broke off, if there was one.
                self.book.keep_aside()
        else:
            if self.state.log_trouble is not None:
                self._happen(LogBack(self.state.now_s))
            for row in self.book.takes[self._told :]:
                self.on_take(row)
            self._told = len(self.book.takes)
        finally:
            self._writing = False

    def write_waiting(self) -> None:
        """Try again to write what the log refused before; takes as long as a lock is waited for."""
        if self.book.is_behind:
            self._write()

    def finish(self) -> None:
        """Write what still waits.

        Raises InputError, naming the file the session is kept in, when it cannot be written.
        """
        self._save_inputs()
        self._write()
        if self.state.log_trouble is not None:
            raise InputError(f"{self.state.log_trouble} {kept_words(self.book.kept_in)}")

    # --- effects --------------------------------------------------------------

    def _carry_out(self, effect: Effect) -> None:
        match effect:
            case PlayRun(run):
                plan = self.stream.play(click_plan(run, self.state.settings.rate))
                if self.band is not None:
                    start = round(run.start_s * self.state.settings.rate)
                    sounding = replace(track_of(run), capo=self.state.settings.capo)
                    self.band.accompany(sounding, start, plan, self.stream)
                if self.clock is not None:
                    rate = self.stream.rate
                    self.clock.follow(clock_of(track_of(run), rate), run.start_s, rate, self.stream)
                if self.ear is not None:
                    self._starts_s[run.serial] = run.start_s
                    self.ear.backing = self.band is not None and self.band.backing is not None
                    self.ear.listen_to(run, self.stream)
            case StopClick():
                self.stream.stop_plan()
                if self.ear is not None:
                    self.ear.stop()
                if self.clock is not None:
                    self.clock.stop()
            case SoundCue(cue):
                self.stream.sound(Sound(cue.value))
            case RecordTake(answered):
                self._record(answered)
            case CancelTake(serial, reason):
                self._cancel(serial, reason)
            case NoteTake(run, note):
                self._note_take(run, note)
            case CheckSound():
                if self.ear is not None:
                    self.ear.check(self.stream)
            case VolumeStep(steps):
                self.on_volume(steps)
            case CautionsSeen() | SightChosen():
                self.on_settings(effect)
            case StartTeaching() | StopTeaching():
                self.on_teaching(isinstance(effect, StartTeaching))
            case Close():
                pass

    def _record(self, answered: Answered) -> None:
        row = take_row(answered, self.state, self.book)
        self._take_ids[answered.run.serial] = row.id
        if self.ear is not None:
            self.ear.answered(answered.run, answered.take.outcome is Outcome.PASS_)
        self.book.takes.append(row)
        self._save_inputs()

    def _note_take(self, run: Run, note: str) -> None:
        now_s, utc = self.state.now_s, self.book.utc
        noted = Noted(now_s, utc(now_s), utc(run.start_s), run.drill.key, run.tempo_bpm, str(note))
        self._unsaved.append(event_to_json(noted))
        self._save_inputs()
        self.book.hurries = True

    def _cancel(self, serial: int, reason: str) -> None:
        self.book.cancel(self._take_ids[serial], self.book.utc(self.state.now_s), reason)
        if self.ear is not None:
            self.ear.taken_back(serial)
        self._save_inputs()

    def _save_inputs(self) -> None:
        self.book.add_inputs(self._unsaved)
        self._unsaved.clear()


def track_of(run: Run) -> Track:
    """A take as a track: its bars, and the chords where they land."""
    return take_track(run.drill, run.tempo_bpm, run.landings, run.count_in_beats, run.metre)


def click_plan(run: Run, rate: int) -> ClickPlan:
    """The clicks of a take, on the samples of the stream."""
    return ClickPlan(
        start_sample=round(run.start_s * rate),
        tempo_bpm=run.tempo_bpm,
        count_in_beats=run.count_in_beats,
        beats=run.beats,
        beats_per_bar=run.metre.beats,
        lands_on=tuple(run.drill.landing_beat(landing) for landing in range(run.landings)),
        lift=run.drill.lift,
    )
