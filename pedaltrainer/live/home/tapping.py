"""Tapping along at home: how late the sound comes, by foot and by eye, and how steady the foot is."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.history.tapped import foot_trials
from pedaltrainer.live.home.house import House
from pedaltrainer.practice.tapping_along import sound_late
from pedaltrainer.session.home import Leaf
from pedaltrainer.session.tap_along import BEATS_WATCHED, Aim, TapSettings
from pedaltrainer.showing.home import tapping_along as pages


def begin(house: House, value: str) -> TapSettings:
    """A trial. value: its aim."""
    _, reckoned_s = house.sounds_on()
    if Aim(value) is Aim.EYE:
        return TapSettings(value, reckoned_s, beats=BEATS_WATCHED)
    return TapSettings(value, reckoned_s)


def sound_tapped(house: House, value: str) -> Leaf:
    """What a trial told of the sound. Raises InputError where there was none."""
    state = house.tapped
    if state is None:
        raise InputError("Nothing has been tapped since the stage was opened.")
    name, reckoned_s = house.sounds_on()
    if state.settings.aim == Aim.EYE:
        return pages.sound_watched(name, state.delay_s)
    if state.stumbled:
        return pages.broken()
    found = sound_late(state.late_s, state.settings.reckoned_s)
    return pages.sound_tapped(name, found, reckoned_s)


def foot(house: House, value: str) -> Leaf:
    """How steady the foot was. Raises InputError for a log that cannot be read."""
    state = house.tapped
    broken = state is not None and state.settings.aim == Aim.FOOT and state.stumbled
    return pages.foot(foot_trials(house.options.desk), broken)


def take_delay(house: House, value: str) -> str:
    """The sound is so late. value: in ms. Raises InputError when it cannot be kept."""
    house.keep_delay(float(value) / 1000)
    return "Kept"
