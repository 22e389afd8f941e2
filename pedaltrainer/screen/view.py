"""What the stage shows, as plain frozen data: `draw(view)` needs nothing else.

A view is made from the session's state and the heard time by `present`;
nothing in this room decides anything. Three kinds: `PlayView` while a drill
is on, `PageView` for words (cautions, rest, summary), `MenuView` for a
choice made by foot.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from pedaltrainer.neck.box import ChordBox


class Scene(StrEnum):
    """Which picture of a drill stands on the stage."""

    READY = "ready"
    COUNT_IN = "count-in"
    TAKE = "take"
    ASKING = "asking"
    BREATH = "breath"


class RungMark(StrEnum):
    NONE = ""
    PASSED = "passed"
    FAILED = "failed"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class RungView:
    tempo_bpm: int
    mark: RungMark = RungMark.NONE


@dataclass(frozen=True, slots=True)
class LadderView:
    """The ladder: rungs from slow to fast, where we are, and what comes next.

    band_bpm is the clean tempo's interval when the ladder measures one;
    best_bpm the fastest rung passed so far; target_bpm the tempo that the
    songs ask for, where they do.
    """

    rungs: tuple[RungView, ...]
    now_bpm: int
    if_pass_bpm: int | None = None
    if_fail_bpm: int | None = None
    best_bpm: int | None = None
    band_bpm: tuple[float, float] | None = None
    target_bpm: int | None = None


@dataclass(frozen=True, slots=True)
class PlankView:
    """The beat cue. height: 0 = down (foot, arm and chord are down), 1 = up.

    beat is 1-based within the bar; counting is True during a count-in.
    changing is True while the fretting hand should be in the air.
    """

    height: float
    beat: int
    beats_per_bar: int
    counting: bool = False
    changing: bool = False


@dataclass(frozen=True, slots=True)
class HintView:
    """What one press does right now. gesture: "tap", "double tap", "hold", "switch 2", "page down"."""

    gesture: str
    words: str
    says: str = field(default="", compare=False)
    """The control that the gesture gives: a pointer on the hint gives it too."""


@dataclass(frozen=True, slots=True)
class AckView:
    """The last answer, acknowledged: a sign and words such as "Clean at 84"; age_s fades it.

    sign: "check", "cross", "arrow on" or "press".
    """

    sign: str
    words: str
    age_s: float


@dataclass(frozen=True, slots=True)
class RollBar:
    """A bar of a song that rolls by: its chords in words; is it flagged, is it played now, does a section
    begin with it?"""

    words: str
    flagged: bool = False
    is_now: bool = False
    begins: bool = False


@dataclass(frozen=True, slots=True)
class RollView:
    """The bars of a song from the one before this one on."""

    bars: tuple[RollBar, ...]


@dataclass(frozen=True, slots=True)
class StrokesView:
    """What the strumming hand does in a bar, evenly over it: D, U and x (dull) are strokes, - is none.

    now: the 0-based place that is played, None before the bar.
    """

    pattern: str
    now: int | None = None


@dataclass(frozen=True, slots=True)
class PlayView:
    scene: Scene
    headline: str
    """A few words: "Count-in", "How was it?", "Clean: up to 84"."""
    drill: str
    """The drill in words: "Am – E", "F, landed again"."""
    now_chord: str
    """The chord to land: from half a beat before its landing, when the hand lifts for it."""
    next_chord: str
    """The chord to aim for after it."""
    tempo_bpm: int
    target: str
    """The next target in words: "then 88", "last rung"."""
    landing: int
    """1-based landing that is sounding or coming; 0 before the first."""
    landings: int
    ladder: LadderView
    hints: tuple[HintView, ...]
    plank: PlankView | None = None
    count: int | None = None
    """The number being counted in, None outside the count-in."""
    now_box: ChordBox | None = None
    next_box: ChordBox | None = None
    boxes_in_take: bool = False
    """The boxes stand on the stage in a take too, in the ladder's place."""
    left_handed: bool = False
    """The boxes have the lowest string at the right."""
    instruction: str = ""
    """What the hand does now, in one line: "Stop pressing, stay in touch"."""
    ack: AckView | None = None
    time_left: str = ""
    notices: tuple[str, ...] = ()
    """Troubles worth a line: "No sound device: the click is silent"."""
    roll: RollView | None = None
    """The bars of the song that is run through, in the ladder's place."""
    strokes: StrokesView | None = None
    """In place of the landings."""

    @property
    def boxes(self) -> tuple[ChordBox, ...]:
        """The boxes in places that stay while the chords take turns, those of odd landings first."""
        pair = (self.now_box, self.next_box)
        return boxes_of(pair if max(self.landing, 1) % 2 else pair[::-1])

    @property
    def box_now(self) -> int:
        """Which of `boxes` is the chord to land now."""
        return (max(self.landing, 1) - 1) % 2 if len(self.boxes) > 1 else 0


