"""What is played on a stage, one act after another: one session; or home, and whatever is begun there."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from pedaltrainer.errors import InputError
from pedaltrainer.history import at_home
from pedaltrainer.live.act import Act
from pedaltrainer.live.band import Band
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear_input import EarInput
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.gear_clock import GearClock
from pedaltrainer.live.home.drops import Drops
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.usher import Usher
from pedaltrainer.live.messages import Message
from pedaltrainer.live.options import VOLUMES, Options, stepped
from pedaltrainer.live.run_through import RunThrough, open_run
from pedaltrainer.live.sounding import lead_s, sound_as_set
from pedaltrainer.live.tap_along import TapAlong, open_tapping
from pedaltrainer.records import preferences
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow, utc_text
from pedaltrainer.session.effects import CautionsSeen, SightChosen
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.session.home import Leaf
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin, since_rest_s
from pedaltrainer.session.tap_along import TapSettings
from pedaltrainer.showing.home.run_over import RUN_OVER
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.stream import ClickStream

if TYPE_CHECKING:
    from pedaltrainer.live.ear import Ear


class Programme:
    """The acts of a stage, with what all of them share: log, foot, band, a clock for other gear, the ear.

    act: whoever has the stage. played: the sessions so far. trouble: what could not be remembered, to be
    said. Of the decider's thread alone, but for what the drawing reads.
    """

    def __init__(
        self,
        options: Options,
        house: House | None,
        log: Log,
        stream: ClickStream,
        foot: Foot,
        ear_input: EarInput,
        first_leaf: Leaf | None,
        teach: Callable[..., None],
        tell: Callable[[Message], None],
        on_take: Callable[[TakeRow], None],
    ) -> None:
        self._options, self._house, self._log, self._foot = options, house, log, foot
        self._ear_input, self._teach, self._tell, self._on_take = ear_input, teach, tell, on_take
        self.played: list[Conductor] = []
        self.band = Band()
        self.gear_clock = GearClock()
        if options.made_up is None:
            self.gear_clock.by(options.clock_out, options.clock_offset_s)
        self.sight = options.sight
        self.trouble: tuple[str, ...] = ()
        self.next_time: str | None = None
        self.ear: Ear | None = None
        self.usher = None if house is None else Usher(house, stream, foot, teach, first=first_leaf)
        self.drops = Drops(self.usher)
        self.act: Act = self.usher or self._new_session(options.settings, stream)

    @property
    def options(self) -> Options:
        """As they are set now."""
        return self._options if self._house is None else self._house.options

    @property
    def over(self) -> bool:
        """Is the curtain to fall? A session that was begun at home leads back there."""
        return self.act.closed and self.act is (self.usher or self.act)

    def begin_with(self, run: RunSettings) -> None:
        """Let the stage open with a run-through."""
        assert self.usher is not None
        self.usher.wanted, self.usher.then = run, RUN_OVER

    def close(self) -> None:
        """Let go of all but the stream."""
        self.band.close()
        self._stop_hearing()
        self.gear_clock.close()

    def told_by_ear(self, said: EarHeard | SoundChecked, t_s: float) -> None:
        """What the ear has heard; home offers the delay that a sound check has found."""
        self.act.told_by_ear(said, t_s)
        if self._house is not None and isinstance(said, SoundChecked) and said.delay_ms:
            stream = self.act.stream
            self._house.sound_check = stream.name, stream.latency_s + said.delay_ms / 1000

    def look_ahead(self) -> None:
        """At the summary it is looked up what is next; before that its takes are not all in the log."""
        act = self.act
        at_the_end = isinstance(act, Conductor) and act.state.phase is Phase.FINISHED
        if at_the_end and self._options.made_up is None and self.next_time is None:
            self.next_time = ""
            try:
                coming = at_home.home_facts(self._options.desk.afresh(), datetime.now().astimezone()).next_up
            except InputError:
                return  # the log's trouble is told where takes are written
            self.next_time = coming.title if coming is not None else ""
        elif act is self.usher:
            self.next_time = None

    def change_acts(self) -> None:
        """From home to what was begun there, and from what is over back home."""
        usher, act = self.usher, self.act
        if usher is None:
            return
        if act is usher and usher.wanted is not None:
            self._begin(usher, usher.wanted)
        elif act is not usher and act.closed:
            self._come_home(usher, act)

    def _begin(self, usher: Usher, wanted: Settings | RunSettings | TapSettings) -> None:
        self._options = usher.house.options
        self.gear_clock.by(self._options.clock_out, self._options.clock_offset_s)
        t_s = time.perf_counter()
        if isinstance(wanted, RunSettings):
            self.act = self._new_run(wanted, usher.house, t_s)
        elif isinstance(wanted, TapSettings):
            self.act = self._new_trial(wanted, t_s)
        else:
            session = self._new_session(wanted, self.act.stream)
            session.book.add_inputs(usher.walked)
            usher.walked.clear()
            self.act, t_s = session, time.perf_counter()
        self.act.open(t_s)

    def _come_home(self, usher: Usher, act: Act) -> None:
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
        self.act = usher
        usher.come_back(time.perf_counter(), said)
        self.drops.read()

    def _new_session(self, settings: Settings, stream: ClickStream) -> Conductor:
        """A session with the stage's stream, foot and log."""
        heard_s = stream.heard_s(time.perf_counter())
        # What was run through in between was no rest.
        ran_s = 0.0 if self._house is None else self._house.ran_s
        before_s = since_rest_s(self.played[-1].state, heard_s - ran_s) if self.played else 0.0
        if self._house is not None:
            self._house.ran_s = 0.0
        settings = replace(
            settings,
            rate=stream.rate,
            lead_s=max(settings.lead_s, lead_s(stream)),
            played_before_s=before_s + ran_s,
            sound_checked=any(one.state.checked and not one.state.checked.why for one in self.played),
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
            band=self.band,
            clock=self.gear_clock.clock,
        )
        self.band.backing = self._options.backing
        self._begin_to_hear(conductor)
        self.played.append(conductor)
        return conductor

    def _new_run(self, settings: RunSettings, house: House, t_s: float) -> RunThrough:
        """A run-through with the stage's stream, foot and log."""
        stream, options = self.act.stream, house.options
        run = open_run(self._log, options.desk, settings, stream, self._foot, stream.heard_s(t_s))
        run.band, run.clock, self.band.backing = self.band, self.gear_clock.clock, options.backing
        house.run, house.reviews = run, {}
        return run

    def _new_trial(self, settings: TapSettings, t_s: float) -> TapAlong:
        """A trial of tapping along with the stage's stream, foot and log."""
        stream, options = self.act.stream, self._options
        trial = open_tapping(self._log, options.desk, settings, stream, self._foot, stream.heard_s(t_s))
        trial.shift_sound = lambda delay_s: trial.stream.set_as(
            options.volume, options.answer_sounds, delay_s, options.backing_level
        )
        return trial

    def _begin_to_hear(self, conductor: Conductor) -> None:
        """A microphone or a guitar for a session, from its beginning to its end."""
        self._stop_hearing()
        options = self._options
        if options.settings.ear:
            # What the ear needs is slow to load; most sessions have none.
            from pedaltrainer.live.ear import Ear

            capo = conductor.state.settings.capo
            self.ear = conductor.ear = Ear(self._ear_input.open(), options.desk.shapes, self._tell, capo)

    def _stop_hearing(self) -> None:
        if self.ear is not None:
            self.ear.close()
            self.ear = None

    def _remember(self, chosen: CautionsSeen | SightChosen) -> None:
        folder = self._options.desk.log_place
        now = preferences.load(folder)
        if isinstance(chosen, CautionsSeen):
            preferences.save(folder, replace(now, cautions_seen_utc=utc_text(datetime.now(UTC))))
            return
        sight = replace(
            self.sight,
            screen_inches=chosen.screen_inches or self.sight.screen_inches,
            distance_m=chosen.distance_m or self.sight.distance_m,
        )
        self.sight = sight
        preferences.save(folder, replace(now, screen_inches=sight.screen_inches, distance_m=sight.distance_m))

    def _change_volume(self, steps: int) -> None:
        """The click is louder by so many steps at once, is heard, and stays so."""
        house = self._house or House(self._options)
        louder = stepped(VOLUMES, house.options.volume, steps)
        try:
            house.remember(volume=louder)
        except InputError as trouble:
            self.trouble = (str(trouble),)
            house.options = replace(house.options, volume=louder)
        self._options = replace(self._options, volume=louder)
        sound_as_set(self.act.stream, self._options)
        self.act.stream.sound(Sound.BEAT)
