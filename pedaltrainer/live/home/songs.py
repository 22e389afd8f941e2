"""Songs on the stage: the shelf is read anew whenever a page of it is turned, and changed by foot."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.history.at_home import songs_facts
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.runs import last_share
from pedaltrainer.history.today import can_be_played
from pedaltrainer.live.home.house import House
from pedaltrainer.session.home import Leaf
from pedaltrainer.showing.home import song_writing, tapping
from pedaltrainer.showing.home import songs as pages
from pedaltrainer.showing.home.songs import SongFacts
from pedaltrainer.songs import shelf
from pedaltrainer.songs.keys import chords_of, in_key
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.songs.song import Song

# --- pages ------------------------------------------------------------------------------


def songs(house: House, value: str) -> Leaf:
    """The list. value: the place of the first one shown. Raises InputError when their folder has gone."""
    desk = _desk(house)
    demos = () if desk.songs else tuple(one.title for one in demo_songs())
    return pages.songs(
        songs_facts(desk, house.now()), _today(house), demos, len(desk.shelf.troubles), int(value or 0)
    )


def song_trouble(house: House, value: str) -> Leaf:
    return pages.song_trouble(_desk(house).shelf.troubles, int(value))


def song(house: House, value: str) -> Leaf:
    """The page of a song by its title. Raises InputError when there is no such song any more."""
    one = _facts(house, value)
    shapes = house.options.desk.shapes
    playable = [each for each in one.standing.standings if can_be_played(each.need.drill, shapes)]
    return pages.song(one, playable, _today(house), last_share(house.options.desk, one.title))


def song_date(house: House, value: str) -> Leaf:
    return pages.song_date(_facts(house, value), _today(house))


def song_tempo(house: House, value: str) -> Leaf:
    return pages.song_tempo(_facts(house, value))


def song_key(house: House, value: str) -> Leaf:
    return pages.song_key(_facts(house, value))


def remove_a_song(house: House, value: str) -> Leaf:
    return pages.remove_song(value)


def tap(house: House, value: str) -> Leaf:
    return tapping.tap(value)


def tapped(house: House, value: str) -> Leaf:
    return tapping.tapped(value)


def write_a_song(house: House, value: str) -> Leaf:
    return song_writing.write(song_writing.read_draft(value), _chords_used(house.options.desk.songs))


def chord_of_a_song(house: House, value: str) -> Leaf:
    return song_writing.another_chord(song_writing.read_draft(value), _chords_used(house.options.desk.songs))


def any_chord_of_a_song(house: House, value: str) -> Leaf:
    return song_writing.any_chord(song_writing.read_draft(value))


def kind_of_chord(house: House, value: str) -> Leaf:
    root, _, draft = value.partition(" ")
    return song_writing.kind_of_chord(root, song_writing.read_draft(draft))


def _desk(house: House) -> Desk:
    """The desk, read anew. Raises InputError when the songs that it had have gone with their folder."""
    before = house.options.desk
    had = bool(before.songs) and not before.rehearses
    house.freshly()
    desk = house.options.desk
    place = desk.folder / "songs"
    if had and not place.is_dir():
        raise InputError(f"The folder {place} has gone, and its songs with it; put it back where it was.")
    return desk


def _today(house: House) -> date:
    return house.now().date()


def _facts(house: House, title: str) -> SongFacts:
    desk = _desk(house)
    found = next((one for one in songs_facts(desk, house.now()) if one.title == title), None)
    if found is None:
        raise InputError(f"There is no song “{title}” any more; its file is not in {desk.folder / 'songs'}.")
    return found


def _chords_used(there: Sequence[Song]) -> tuple[str, ...]:
    """The chords of the songs, those of most songs first."""
    counted = Counter(chord for one in there for chord in chords_of(one))
    return tuple(chord for chord, _ in counted.most_common())


# --- deeds ------------------------------------------------------------------------------


def change_date(house: House, value: str) -> str:
    """value: a day, or "-" for none, and the title. Raises InputError when it cannot be written."""
    day, _, title = value.partition(" ")
    shelf.set_day(_folder(house), title, None if day == "-" else date.fromisoformat(day))
    return "Kept"


def change_tempo(house: House, value: str) -> str:
    """value: the tempo and the title. Raises InputError when it is none or cannot be written."""
    bpm, _, title = value.partition(" ")
    folder = _folder(house)
    song = shelf.find(folder, title)
    shelf.set_tempo(folder, title, float(bpm) / song.tempo_bpm)
    return f"{float(bpm):g} BPM"


def change_key(house: House, value: str) -> str:
    """value: semitones and the title. Raises InputError when it cannot be written."""
    semitones, _, title = value.partition(" ")
    folder = _folder(house)
    shelf.rewrite(folder, title, in_key(shelf.find(folder, title), int(semitones)))
    return "Kept"


def take_away(house: House, value: str) -> str:
    shelf.remove(_folder(house), value)
    return "Taken away"


def try_a_song(house: House, value: str) -> str:
    """A song of the made-up band, from now on one of the player's."""
    shelf.keep(_folder(house), next(one for one in demo_songs() if one.title == value))
    return "Kept"


def keep_a_song(house: House, value: str) -> str:
    """The draft as a song, with a name that no other has."""
    title = song_writing.new_title(one.title for one in _desk(house).songs)
    shelf.keep(_folder(house), song_writing.song_of(song_writing.read_draft(value), title))
    return f"{title} is kept"


def take_in(house: House, value: str, replace: bool = False) -> str:
    """A file that was dropped. Raises InputError when it is no song: why, and in which bar."""
    kept = shelf.add(_folder(house), Path(value), _today(house), replace=replace)
    house.freshly()
    return f"Kept: {pages.shown_title(kept.title)}"


def replace_a_song(house: House, value: str) -> str:
    return take_in(house, value, replace=True)


def _folder(house: House) -> Path:
    return house.options.desk.folder


def change_bars(house: House, value: str) -> str:
    """How many bars a chord lasts where the chart has no bar lines."""
    bars, _, title = value.partition(" ")
    shelf.set_bars_a_chord(house.options.desk.folder, title, bars)
    house.freshly()
    return "Kept"
