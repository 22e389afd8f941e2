"""What is set up by foot: read from the house, kept at once, and in force from then on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pedaltrainer.live.home.house import House
from pedaltrainer.live.options import VOLUMES, ear_of, stepped
from pedaltrainer.pedals.midi.clock_port import output_names
from pedaltrainer.practice.take import chosen_style
from pedaltrainer.session.home import Leaf
from pedaltrainer.showing.home import set_up as pages
from pedaltrainer.showing.home.set_up import SetUpFacts
from pedaltrainer.timing.microphone import input_names
from pedaltrainer.timing.sound_device import device_names

DELAYS_MS = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 125.0, 150.0, 175.0, 200.0, 250.0, 300.0, 400.0, 500.0)
"""The steps that are offered; 0 is the delay that the program reckons with."""


def facts_of(house: House) -> SetUpFacts:
    options = house.options
    return SetUpFacts(
        sight=options.sight,
        player=options.desk.player,
        tuning=options.desk.shapes.tuning.name,
        volume=options.volume,
        answers=chosen_style(options.settings.answer_style, options.settings.counts_misses),
        boxes_in_take=options.boxes_in_take,
        left_handed=options.left_handed,
        answer_sounds=options.answer_sounds,
        ear=ear_of(options.settings),
        ear_input=options.ear_input,
        backing="off" if options.feel is None else options.feel.value,
        backing_level=options.backing_level,
        backing_pad=options.backing_pad,
        clock_out=options.clock_out,
        sound_delay_ms=_delay_ms(house),
        sound_heard_ms=_heard_ms(house),
        sound_device=options.sound.device,
        sound_buffer=options.sound.frames,
    )


def _delay_ms(house: House) -> float:
    """0 for as the program reckons it."""
    name, _ = house.sounds_on()
    return (house.options.sound.delay_of(name) or 0.0) * 1000


def _heard_ms(house: House) -> float:
    """How late the sound check heard the click of the device that is played to; 0 where none has."""
    checked, late_s = house.sound_check
    name, _ = house.sounds_on()
    return max(0.0, late_s * 1000) if name == checked else 0.0


# --- pages ------------------------------------------------------------------------------


def set_up(house: House, value: str) -> Leaf:
    return pages.set_up(facts_of(house))


def sound(house: House, value: str) -> Leaf:
    return pages.sound(facts_of(house))


def clock(house: House, value: str) -> Leaf:
    return pages.clock(house.options.clock_out, output_names())


def ear(house: House, value: str) -> Leaf:
    return pages.ear(facts_of(house))


def ear_inputs(house: House, value: str) -> Leaf:
    return pages.ear_inputs(house.options.ear_input, input_names(), house.midi_inputs())


def device(house: House, value: str) -> Leaf:
    return pages.device(facts_of(house))


def devices(house: House, value: str) -> Leaf:
    return pages.devices(house.options.sound.device, device_names())


def sound_delay(house: House, value: str) -> Leaf:
    return pages.sound_delay(facts_of(house))


def screen(house: House, value: str) -> Leaf:
    return pages.screen(house.options.sight)


def distance(house: House, value: str) -> Leaf:
    return pages.distance(house.options.sight)


def tuning(house: House, value: str) -> Leaf:
    return pages.tuning(facts_of(house))


def players(house: House, value: str) -> Leaf:
    """Raises InputError for a log that cannot be read."""
    house.name_so_far = ""
    desk = house.options.desk
    if not desk.has_log:
        return pages.players(desk.player, ())
    with desk.log() as log:
        return pages.players(desk.player, log.players())


def name(house: House, value: str) -> Leaf:
    return pages.name(house.name_so_far)


def letters(house: House, value: str) -> Leaf:
    return pages.letters(value, house.name_so_far)


STEPS = {"+": 1, "-": -1}


# --- deeds ------------------------------------------------------------------------------


_READ: Mapping[str, Callable[[str], Any]] = {
    "answer_style": str,
    "boxes": str,
    "ear": str,
    "ear_input": lambda name: "" if name == pages.SYSTEMS_OWN else name,
    "backing": str,
    "clock_out": lambda name: "" if name == pages.NO_CLOCK else name,
    "backing_level": float,
    "backing_pad": "yes".__eq__,
    "sound_device": lambda name: "" if name == pages.SYSTEMS_OWN else name,
    "sound_buffer": int,
    "tuning": str,
    "player": str,
    "answer_sounds": "yes".__eq__,
    "left_handed": "yes".__eq__,
    "screen_inches": float,
    "distance_m": float,
    "first_tempo_bpm": float,
}
"""The settings that a row gives a value to, and how that is read."""


def choose(house: House, value: str) -> str:
    """A setting, and its value: "left_handed yes". Raises InputError when it cannot be kept."""
    setting, _, words = value.partition(" ")
    house.remember(**{setting: _READ[setting](words)})
    return "Kept"


def volume(house: House, value: str) -> str:
    """Louder or quieter by a step. Raises InputError when it cannot be kept."""
    house.remember(volume=stepped(VOLUMES, house.options.volume, STEPS[value]))
    return pages.percent(house.options.volume)


def change_delay(house: House, value: str) -> str:
    """Later or sooner by a step. Raises InputError when it cannot be kept."""
    house.keep_delay(stepped(DELAYS_MS, _delay_ms(house), STEPS[value]) / 1000)
    return pages.delay(_delay_ms(house))


def letter(house: House, value: str) -> str:
    """One letter more of a name; none: the last one is taken away."""
    house.name_so_far = house.name_so_far + value if value else house.name_so_far[:-1]
    return house.name_so_far