def boxes_of(pair: tuple[ChordBox | None, ChordBox | None]) -> tuple[ChordBox, ...]:
    """The boxes of a pair of chords, one of two that are alike."""
    there = tuple(box for box in pair if box is not None)
    return there[:1] if len(set(there)) == 1 else there


@dataclass(frozen=True, slots=True)
class PageView:
    """A page of words with, at most, one large figure."""

    title: str
    lines: tuple[str, ...]
    hints: tuple[HintView, ...]
    figure: str = ""
    figure_words: str = ""
    small_print: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    ack: AckView | None = None


@dataclass(frozen=True, slots=True)
class ClimbDay:
    """A day of a drill: where it lies in time, 0 to 1, and its clean tempo with the ends of its interval.

    bpm: None where the day tells one end only. low_bpm, high_bpm: None at an end that no take has met.
    """

    at: float
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None


@dataclass(frozen=True, slots=True)
class ClimbView:
    """How a drill goes: its days, the line through them as (at, BPM), and the tempo that songs ask for."""

    days: tuple[ClimbDay, ...]
    first_day: str
    last_day: str
    line: tuple[tuple[float, float], ...] = ()
    target_bpm: float | None = None


@dataclass(frozen=True, slots=True)
class SongBar:
    """A bar of a song. chord: the first that is landed in it, "" where none is. share: how much of the tempo
    it needs its least ready change has, 0 to 1; None while that is not known.

    is_ready: surely. is_hardest: of the whole song. begins: a part of the song.
    """

    chord: str
    share: float | None = None
    is_ready: bool = False
    is_hardest: bool = False
    begins: bool = False


@dataclass(frozen=True, slots=True)
class BarsView:
    """A song as its bars."""

    bars: tuple[SongBar, ...]


@dataclass(frozen=True, slots=True)
class MenuView:
    """A choice by foot: one gesture moves the marker, another takes the choice."""

    title: str
    choices: tuple[str, ...]
    chosen: int
    hints: tuple[HintView, ...]
    notices: tuple[str, ...] = ()
    ack: AckView | None = None
    boxes: tuple[ChordBox, ...] = ()
    """Of the drill that was stopped, or of the marked row."""
    room_for: int = 0
    """So many boxes have their room, whether they are there or not: rows that show others do not move."""
    left_handed: bool = False
    rested: float | None = None
    """How much of the rest that chooses the row has gone by, 0 to 1; None while no foot rests."""
    lines: tuple[str, ...] = ()
    """What the choice is about, above it."""
    climb: ClimbView | None = None
    """Drawn beside the choice, or above it."""
    bars: BarsView | None = None
    """So are they."""


StageView = PlayView | PageView | MenuView


@dataclass(frozen=True, slots=True)
class Sight:
    """How the screen is seen: its diagonal in inches and the eye's distance in metres."""

    screen_inches: float = 15.6
    distance_m: float = 2.0
