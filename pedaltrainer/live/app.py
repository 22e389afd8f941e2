"""The only place where devices, threads, the clock and the log meet.

Two threads matter. The *decider* takes presses and timers from one queue and
feeds the conductor; it is woken by a press, not by a frame, so what is drawn
cannot delay a verdict. The main thread owns the window: it draws the latest
state at the screen's pace and passes keys on.
"""

from __future__ import annotations

import gc
import queue
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

from pedaltrainer.live import ending
from pedaltrainer.live.act import Act
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear_input import EarInput
from pedaltrainer.live.ending import EndRequest
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.front import Front
from pedaltrainer.live.home.drops import Dropped
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.usher import first_leaf
from pedaltrainer.live.messages import Message, Touched
from pedaltrainer.live.options import Options
from pedaltrainer.live.programme import Programme
from pedaltrainer.live.sounding import Sounding, open_as_wished
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import InputStatus, Slid
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.pedalboard import Pedalboard
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.records.upkeep import aside, privacy
from pedaltrainer.records.upkeep.aside import TakenIn
from pedaltrainer.rehearsal.pedal import VirtualPedal
from pedaltrainer.screen.window import Stage
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.session.home import Leaf, Walk
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.step import begin
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.kept import taken_in_words
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import configs_folder
from pedaltrainer.timing.stream import ClickStream

SWITCH_INTERVAL_S = 0.0005
"""How soon a thread that has a press to judge may take the interpreter from the one that draws."""
LOOK_AROUND_S = 0.1
"""How often the decider wakes without a reason, to see whether the sound still runs, and unbroken."""
LESSON_TICK_S = 0.05
"""How often a lesson for a pedal is told the time."""
TRY_THE_LOG_AGAIN_S = 5.0


def run(options: Options, on_take: Callable[[TakeRow], None] = lambda row: None) -> Conductor:
    """Open the stage and play one session until it is closed; returns the conductor with its last state.

    Raises InputError, before anything was played, for a log, a screen or an
    input that cannot be used.
    """
    return _on_the_stage(options, None, on_take)[0]


def run_home(
    house: House,
    on_take: Callable[[TakeRow], None] = lambda row: None,
    first: RunSettings | None = None,
) -> list[Conductor]:
    """Open the stage at home and stay until it is closed; returns the sessions that were played.

    first: a run-through to begin with. Raises InputError as `run` does.
    """
    return _on_the_stage(house.options, house, on_take, first)


def _on_the_stage(
    options: Options,
    house: House | None,
    on_take: Callable[[TakeRow], None],
    first: RunSettings | None = None,
) -> list[Conductor]:
    with ending.by_signals() as asked, Log.open(options.desk.log_place) as log:
        privacy.tighten_once(options.desk.folder, datetime.now(UTC))
        taken_in = aside.take_in(log)
        stage = Stage(options.size, options.windowed, options.sight)
        try:
            theatre = _Theatre(options, house, log, stage, on_take, asked, taken_in)
            if first is not None:
                theatre.programme.begin_with(first)
            return theatre.play()
        finally:
            stage.close()


