"""Whose practice, and where: the one value that gives a player's log, songs, packs, shapes and settings."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.history.asked import tasks_of
from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.neck.chords.tuning import Tuning, parse_tuning
from pedaltrainer.packs import shelf as pack_shelf
from pedaltrainer.packs.own_kinds import FILE_NAME as OWN_KINDS
from pedaltrainer.packs.own_kinds import own_kinds
from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.practice.coach.plan import Task
from pedaltrainer.practice.drill import Drill, Own, parse_drill
from pedaltrainer.records import opening, preferences
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.records.preferences import Preferences
from pedaltrainer.records.upkeep import snapshot
from pedaltrainer.songs import shelf as song_shelf
from pedaltrainer.songs.metre import Metre
from pedaltrainer.songs.shipped import demo_songs, shape_book
from pedaltrainer.songs.song import Song
from pedaltrainer.system.reading import There, what_is_at


@dataclass(frozen=True)
class Desk:
    """A player, and the folder where what they practise with is kept.

    What is kept is read when it is first asked for, and once. A song or a pack that cannot be read is left
    out, and `troubles` tells of it; anything else that cannot be raises InputError.

    tuning: what they play in; None: as is remembered. log_at: their log, when it is not in the folder: its
    own folder, or a file of any name. rehearses: the player is made up, and plays the songs of the made-up
    band and by no pack.
    """

    folder: Path
    player: str
    tuning: Tuning | None = None
    log_at: Path | None = None
    rehearses: bool = False

    def of(self, player: str) -> Desk:
        """Another player's, in the same place; what was read of it is not read again."""
        other = copy.copy(self)
        object.__setattr__(other, "player", player)
        return other

    def afresh(self) -> Desk:
        """The same desk, of which nothing has been read yet."""
        return Desk(self.folder, self.player, self.tuning, self.log_at, self.rehearses)

    # --- the log ------------------------------------------------------------------------

    @property
    def log_place(self) -> Path:
        return self.log_at or self.folder

    @property
    def has_log(self) -> bool:
        """Whether there is a log. Raises InputError where something else is, or where nothing can be seen."""
        place = self.log_place
        return what_is_at(place) is There.FILE or opening.find(place, place / FILE_NAME)

    def log(self) -> Log:
        """The log, opened to be read. Raises InputError when there is none or it cannot be."""
        place = self.log_place
        is_a_file = what_is_at(place) is There.FILE
        return snapshot.open_another(place) if is_a_file else Log.open(place, read_only=True)

    # --- what is kept beside it -----------------------------------------------------------

    @cached_property
    def preferences(self) -> Preferences:
        return preferences.load(self.folder)

    @cached_property
    def shapes(self) -> ShapeBook:
        """The book of shapes for the tuning, the player's own over those shipped."""
        return shape_book(self.folder, self.tuning or parse_tuning(self.preferences.tuning))

    @cached_property
    def own_kinds(self) -> Own:
        """The player's own kinds of drill. Raises InputError for a file of them that cannot be read."""
        return own_kinds(self.folder)

    def drill(self, words: str, beats_per_chord: int = 1) -> Drill:
        """A drill from its words, which may name a kind of the player's own. Raises InputError."""
        drill = parse_drill(words, beats_per_chord, self.own_kinds)
        if drill.name and drill.name not in self.own_kinds:
            there, path = ", ".join(self.own_kinds) or "none yet", self.folder / OWN_KINDS
            raise InputError(
                f"“{words}”: {path} has no kind of drill named {drill.name}; there are: {there}."
            )
        return drill

    @cached_property
    def shelf(self) -> song_shelf.Shelf:
        """The songs by title, and a sentence for each file that cannot be read."""
        return song_shelf.Shelf(demo_songs(), ()) if self.rehearses else song_shelf.look(self.folder)

    @cached_property
    def in_use(self) -> pack_shelf.InUse:
        """The packs in use by title, and a sentence for each file that cannot be read."""
        return pack_shelf.InUse((), ()) if self.rehearses else pack_shelf.in_use(self.folder)

    @property
    def songs(self) -> tuple[Song, ...]:
        return self.shelf.songs

    @property
    def packs(self) -> tuple[Pack, ...]:
        return self.in_use.packs

    @property
    def troubles(self) -> tuple[str, ...]:
        """A sentence for each pack in use and each song that cannot be read."""
        return (*self.in_use.troubles, *self.shelf.troubles)

    # --- what it asks for -------------------------------------------------------------------

    @property
    def set_drills(self) -> tuple[PackDrill, ...]:
        """The drills of the packs."""
        return tuple(drill for pack in self.packs for drill in pack.drills)

    @cached_property
    def tasks(self) -> tuple[Task, ...]:
        """What the songs and the packs ask for, each drill once."""
        return tuple(tasks_of(self.songs, self.packs))

    @property
    def targets_bpm(self) -> dict[str, float]:
        """How fast drills are asked for, by their keys."""
        return {one.drill.key: one.target_bpm for one in self.tasks if one.target_bpm is not None}

    @property
    def metres(self) -> dict[str, Metre]:
        """The metre of the song that asks for a drill, by the drill's key."""
        return {one.drill.key: one.metre for one in self.tasks if one.metre is not None}
