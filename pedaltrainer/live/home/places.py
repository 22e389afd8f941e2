"""Home as tables: every page by its name, what begins a session, and what else a row can do.

A row's errand names an entry of one of the three. A test walks through all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pedaltrainer.errors import InputError
from pedaltrainer.live.home import choosing, first_start, front, how_it_goes, runs, set_up, songs, tapping
from pedaltrainer.live.home.house import House
from pedaltrainer.session.home import Errand, Leaf
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import TapSettings
from pedaltrainer.showing.home.pages import HOME, trouble

PLACES: Mapping[str, Callable[[House, str], Leaf]] = {
    HOME: front.home,
    "close": front.close,
    "how it goes": how_it_goes.how_it_goes,
    "drill": how_it_goes.drill,
    "songs": songs.songs,
    "song trouble": songs.song_trouble,
    "song": songs.song,
    "run over": runs.over,
    "run flags": runs.flags,
    "run part": runs.part,
    "song date": songs.song_date,
    "song tempo": songs.song_tempo,
    "song key": songs.song_key,
    "remove a song": songs.remove_a_song,
    "tap": songs.tap,
    "tapped": songs.tapped,
    "write a song": songs.write_a_song,
    "chord of a song": songs.chord_of_a_song,
    "any chord of a song": songs.any_chord_of_a_song,
    "kind of chord": songs.kind_of_chord,
    "cautions": first_start.cautions,
    "first screen": first_start.screen,
    "first distance": first_start.distance,
    "first tempo": first_start.tempo,
    "set up": set_up.set_up,
    "ear": set_up.ear,
    "ear inputs": set_up.ear_inputs,
    "sound": set_up.sound,
    "sound delay": set_up.sound_delay,
    "device": set_up.device,
    "devices": set_up.devices,
    "sound tapped": tapping.sound_tapped,
    "foot": tapping.foot,
    "clock": set_up.clock,
    "screen": set_up.screen,
    "distance": set_up.distance,
    "tuning": set_up.tuning,
    "players": set_up.players,
    "name": set_up.name,
    "letters": set_up.letters,
    "first change": choosing.first_change,
    "common": choosing.common,
    "changes": choosing.changes,
    "chord": choosing.chord,
    "change": choosing.change,
    "shapes": choosing.shapes,
    "smaller": choosing.smaller,
    "other ways": choosing.other_ways,
}
"""Every page, by the name that errands have for it."""

SESSIONS: Mapping[str, Callable[[House, str], Settings | RunSettings | TapSettings]] = {
    "today": front.today,
    "drills": front.drills,
    "run": runs.begin,
    "tap along": tapping.begin,
}
"""What a session is run with, by what a row that begins one names."""

DEEDS: Mapping[str, Callable[[House, str], str]] = {
    "song date": songs.change_date,
    "song tempo": songs.change_tempo,
    "song key": songs.change_key,
    "song bars": songs.change_bars,
    "remove a song": songs.take_away,
    "try a song": songs.try_a_song,
    "keep a song": songs.keep_a_song,
    "replace a song": songs.replace_a_song,
    "set": set_up.choose,
    "volume": set_up.volume,
    "sound delay": set_up.change_delay,
    "take delay": tapping.take_delay,
    "letter": set_up.letter,
    "first tempo": first_start.begin,
    "hear it": choosing.hear,
    "run mark": runs.mark,
    "run rest": runs.rest,
    "rested": runs.rested,
}
"""What rows do that stay on their page: each returns what was done, in a word or two."""


def page_of(house: House, place: Errand) -> Leaf:
    """The page that an errand asks for; one that says why, where it cannot be shown."""
    try:
        return PLACES[place.to](house, place.value)
    except InputError as sentence:
        return trouble(place, str(sentence))