class _Theatre:
    """The devices and threads of a stage, from opening to closing. It plays one session, or stays at home."""

    def __init__(
        self,
        options: Options,
        house: House | None,
        log: Log,
        stage: Stage,
        on_take: Callable[[TakeRow], None],
        asked: EndRequest,
        taken_in: TakenIn,
    ) -> None:
        self._options, self._house = options, house
        self._ending = asked
        self._first_notices = (
            *((taken_in_words(taken_in.takes),) if taken_in.takes else ()),
            *taken_in.troubles,
        )
        """Said until the first take is counted in."""
        self._stage = stage
        self._queue: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._trouble: BaseException | None = None
        self._pedals = Pedalboard(
            self._queue.put, options.desk.log_place, configs_folder(), options.input_wanted
        )
        self._log_tried_s = time.perf_counter()
        first = self._draw_opening()
        stream, notice = open_as_wished(options)
        self._notices = (notice,) if notice else ()
        self._file_notices: tuple[str, ...] = ()
        self._sounding = Sounding()
        self._ear_input = EarInput(self._pedals)
        if options.made_up is None:
            self._ear_input.look_after(options.ear_input)
        self._wait_until_it_runs(stream)
        self._foot = Foot()
        self._front = Front(stage, self._foot, self._pedals, self._queue.put, options.windowed)
        if house is not None:
            house.midi_inputs = lambda: self._pedals.midi_inputs
        self.programme = Programme(
            options, house, log, stream, self._foot, self._ear_input, first,
            self._teach, self._queue.put, on_take,
        )  # fmt: skip

    @property
    def _act(self) -> Act:
        return self.programme.act

    def play(self) -> list[Conductor]:
        """Run what there is to run; the main thread draws."""
        sys.setswitchinterval(SWITCH_INTERVAL_S)
        # Before any press can arrive: one that is older than the session would be shown but not obeyed.
        self._act.open(time.perf_counter())
        if self._options.made_up is None:
            self._pedals.open()
            self._foot.bindings = self._pedals.bindings
        else:
            self._foot.inputs = ("made-up player",)
        decider = threading.Thread(target=self._decide, name="decider", daemon=True)
        # What start-up made stays for good: it need not be looked through again in mid-take.
        gc.collect()
        gc.freeze()
        decider.start()
        try:
            self._front.draw_until(
                lambda: self.programme.over or self._trouble is not None or self._ending.asked, self._draw
            )
        finally:
            self._queue.put(None)
            decider.join(timeout=5)
            self._pedals.close()
            self.programme.close()
            self._act.stream.close()
            self._finish()
        return self.programme.played

    def _finish(self) -> None:
        """Write, or keep aside, what still waits for the log; then raise what ended the decider early."""
        if self._trouble is None:
            self._act.finish()
            return
        try:
            self._act.finish()
        except Exception as more:
            self._trouble.add_note(f"{type(more).__name__}: {more}")
        raise self._trouble

    # --- opening ------------------------------------------------------------

    def _draw_opening(self) -> Leaf | None:
        """Show the first picture at once, while sound and pedal are still being opened: home's first page."""
        options = self._options
        around = Surroundings(options.desk.shapes, left_handed=options.left_handed, at_first=options.notices)
        if self._house is not None:
            leaf = first_leaf(self._house)
            # What a press does is shown once a press is heard.
            self._stage.draw(replace(walk_view(Walk(leaf=leaf), 0.0, around), hints=()))
            return leaf
        self._stage.draw(present(begin(options.settings), 0.0, around))
        return None

    @staticmethod
    def _wait_until_it_runs(stream: ClickStream, patience_s: float = 3.0) -> None:
        """A sound server may stall as it starts; nothing is counted in before its clock moves."""
        until_s = time.perf_counter() + patience_s
        first_s = stream.heard_s(time.perf_counter())
        while stream.heard_s(time.perf_counter()) <= first_s and time.perf_counter() < until_s:
            time.sleep(0.005)

    # --- the decider's thread -------------------------------------------------

    def _decide(self) -> None:
        pedal: VirtualPedal | None = None
        try:
            if self._options.made_up is not None:
                pedal = VirtualPedal(self._options.made_up, self._act.stream.t_s, self._queue.put)
            while not self.programme.over:
                if pedal is not None and isinstance(self._act, Conductor):
                    pedal.see(self._act.state)
                if not self._take_messages():
                    self._act.shut(time.perf_counter())
                    return
                self._act.advance(time.perf_counter())
                self._look_after_the_log()
                self._look_after_the_lesson()
                self._pedals.show(self._act.moment)
                self._look_after_sound_and_ear()
                self.programme.look_ahead()
                self.programme.change_acts()
        except BaseException as trouble:
            self._trouble = trouble
        finally:
            if pedal is not None:
                pedal.close()

    def _take_messages(self) -> bool:
        """Wait for a message or the next due moment, and take all there are; False to end."""
        due_t_s = self._act.due_t_s()
        wait_s = LOOK_AROUND_S if self._pedals.lesson is None else LESSON_TICK_S
        if due_t_s is not None:
            wait_s = min(wait_s, max(0.0, due_t_s - time.perf_counter()))
        try:
            message = self._queue.get(timeout=wait_s) if wait_s > 0 else self._queue.get_nowait()
            while True:
                if message is None:
                    return False
                self._take(message)
                message = self._queue.get_nowait()
        except queue.Empty:
            return True

    def _take(self, message: Message) -> None:
        match message:
            case EarHeard() | SoundChecked():
                self.programme.told_by_ear(message, time.perf_counter())
            case Touched(touch, t_s):
                self._act.touched(touch, t_s)
            case Dropped():
                self.programme.drops.come(message, self._act is self.programme.usher)
            case BoundEdge():
                self._act.edge(message)
            case Slid():
                self._act.slid(message)
            case Observation():
                self._pedals.teach(message)
            case InputStatus():
                self._act.input_changed(message)
                self._bind(*self._pedals.input_changed(message))

    def _bind(self, changed: bool, trouble: str | None) -> None:
        """Presses mean what the binding files say now; a file that is amiss is said on the stage."""
        self._file_notices = (trouble,) if trouble else ()
        self._foot.bindings = self._pedals.bindings
        if changed:
            self._foot.forget_presses()

    def _teach(self, begins: bool, first: bool = False) -> None:
        if begins:
            self._pedals.start_teaching(first)
            return
        self._pedals.stop_teaching()
        self._bind(*self._pedals.read_bindings())

    def _look_after_the_lesson(self) -> None:
        words = self._pedals.teach_until(time.perf_counter())
        if words is not None:
            self._act.taught(words, time.perf_counter())

    def _look_after_the_log(self) -> None:
        """Now and then try again what the log refused: each try may wait for another program's lock."""
        now_s = time.perf_counter()
        if now_s - self._log_tried_s >= TRY_THE_LOG_AGAIN_S:
            self._log_tried_s = now_s
            self._act.write_waiting()

    def _look_after_sound_and_ear(self) -> None:
        options = self.programme.options
        self._sounding.look_after(self._act, options, time.perf_counter())
        if options.made_up is None:
            self._ear_input.look_after(options.ear_input)

    # --- the main thread -------------------------------------------------------

    def _draw(self) -> None:
        programme, act = self.programme, self._act
        first = self._first_notices if act.is_fresh else ()
        options, ear = programme.options, programme.ear
        around = Surroundings(
            options.desk.shapes,
            input_name=self._foot.input_name,
            lesson=self._pedals.lesson,
            said=self._front.said(),
            left_handed=options.left_handed,
            boxes_in_take=options.boxes_in_take,
            notices=(
                *first,
                *programme.drops.notices,
                *programme.trouble,
                *self._file_notices,
                *programme.gear_clock.notices,
                *self._notices,
            ),
            at_first=options.notices,
            next_time=programme.next_time or "",
            from_home=programme.usher is not None,
            level=None if ear is None else ear.level(),
            strings=None if ear is None else ear.strings(),
        )
        self._front.draw(act, around, programme.sight if self._house is None else options.sight)
