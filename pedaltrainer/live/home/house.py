"""The house: whose it is, and what the stage is set up as by now."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.options import Options, delays_s, feel_of, with_ear
from pedaltrainer.live.run_through import RunThrough
from pedaltrainer.practice.take import style_of
from pedaltrainer.records import preferences
from pedaltrainer.session.run_through import Review
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import TapState


@dataclass(slots=True)
class House:
    """What home is about: the stage's options, which change as the player sets things up, and the day.

    now: what time it is, with its zone. name_so_far: of a player whose name is being written by foot. strum:
    lets chords be heard one after the other, each as MIDI note numbers.
    """

    options: Options
    now: Callable[[], datetime] = lambda: datetime.now().astimezone()
    name_so_far: str = ""
    strum: Callable[[Sequence[Sequence[int]]], None] = lambda chords: None
    run: RunThrough | None = None
    """The run-through that was played last, and what its player made of each pass."""
    reviews: dict[int, Review] = field(default_factory=dict)
    sounds_on: Callable[[], tuple[str, float]] = lambda: ("", 0.0)
    """The device that is played to, and how late it is reckoned to reach the ear, in seconds."""
    sound_check: tuple[str, float] = ("", 0.0)
    """A device, and how late its click came back in by the microphone in the last sound check, in seconds."""
    midi_inputs: Callable[[], Sequence[str]] = tuple
    """The names of the MIDI inputs that are connected."""
    tapped: TapState | None = None
    """The last trial of tapping along."""
    ran_s: float = 0.0
    """Seconds of run-throughs since the last session of drills, or the last rest."""

    def freshly(self) -> None:
        """Look at the folder anew: what is kept there may have changed."""
        self.options = replace(self.options, desk=self.options.desk.afresh())

    def remember(self, **chosen: Any) -> None:
        """Keep settings by their names in the preferences, and let them be in force from now on.

        Raises InputError when they cannot be kept: nothing has changed then.
        """
        folder = self.options.desk.folder
        preferences.save(folder, replace(preferences.load(folder), **chosen))
        for name, value in chosen.items():
            self.options = _IN_FORCE.get(name, _only_kept)(self.options, value)

    def keep_delay(self, delay_s: float) -> None:
        """The sound of the device that is played to is so late; 0: as the program reckons it.

        Raises InputError when it cannot be kept.
        """
        name, _ = self.sounds_on()
        if not name:
            self.remember(sound_delay_ms=round(delay_s * 1000, 1))
            return
        kept = preferences.load(self.options.desk.folder).sound_delays
        others = {one: delay_ms for one, delay_ms in kept.items() if one != name}
        self.remember(sound_delays={**others, name: round(delay_s * 1000, 1)} if delay_s else others)

    @property
    def is_first(self) -> bool:
        """Is this the first start, which begins with the cautions?"""
        return self.options.settings.show_cautions

    @property
    def usual(self) -> Settings:
        """What a session is run with, whatever it will play; the first pages are home's."""
        return replace(self.options.settings, show_cautions=False, ask_sight=False)


def _only_kept(options: Options, value: Any) -> Options:
    return replace(options, desk=options.desk.afresh())


def _wishing(options: Options, **changed: Any) -> Options:
    return replace(options, sound=replace(options.sound, **changed))


def _in_settings(name: str, read: Callable[[Any], Any]) -> Callable[[Options, Any], Options]:
    return lambda options, value: replace(options, settings=replace(options.settings, **{name: read(value)}))


def _answering(options: Options, chosen: str) -> Options:
    answer_style, counts_misses = style_of(chosen)
    settings = replace(options.settings, answer_style=answer_style, counts_misses=counts_misses)
    return replace(options, settings=settings)


def _in_tune(options: Options, value: str) -> Options:
    """The tuning of the preferences holds, whatever was named on the command line."""
    desk = options.desk
    return replace(options, desk=Desk(desk.folder, desk.player, None, desk.log_at, desk.rehearses))


_IN_FORCE: Mapping[str, Callable[[Options, Any], Options]] = {
    "volume": lambda options, value: replace(options, volume=value),
    "answer_sounds": lambda options, value: replace(options, answer_sounds=value),
    "sound_delay_ms": lambda options, value: _wishing(options, delay_s=value / 1000 or None),
    "sound_delays": lambda options, value: _wishing(options, delays_s=delays_s(value)),
    "sound_device": lambda options, value: _wishing(options, device=value),
    "sound_buffer": lambda options, value: _wishing(options, frames=value),
    "ear": lambda options, value: replace(options, settings=with_ear(options.settings, value)),
    "ear_input": lambda options, value: replace(options, ear_input=value),
    "backing": lambda options, value: replace(options, feel=feel_of(value)),
    "clock_out": lambda options, value: replace(options, clock_out=value),
    "backing_level": lambda options, value: replace(options, backing_level=value),
    "backing_pad": lambda options, value: replace(options, backing_pad=value),
    "left_handed": lambda options, value: replace(options, left_handed=value),
    "boxes": lambda options, value: replace(options, boxes_in_take=value == "in-take"),
    "screen_inches": lambda options, value: replace(
        options, sight=replace(options.sight, screen_inches=value)
    ),
    "distance_m": lambda options, value: replace(options, sight=replace(options.sight, distance_m=value)),
    "first_tempo_bpm": _in_settings("first_tempo_bpm", float),
    "cautions_seen_utc": _in_settings("show_cautions", lambda seen_utc: not seen_utc),
    "answer_style": _answering,
    "player": lambda options, value: replace(options, desk=options.desk.of(value)),
    "tuning": _in_tune,
}
"""What each setting changes of the stage; the others are kept for the next start."""
