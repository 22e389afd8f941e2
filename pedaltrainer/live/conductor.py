"""Where recogniser, session, click stream and log meet: one call a happening, from one thread.

The conductor owns no thread and reads no clock: it is told the time with
every call. In a real session one thread feeds it; a fast rehearsal feeds it
from a simulated clock; both run the same code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from pedaltrainer.errors import InputError
from pedaltrainer.live.book import Book, take_row
from pedaltrainer.pedals.bindings import KEYBOARD, Bindings, BoundEdge
from pedaltrainer.pedals.events import ControlGiven, InputChange, InputStatus
from pedaltrainer.pedals.recogniser import Output, Recogniser
from pedaltrainer.pedals.ways import Said, said
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.session.effects import (
    Answered,
    CancelTake,
    CautionsSeen,
    Close,
    Effect,
    PlayRun,
    RecordTake,
    Run,
    SightChosen,
    SoundCue,
    StartTeaching,
    StopClick,
    StopTeaching,
)
from pedaltrainer.session.events import (
    Due,
    Event,
    Given,
    InputBack,
    InputLost,
    LogBack,
    LogLost,
    Opened,
    Pressed,
    Shut,
    SoundLost,
    Taught,
)
from pedaltrainer.session.replay import event_to_json
from pedaltrainer.session.state import LISTS, Phase, State
from pedaltrainer.session.step import step
from pedaltrainer.showing.kept import kept_words
from pedaltrainer.timing.click import ClickPlan, Sound
from pedaltrainer.timing.stream import ClickStream


@dataclass(slots=True)
class Conductor:
    """Feeds the session and carries out its effects. Not for use from two threads at once.

    state is replaced whole at every event, so another thread may read it at
    any time. on_settings is told what the player chose once and for all;
    on_take is called with each take row that is safely on disk.
    """

    state: State
    stream: ClickStream
    book: Book
    recogniser: Recogniser = field(default_factory=Recogniser)
    inputs: tuple[str, ...] = ()
    """The pedals that are live, in the order in which they came."""
    bindings: Bindings | None = None
    """The rules that hold now: they tell whether a pedal can choose from a list."""
    pressed_last: BoundEdge | None = None
    """The last press of a switch that can answer: its device and switch lead (`pedals.ways`)."""
    on_settings: Callable[[CautionsSeen | SightChosen], None] = lambda effect: None
    on_teaching: Callable[[bool], None] = lambda begins: None
    on_take: Callable[[TakeRow], None] = lambda row: None
    _writing: bool = False
    _told: int = 0
    """How many takes `on_take` was told of."""
    _unsaved: list[dict[str, object]] = field(default_factory=list)
    _take_ids: dict[int, str] = field(default_factory=dict)

    def open(self, t_s: float) -> None:
        """The stage is open: the session begins."""
        self._happen(Opened(self.stream.heard_s(t_s)))

    @property
    def closed(self) -> bool:
        return self.state.phase is Phase.CLOSED

    def due_t_s(self) -> float | None:
        """When something is due by itself, on the clock of presses; None for never."""
        dues = [self.recogniser.due_s]
        if self.state.due_s is not None:
            dues.append(self.stream.t_s(self.state.due_s))
        return min((due for due in dues if due is not None), default=None)

    def edge(self, edge: BoundEdge) -> None:
        """A switch went down or came up."""
        self.advance(edge.t_s, before_an_edge=True)
        self.recogniser, outputs = self.recogniser.feed(edge)
        self._outputs(outputs)

    def advance(self, t_s: float, before_an_edge: bool = False) -> None:
        """Time has come to t_s. Feed every edge that has arrived before telling the time."""
        if not before_an_edge:
            self.recogniser, outputs = self.recogniser.tick(t_s)
            self._outputs(outputs)
        # A due moment that an edge's own time has passed comes before that edge.
        while self.state.due_s is not None and self.state.due_s <= self.stream.heard_s(t_s):
            self._happen(Due(self.state.due_s))

    def input_changed(self, status: InputStatus) -> None:
        """The pedal came, went or came back."""
        heard_s = self.stream.heard_s(status.t_s)
        match status.change:
            case InputChange.FOUND:
                self.inputs = (*(name for name in self.inputs if name != status.device), status.device)
            case InputChange.LOST:
                self.recogniser = self.recogniser.forget(status.device)
                self.inputs = tuple(name for name in self.inputs if name != status.device)
                in_use = not self.inputs or self._device_pressed_last == status.device
                self._happen(InputLost(heard_s, status.device, in_use))
            case InputChange.BACK:
                self.inputs = (*self.inputs, status.device)
                self._happen(InputBack(heard_s, status.device))
            case InputChange.NONE:
                pass

    @property
    def input_name(self) -> str:
        """What the stage calls the foot: the input pressed last, else the first one; empty for the keys."""
        if self._device_pressed_last in self.inputs:
            return self._device_pressed_last
        return self.inputs[0] if self.inputs else ""

    @property
    def said(self) -> Said | None:
        """What the foot on the stage can say: the pedal pressed last, else the first, else the space bar."""
        pressed = self.pressed_last
        if pressed is not None and pressed.device in (self.input_name, KEYBOARD):
            return said(self.bindings or Bindings((pressed.rule,)), pressed.device, pressed.switch)
        if self.bindings is None:
            return None
        device = self.input_name
        return said(self.bindings, device or KEYBOARD, "" if device else "key space")

    @property
    def _device_pressed_last(self) -> str:
        return self.pressed_last.device if self.pressed_last else ""

    def taught(self, words: str, t_s: float) -> None:
        """The lesson for a pedal is over."""
        self._happen(Taught(self.stream.heard_s(t_s), words))

    def sound_lost(self, stream: ClickStream, t_s: float, words: str) -> None:
        """The sound device stopped for good: go on with another stream, silently."""
        self.stream = stream
        self._happen(SoundLost(stream.heard_s(t_s), words))

    def shut(self, t_s: float) -> None:
        """The window was closed from outside."""
        if not self.closed:
            self._happen(Shut(self.stream.heard_s(t_s)))

    # --- events ---------------------------------------------------------------

    def _outputs(self, outputs: tuple[Output, ...]) -> None:
        for output in outputs:
            match output:
                case BoundEdge():
                    self._pressed(output)
                case ControlGiven():
                    self._happen(
                        Given(
                            heard_s=self.stream.heard_s(output.t_s),
                            pressed_heard_s=self.stream.heard_s(output.pressed_s),
                            pressed_s=output.pressed_s,
                            control=output.control,
                            judge=output.judge,
                        )
                    )

    def _pressed(self, edge: BoundEdge) -> None:
        if edge.rule.answers:
            self.pressed_last = edge
        self._happen(
            Pressed(
                heard_s=self.stream.heard_s(edge.t_s),
                t_s=edge.t_s,
                judge=edge.rule.judge,
                answers=edge.rule.answers,
                known_within_s=edge.rule.known_within_s,
                dwells=not self._can_choose(edge),
            )
        )

    def _can_choose(self, edge: BoundEdge) -> bool:
        return said(self.bindings or Bindings((edge.rule,)), edge.device, edge.switch).chooses

    def _happen(self, event: Event) -> None:
        self._unsaved.append(event_to_json(event))
        self.state, effects = step(self.state, event)
        in_list = self.state.phase in LISTS
        if in_list is not self.recogniser.in_list:
            self.recogniser = replace(self.recogniser, in_list=in_list)
        for effect in effects:
            self._carry_out(effect)
        if not self.book.is_behind or self._writing:
            return
        if self.state.log_trouble is None:
            self._write()
        else:
            self.book.keep_aside()

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
                self.stream.play(click_plan(run, self.state.settings.rate))
            case StopClick():
                self.stream.stop_plan()
            case SoundCue(cue):
                self.stream.sound(Sound(cue.value))
            case RecordTake(answered):
                self._record(answered)
            case CancelTake(serial, reason):
                self._cancel(serial, reason)
            case CautionsSeen() | SightChosen():
                self.on_settings(effect)
            case StartTeaching() | StopTeaching():
                self.on_teaching(isinstance(effect, StartTeaching))
            case Close():
                pass

    def _record(self, answered: Answered) -> None:
        row = take_row(answered, self.state, self.book)
        self._take_ids[answered.run.serial] = row.id
        self.book.takes.append(row)
        self._save_inputs()

    def _cancel(self, serial: int, reason: str) -> None:
        self.book.cancel(self._take_ids[serial], self.book.utc(self.state.now_s), reason)
        self._save_inputs()

    def _save_inputs(self) -> None:
        self.book.add_inputs(self._unsaved)
        self._unsaved.clear()


def click_plan(run: Run, rate: int) -> ClickPlan:
    """The clicks of a take, on the samples of the stream."""
    return ClickPlan(
        start_sample=round(run.start_s * rate),
        tempo_bpm=run.tempo_bpm,
        count_in_beats=run.count_in_beats,
        beats=run.beats,
        beats_per_bar=run.beats_per_bar,
        lands_on=tuple(run.drill.landing_beat(landing) for landing in range(run.landings)),
        lift=run.drill.lift,
    )
