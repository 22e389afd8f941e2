"""Home: pages of rows, walked by foot before, between and after sessions. Pure.

    step(walk, event) -> (walk, errands)

A page (`Leaf`) comes from outside, as an event: what stands on it depends on the log and the songs. So a walk
replays exactly from its events. What is walked by is the foot's grammar: *yes* goes to the next row however
fast it comes, *stop* chooses the marked one, *no* goes back, and where a pedal cannot say stop a rest of the
foot chooses. A gesture is about the page that stood there when its foot went down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from pedaltrainer.pedals.events import Control
from pedaltrainer.screen.view import BarsView, ClimbView
from pedaltrainer.session.events import (
    Due,
    Given,
    InputBack,
    InputLost,
    Pointed,
    Pressed,
    Shut,
    SoundBack,
    SoundLost,
    Taught,
)
from pedaltrainer.session.state import DWELL_S, Ack, AckKind
from pedaltrainer.timing.tapped import tapped_bpm

HOME = "home"
"""The first page: nothing lies before it."""
MOST_TAPS = 64
"""Taps of a tempo that are kept."""


class Verb(StrEnum):
    """What a row does when it is chosen."""

    TURN = "turn"
    """To the page `to`, with `value`."""
    ACROSS = "across"
    """To another page in this one's place: back leads where it led from here."""
    BACK = "back"
    """To the page before."""
    AGAIN = "again"
    """To this very page, as it is by now."""
    DO = "do"
    """What `to` names, with `value`; a page comes of it."""
    PLAY = "play"
    """A session of what `to` and `value` name; this page stands again after it, or the page `then`."""
    TEACH = "teach"
    """A lesson for the pedal; this page stands again after it."""
    CLOSE = "close"


@dataclass(frozen=True, slots=True)
class Errand:
    """What is to be done. to: a page, or a deed; value: of what, as words. then: the page after a deed or a
    lesson, where it is another than the one that stands, and then_value: of what."""

    verb: Verb
    to: str = ""
    value: str = ""
    then: str = ""
    then_value: str = ""

    @property
    def leads_on(self) -> Errand:
        """To the page after it."""
        return Errand(Verb.TURN, self.then, self.then_value)


BACK, AGAIN = Errand(Verb.BACK), Errand(Verb.AGAIN)


@dataclass(frozen=True, slots=True)
class LeafRow:
    """A row: what it says, and what it does.

    chords: drawn as boxes while it is marked, in place of the page's.
    """

    words: str
    errand: Errand
    chords: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Leaf:
    """A page of home.

    place: its name and its value, as the errand that asked for it had them. marked: the likeliest row.
    chords: drawn as boxes, each as a drill would name it. taps: presses on it are the beats of a tempo, with
    which its row's errand begins.
    climb: how a drill goes, drawn; bars: those of a song. reads: nothing is to be chosen here, and whatever
    the foot says goes on; small_print: below its lines.
    """

    place: Errand
    title: str
    rows: tuple[LeafRow, ...]
    lines: tuple[str, ...] = ()
    marked: int = 0
    chords: tuple[str, ...] = ()
    taps: bool = False
    climb: ClimbView | None = None
    reads: bool = False
    small_print: tuple[str, ...] = ()
    bars: BarsView | None = None


@dataclass(frozen=True, slots=True)
class Turned:
    """A page was asked for, and here it is. anew: the page that stands has other words now.

    said: what was done, in a word or two.
    """

    heard_s: float
    leaf: Leaf
    anew: bool = False
    said: str = ""


HomeEvent = (
    Turned | Pressed | Pointed | Given | Due | InputLost | InputBack | SoundLost | SoundBack | Taught | Shut
)


