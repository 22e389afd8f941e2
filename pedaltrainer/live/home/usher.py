"""Home on the stage: who walks through its pages, and what is done about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.live.act import Act
from pedaltrainer.live.foot import Foot
from pedaltrainer.live.home import songs
from pedaltrainer.live.home.house import House
from pedaltrainer.live.home.places import DEEDS, SESSIONS, page_of
from pedaltrainer.live.options import Options
from pedaltrainer.live.sounding import sound_as_set
from pedaltrainer.screen.view import StageView
from pedaltrainer.session.events import SoundStumbled, Told
from pedaltrainer.session.home import AGAIN, Errand, HomeEvent, Leaf, Turned, Verb, Walk, step
from pedaltrainer.session.replay import at_home, note
from pedaltrainer.session.run_through import RunSettings
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.tap_along import TapSettings
from pedaltrainer.showing.home import pages
from pedaltrainer.showing.home.first_start import CAUTIONS_PAGE, FIRST_LESSON
from pedaltrainer.showing.home.songs import no_song, song_is_there
from pedaltrainer.showing.home.view import walk_view
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.shelf import SongIsThereError
from pedaltrainer.timing.click import Sound
from pedaltrainer.timing.stream import ClickStream


def first_leaf(house: House) -> Leaf:
    """The page that home opens with."""
    return page_of(house, Errand(Verb.TURN, CAUTIONS_PAGE if house.is_first else pages.HOME))


@dataclass(slots=True)
class Usher(Act):
    """Walks through home. wanted: the session that a row has begun; whoever plays it takes it."""

    house: House
    stream: ClickStream
    foot: Foot = field(default_factory=Foot)
    on_teaching: Callable[[bool, bool], None] = lambda begins, first: None
    """A lesson begins or ends; first: it is the short first one."""
    walk: Walk = field(default_factory=Walk)
    first: Leaf | None = None
    """The page to open with, where it has been made already."""
    wanted: Settings | RunSettings | TapSettings | None = None
    then: str = ""
    """The page that stands after what was begun; "" for the one it was begun from."""
    walked: list[dict[str, Any]] = field(default_factory=list)
    """What has happened since the last session, as plain data for its record."""

    def __post_init__(self) -> None:
        # The stream may be another one by then: its device can stop.
        self.house.sounds_on = lambda: (self.stream.name, self.stream.latency_s)
        self.house.strum = lambda chords: self.stream.strum(chords)

    def open(self, t_s: float) -> None:
        self._show(self.first or first_leaf(self.house), self.stream.heard_s(t_s))

    def come_back(self, t_s: float, said: str = "") -> None:
        """A session is over: the page that began it stands again, with what is known now."""
        self.house.freshly()
        self.wanted = None
        then, self.then = self.then, ""
        if then:
            self._turn(Errand(Verb.TURN, then), self.stream.heard_s(t_s), said=said)
        elif self.walk.leaf is not None:
            self._turn(self.walk.leaf.place, self.stream.heard_s(t_s), anew=True, said=said)

    def dropped(self, path: str) -> None:
        """A file was dropped on the window: a song, or a sentence that says why it is none."""
        here = self._here if self.walk.leaf is not None else Errand(Verb.TURN, pages.HOME)
        try:
            said = songs.take_in(self.house, path)
        except SongIsThereError as trouble:
            self._show(song_is_there(here, str(trouble), path))
        except InputError as trouble:
            self._show(no_song(here, str(trouble)))
        else:
            self._turn(here, self.walk.now_s, anew=True, said=said)

    @property
    def closed(self) -> bool:
        return self.walk.closed

    @property
    def due_s(self) -> float | None:
        return self.walk.due_s

    @property
    def plays(self) -> bool:
        return False

    @property
    def is_fresh(self) -> bool:
        return not self.walk.trail

    @property
    def listed(self) -> tuple[int, int]:
        leaf = self.walk.leaf
        return (len(leaf.rows) if leaf is not None and not self.walk.teaching else 0, self.walk.marker)

    def view(self, heard_s: float, around: Surroundings) -> StageView:
        return walk_view(self.walk, heard_s, around)

    def _happen(self, event: Told | Turned) -> None:
        if isinstance(event, SoundStumbled):
            return  # nothing is played at home that could be spoilt
        before = self.walk
        self._step(event)
        if before.teaching and not self.walk.teaching:
            self.on_teaching(False, False)

    def _step(self, event: HomeEvent) -> None:
        note(self.walked, at_home(event))
        marker = self.walk.marker
        self.walk, errands = step(self.walk, event)
        self.foot.in_list(not self.walk.teaching)
        if errands:
            self.stream.sound(Sound.NEXT)
        elif marker != self.walk.marker:
            self.stream.sound(Sound.PRESS)
        for errand in errands:
            self._run(errand)

    def _run(self, errand: Errand) -> None:
        match errand.verb:
            case Verb.TEACH:
                self.on_teaching(True, errand.value == FIRST_LESSON)
            case Verb.PLAY:
                try:
                    self.wanted, self.then = SESSIONS[errand.to](self.house, errand.value), errand.then
                except InputError as trouble:
                    self._show(pages.trouble(self._here, str(trouble), AGAIN))
            case Verb.DO:
                self._do(errand)
            case _:
                self._turn(errand, self.walk.now_s)

    def _do(self, errand: Errand) -> None:
        before = self.house.options
        try:
            said = DEEDS[errand.to](self.house, errand.value)
        except InputError as trouble:
            self._show(pages.trouble(self._here, str(trouble), AGAIN))
            return
        self._sound_as_set(before)
        leads_on = errand.leads_on if errand.then else self._here
        self._turn(leads_on, self.walk.now_s, anew=not errand.then, said=said)

    def _sound_as_set(self, before: Options) -> None:
        """The sound is what it was set to; a step of its volume is heard."""
        now = self.house.options
        sound_as_set(self.stream, now)
        if now.volume != before.volume:
            self.stream.sound(Sound.BEAT)

    @property
    def _here(self) -> Errand:
        assert self.walk.leaf is not None
        return self.walk.leaf.place

    def _turn(self, place: Errand, heard_s: float, anew: bool = False, said: str = "") -> None:
        self._show(page_of(self.house, place), heard_s, anew, said)

    def _show(self, leaf: Leaf, heard_s: float | None = None, anew: bool = False, said: str = "") -> None:
        self._step(Turned(self.walk.now_s if heard_s is None else heard_s, leaf, anew, said))
