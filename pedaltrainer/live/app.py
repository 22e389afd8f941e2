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
from typing import TYPE_CHECKING

from pedaltrainer.errors import InputError
from pedaltrainer.history import at_home
from pedaltrainer.live import ending
from pedaltrainer.live.act import Act
from pedaltrainer.live.band import Band
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear_input import EarInput
from pedaltrainer.live.ending import EndRequest
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.front import Front
from pedaltrainer.live.gear_clock import GearClock
from pedaltrainer.live.home.drops import Dropped, Drops
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.usher import Usher, first_leaf
from pedaltrainer.live.messages import Message, Touched
from pedaltrainer.live.options import VOLUMES, Options, stepped
from pedaltrainer.live.run_through import RunThrough, open_run
from pedaltrainer.live.sounding import Sounding, lead_s, open_as_wished, sound_as_set
from pedaltrainer.live.tap_along import TapAlong, open_tapping
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import InputStatus, Slid
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.pedalboard import Pedalboard
from pedaltrainer.records import preferences
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow, utc_text
from pedaltrainer.records.upkeep import aside, privacy
from pedaltrainer.records.upkeep.aside import TakenIn
from pedaltrainer.rehearsal.pedal import VirtualPedal
from pedaltrainer.screen.window import Stage
from pedaltrainer.session.effects import CautionsSeen, SightChosen
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.session.home import Leaf, Walk
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin, since_rest_s
from pedaltrainer.session.tap_along import TapSettings
from pedaltrainer.showing.home.run_over import RUN_OVER
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.kept import taken_in_words
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import configs_folder
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.stream import ClickStream