@dataclass(frozen=True, slots=True)
class Tread:
    """A foot that went down: when, and the page that it saw."""

    pressed_s: float
    page: int
    heard_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Walk:
    """Where the walk stands. trail: the pages that led here, each with the row that was left."""

    leaf: Leaf | None = None
    marker: int = 0
    trail: tuple[tuple[Errand, int], ...] = ()
    page: int = 0
    """How many pages have been turned."""
    back_at: int | None = None
    """The row to mark when the page that is gone back to comes."""
    now_s: float = 0.0
    due_s: float | None = None
    dwells: bool = False
    treads: tuple[Tread, ...] = ()
    taps_s: tuple[float, ...] = ()
    """When the feet went down on a page that hears a tempo, heard seconds."""
    ack: Ack | None = None
    lost_input: str | None = None
    notices: tuple[str, ...] = ()
    teaching: bool = False
    after_lesson: str = ""
    """The page that a lesson leads to; "" for the one that stands."""
    closed: bool = False


Errands = tuple[Errand, ...]


def step(walk: Walk, event: HomeEvent) -> tuple[Walk, Errands]:
    """The walk after one event, and what the world is to do about it."""
    walk = replace(walk, now_s=max(walk.now_s, event.heard_s))
    match event:
        case Turned():
            return _turned(walk, event), ()
        case Pressed():
            return _pressed(walk, event), ()
        case Pointed(row=row):
            on_it = walk.leaf is not None and row < len(walk.leaf.rows)
            return (replace(walk, marker=row, due_s=None) if on_it else walk), ()
        case Given():
            return _given(walk, event)
        case Due():
            due = walk.due_s is not None and walk.now_s >= walk.due_s
            return _choose(walk) if due else (walk, ())
        case InputLost(name=name, in_use=True):
            return replace(walk, lost_input=name), ()
        case InputLost(name=name):
            return _say(walk, AckKind.INPUT_GONE, name), ()
        case InputBack(name=name):
            lost = None if walk.lost_input == name else walk.lost_input
            return _say(replace(walk, lost_input=lost), AckKind.INPUT_BACK, name), ()
        case SoundLost(words=words):
            return replace(walk, notices=(*walk.notices, words)), ()
        case SoundBack(name=""):
            return walk, ()
        case SoundBack(name=name):
            return _say(replace(walk, notices=()), AckKind.SOUND_BACK, name), ()
        case Taught(words=words):
            return _after_lesson(_say(walk, AckKind.TAUGHT, words))
        case Shut():
            return replace(walk, closed=True), ()


def _turned(walk: Walk, turned: Turned) -> Walk:
    leaf = turned.leaf
    places = [place for place, _ in walk.trail]
    if leaf.place.to == HOME:
        walk = replace(walk, trail=())
    elif not turned.anew and leaf.place in places:
        # On to a page that led here: it is gone back to.
        at = places.index(leaf.place)
        walk = replace(walk, trail=walk.trail[:at], back_at=walk.trail[at][1])
    if walk.back_at is not None:
        marker = walk.back_at
    elif turned.anew:
        marker = walk.marker
    else:
        marker = leaf.marked
    if turned.said:
        walk = _say(walk, AckKind.SAID, turned.said)
    return replace(
        walk,
        leaf=leaf,
        marker=min(marker, len(leaf.rows) - 1),
        page=walk.page if turned.anew else walk.page + 1,
        back_at=None,
        due_s=None,
        taps_s=walk.taps_s if turned.anew else (),
    )


def _pressed(walk: Walk, pressed: Pressed) -> Walk:
    walk = _say(walk, AckKind.PRESS)
    tread = Tread(pressed.t_s, walk.page, pressed.heard_s)
    if walk.leaf is not None and walk.leaf.taps:
        walk = replace(walk, taps_s=(*walk.taps_s, pressed.heard_s)[-MOST_TAPS:])
    # A rest of the foot begins when it has gone up again.
    return replace(walk, treads=(*walk.treads, tread)[-8:], dwells=pressed.dwells, due_s=None)


def _given(walk: Walk, given: Given) -> tuple[Walk, Errands]:
    tread = next((one for one in walk.treads if one.pressed_s == given.pressed_s), None)
    walk = replace(walk, treads=tuple(one for one in walk.treads if one is not tread))
    if walk.teaching:
        left = given.control is Control.QUIT
        return _after_lesson(_say(walk, AckKind.NOT_TAUGHT)) if left else (walk, ())
    if tread is not None and tread.page != walk.page:
        return _say(walk, AckKind.TOO_LATE), ()
    if walk.leaf is None:
        return walk, ()
    if walk.leaf.reads:
        return _choose(walk)
    if given.control is Control.PASS_:
        return _move(walk, walk.leaf), ()
    if walk.leaf.taps and tread is not None:
        # What chooses is no beat.
        walk = replace(walk, taps_s=tuple(tap_s for tap_s in walk.taps_s if tap_s != tread.heard_s))
    if given.control in {Control.PAUSE, Control.NEXT}:
        return _choose(walk)
    if given.control in {Control.FAIL, Control.QUIT, Control.UNDO}:
        return _back(walk)
    return _say(walk, AckKind.OUT_OF_PLACE), ()


def _move(walk: Walk, leaf: Leaf) -> Walk:
    # On a page that hears a tempo a tap is a beat; the row that takes it is marked from the start.
    marker = walk.marker if leaf.taps else (walk.marker + 1) % len(leaf.rows)
    return replace(walk, marker=marker, due_s=walk.now_s + DWELL_S if walk.dwells else None)


def _choose(walk: Walk) -> tuple[Walk, Errands]:
    leaf = walk.leaf
    if leaf is None:
        return walk, ()
    errand = leaf.rows[walk.marker].errand
    if leaf.taps and errand.verb in {Verb.TURN, Verb.ACROSS}:
        errand = replace(errand, value=with_tempo(tapped_bpm(walk.taps_s), errand.value))
    walk = replace(walk, due_s=None)
    match errand.verb:
        case Verb.BACK:
            return _back(walk)
        case Verb.TURN:
            trail = (*walk.trail, (leaf.place, walk.marker))
            return replace(walk, trail=trail), (errand,)
        case Verb.AGAIN:
            return walk, (leaf.place,)
        case Verb.CLOSE:
            return replace(walk, closed=True), ()
        case Verb.TEACH:
            return replace(walk, teaching=True, after_lesson=errand.then), (errand,)
        case Verb.DO | Verb.PLAY if errand.then:
            return replace(walk, trail=(*walk.trail, (leaf.place, walk.marker))), (errand,)
    return walk, (errand,)


def with_tempo(bpm: float | None, value: str) -> str:
    """A value with a tempo before it: "104 new song"; "- new song" without one."""
    return f"{'-' if bpm is None else round(bpm)} {value}"


def _after_lesson(walk: Walk) -> tuple[Walk, Errands]:
    """Back to the page that the lesson began at, or on to the one that it leads to."""
    then, leaf = walk.after_lesson, walk.leaf
    walk = replace(walk, teaching=False, after_lesson="")
    if not then or leaf is None:
        return walk, ()
    return replace(walk, trail=(*walk.trail, (leaf.place, walk.marker))), (Errand(Verb.TURN, then),)


def _back(walk: Walk) -> tuple[Walk, Errands]:
    if not walk.trail and walk.leaf is not None and walk.leaf.place.to != HOME:
        return replace(walk, due_s=None), (Errand(Verb.TURN, HOME),)
    if not walk.trail:
        # Home itself: nothing lies before it.
        return _say(replace(walk, due_s=None), AckKind.OUT_OF_PLACE), ()
    *trail, (place, marker) = walk.trail
    return replace(walk, trail=tuple(trail), back_at=marker, due_s=None), (place,)


def _say(walk: Walk, kind: AckKind, name: str = "") -> Walk:
    return replace(walk, ack=Ack(kind, walk.now_s, name=name))