if TYPE_CHECKING:
    from pedaltrainer.live.ear import Ear

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
                theatre.begin_with(first)
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
        self._options = options
        self._house = house
        self._log, self._on_take = log, on_take
        self._played: list[Conductor] = []
        self._ending = asked
        self._first_notices = (
            *((taken_in_words(taken_in.takes),) if taken_in.takes else ()),
            *taken_in.troubles,
        )
        """Said until the first take is counted in."""
        self._stage = stage
        self._sight = options.sight
        self._queue: queue.SimpleQueue[Message] = queue.SimpleQueue()
        self._trouble: BaseException | None = None
        self._pedals = Pedalboard(
            self._queue.put, options.desk.log_place, configs_folder(), options.input_wanted
        )
        self._next_time: str | None = None
        self._log_tried_s = time.perf_counter()
        self._first_leaf: Leaf | None = None
        self._draw_opening()
        stream, notice = open_as_wished(options)
        self._notices = (notice,) if notice else ()
        self._file_notices: tuple[str, ...] = ()
        self._sounding = Sounding()
        self._band = Band()
        self._ear: Ear | None = None
        self._ear_input = EarInput(self._pedals)
        self._look_after_the_ear()
        self._gear_clock = GearClock()
        if options.made_up is None:
            self._gear_clock.by(options.clock_out, options.clock_offset_s)
        self._wait_until_it_runs(stream)
        self._stream, self._foot = stream, Foot()
        self._front = Front(stage, self._foot, self._pedals, self._queue.put, options.windowed)
        if house is not None:
            house.midi_inputs = lambda: self._pedals.midi_inputs
        self._usher = (
            None if house is None else Usher(house, stream, self._foot, self._teach, first=self._first_leaf)
        )
        self._drops = Drops(self._usher)
        self._act: Act = self._usher or self._new_session(options.settings)

    def _new_session(self, settings: Settings) -> Conductor:
        """A session with the stage's stream, foot and log."""
        stream = self._stream
        heard_s = stream.heard_s(time.perf_counter())
        # What was run through in between was no rest.
        ran_s = 0.0 if self._house is None else self._house.ran_s
        before_s = since_rest_s(self._played[-1].state, heard_s - ran_s) if self._played else 0.0
        if self._house is not None:
            self._house.ran_s = 0.0
        settings = replace(
            settings,
            rate=stream.rate,
            lead_s=max(settings.lead_s, lead_s(stream)),
            played_before_s=before_s + ran_s,
            sound_checked=any(one.state.checked and not one.state.checked.why for one in self._played),
        )
        conductor = Conductor(
            state=begin(settings),
            stream=stream,
            book=open_book(self._log, replace(self._options, settings=settings), heard_s),
            foot=self._foot,
            on_settings=self._remember,
            on_teaching=self._teach,
            on_volume=self._change_volume,
            on_take=self._on_take,
            band=self._band,
            clock=self._gear_clock.clock,
        )
        self._band.backing = self._options.backing
        self._begin_to_hear(conductor)
        self._played.append(conductor)
        return conductor

    def _begin_to_hear(self, conductor: Conductor) -> None:
        """A microphone or a guitar for a session, from its beginning to its end."""
        self._stop_hearing()
        options = self._options
        if options.settings.ear:
            # What the ear needs is slow to load; most sessions have none.
            from pedaltrainer.live.ear import Ear

            capo = conductor.state.settings.capo
            self._ear = conductor.ear = Ear(
                self._ear_input.open(), options.desk.shapes, self._queue.put, capo
            )

    def _look_after_the_ear(self) -> None:
        options = self._options if self._house is None else self._house.options
        if options.made_up is None:
            self._ear_input.look_after(options.ear_input)

    def _stop_hearing(self) -> None:
        if self._ear is not None:
            self._ear.close()
            self._ear = None

    def begin_with(self, run: RunSettings) -> None:
        """Let the stage open with a run-through."""
        assert self._usher is not None
        self._usher.wanted, self._usher.then = run, RUN_OVER

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
                lambda: self._over or self._trouble is not None or self._ending.asked, self._draw
            )
        finally:
            self._queue.put(None)
            decider.join(timeout=5)
            self._pedals.close()
            self._band.close()
            self._stop_hearing()
            self._gear_clock.close()
            self._act.stream.close()
            self._finish()
        return self._played

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

    def _draw_opening(self) -> None:
        """Show the first picture at once, while sound and pedal are still being opened."""
        options = self._options
        around = Surroundings(options.desk.shapes, left_handed=options.left_handed, at_first=options.notices)
        if self._house is not None:
            self._first_leaf = first_leaf(self._house)
            # What a press does is shown once a press is heard.
            self._stage.draw(replace(walk_view(Walk(leaf=self._first_leaf), 0.0, around), hints=()))
            return
        self._stage.draw(present(begin(options.settings), 0.0, around))

    @staticmethod
    def _wait_until_it_runs(stream: ClickStream, patience_s: float = 3.0) -> None:
        """A sound server may stall as it starts; nothing is counted in before its clock moves."""
        until_s = time.perf_counter() + patience_s
        first_s = stream.heard_s(time.perf_counter())
        while stream.heard_s(time.perf_counter()) <= first_s and time.perf_counter() < until_s:
            time.sleep(0.005)

    def _remember(self, chosen: CautionsSeen | SightChosen) -> None:
        folder = self._options.desk.log_place
        now = preferences.load(folder)
        if isinstance(chosen, CautionsSeen):
            preferences.save(folder, replace(now, cautions_seen_utc=utc_text(datetime.now(UTC))))
            return
        sight = replace(
            self._sight,
            screen_inches=chosen.screen_inches or self._sight.screen_inches,
            distance_m=chosen.distance_m or self._sight.distance_m,
        )
        self._sight = sight
        preferences.save(folder, replace(now, screen_inches=sight.screen_inches, distance_m=sight.distance_m))

    def _change_volume(self, steps: int) -> None:
        """The click is louder by so many steps at once, is heard, and stays so."""
        house = self._house or House(self._options)
        louder = stepped(VOLUMES, house.options.volume, steps)
        try:
            house.remember(volume=louder)
        except InputError as trouble:
            self._file_notices = (str(trouble),)
            house.options = replace(house.options, volume=louder)
        self._options = replace(self._options, volume=louder)
        sound_as_set(self._act.stream, self._options)
        self._act.stream.sound(Sound.BEAT)

    # --- the decider's thread -------------------------------------------------

    def _decide(self) -> None:
        pedal: VirtualPedal | None = None
        try:
            if self._options.made_up is not None:
                pedal = VirtualPedal(self._options.made_up, self._act.stream.t_s, self._queue.put)
            while not self._over:
                if pedal is not None and isinstance(self._act, Conductor):
                    pedal.see(self._act.state)
                if not self._take_messages():
                    self._act.shut(time.perf_counter())
                    return
                self._act.advance(time.perf_counter())
                self._look_after_the_log()
                self._look_after_the_lesson()
                self._pedals.show(self._act.moment)
                self._look_after_the_sound()
                self._look_after_the_ear()
                self._look_ahead()
                self._change_acts()
        except BaseException as trouble:
            self._trouble = trouble
        finally:
            if pedal is not None:
                pedal.close()

    def _look_ahead(self) -> None:
        """At the summary it is looked up what is next; before that its takes are not all in the log."""
        act = self._act
        at_the_end = isinstance(act, Conductor) and act.state.phase is Phase.FINISHED
        if at_the_end and self._options.made_up is None and self._next_time is None:
            self._next_time = ""
            try:
                coming = at_home.home_facts(self._options.desk.afresh(), datetime.now().astimezone()).next_up
            except InputError:
                return  # the log's trouble is told where takes are written
            self._next_time = coming.title if coming is not None else ""
        elif act is self._usher:
            self._next_time = None

    @property
    def _over(self) -> bool:
        """Is the curtain to fall? A session that was begun at home leads back there."""
        return self._act.closed and self._act is (self._usher or self._act)

    def _change_acts(self) -> None:
        """From home to the session that was begun there, and from one that is over back home."""
        usher, act = self._usher, self._act
        if usher is None:
            return
        if act is usher and usher.wanted is not None:
            self._options = usher.house.options
            self._gear_clock.by(self._options.clock_out, self._options.clock_offset_s)
            if isinstance(usher.wanted, RunSettings):
                self._begin_run(usher.wanted, usher.house)
                return
            if isinstance(usher.wanted, TapSettings):
                self._begin_tapping(usher.wanted, usher.house)
                return
            session = self._new_session(usher.wanted)
            session.book.add_inputs(usher.walked)
            usher.walked.clear()
            self._act = session
            session.open(time.perf_counter())
        elif act is not usher and act.closed:
            said = ""
            try:
                act.finish()
            except InputError as trouble:
                said = str(trouble)
            if isinstance(act, RunThrough):
                usher.house.ran_s += act.played_s
                usher.then = usher.then if act.state.passes else ""
            if isinstance(act, TapAlong):
                usher.house.tapped = act.state
                usher.then = usher.then if act.state.whole or act.state.stumbled else ""
                sound_as_set(act.stream, usher.house.options)
            self._stop_hearing()
            usher.stream = act.stream
            self._act = usher
            usher.come_back(time.perf_counter(), said)
            self._drops.read()

    def _begin_run(self, settings: RunSettings, house: House) -> None:
        """A run-through with the stage's stream, foot and log."""
        t_s, stream = time.perf_counter(), self._act.stream
        run = open_run(self._log, house.options.desk, settings, stream, self._foot, stream.heard_s(t_s))
        run.band, run.clock, self._band.backing = self._band, self._gear_clock.clock, house.options.backing
        house.run, house.reviews = run, {}
        self._act = run
        run.open(t_s)

    def _begin_tapping(self, settings: TapSettings, house: House) -> None:
        """A trial of tapping along with the stage's stream, foot and log."""
        t_s, stream, options = time.perf_counter(), self._act.stream, house.options
        trial = open_tapping(self._log, options.desk, settings, stream, self._foot, stream.heard_s(t_s))
        trial.shift_sound = lambda delay_s: trial.stream.set_as(
            options.volume, options.answer_sounds, delay_s, options.backing_level
        )
        self._act = trial
        trial.open(t_s)

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
                self._act.told_by_ear(message, time.perf_counter())
                if self._house is not None and isinstance(message, SoundChecked) and message.delay_ms:
                    late_s = self._stream.latency_s + message.delay_ms / 1000
                    self._house.sound_check = self._stream.name, late_s
            case Touched(touch, t_s):
                self._act.touched(touch, t_s)
            case Dropped():
                self._drops.come(message, self._act is self._usher)
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

    def _look_after_the_sound(self) -> None:
        options = self._options if self._house is None else self._house.options
        self._sounding.look_after(self._act, options, time.perf_counter())
        self._stream = self._act.stream

    # --- the main thread -------------------------------------------------------

    def _draw(self) -> None:
        act = self._act
        first = self._first_notices if act.is_fresh else ()
        options = self._options if self._house is None else self._house.options
        around = Surroundings(
            options.desk.shapes,
            input_name=self._foot.input_name,
            lesson=self._pedals.lesson,
            said=self._front.said(),
            left_handed=options.left_handed,
            boxes_in_take=options.boxes_in_take,
            notices=(
                *first,
                *self._drops.notices,
                *self._file_notices,
                *self._gear_clock.notices,
                *self._notices,
            ),
            at_first=options.notices,
            next_time=self._next_time or "",
            from_home=self._usher is not None,
            level=None if self._ear is None else self._ear.level(),
            strings=None if self._ear is None else self._ear.strings(),
        )
        self._front.draw(act, around, self._sight if self._house is None else options.sight)
