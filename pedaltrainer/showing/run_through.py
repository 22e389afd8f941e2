"""From a run-through to what the stage shows: the chord now, the next, and the bars rolling by. Pure."""

from __future__ import annotations

import math
from bisect import bisect_right

from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.run_through import Pass
from pedaltrainer.screen import view as v
from pedaltrainer.session.piece import PiecePhase
from pedaltrainer.session.run_through import PRESS_SEEN_S, RunState
from pedaltrainer.showing.beat import capo_words, plank_height
from pedaltrainer.showing.view_of import Surroundings, foot_words
from pedaltrainer.showing.words import hints_of, lost_words
from pedaltrainer.songs.song import NO_CHORD

LIFT_BEATS = 0.5
"""The stage changes half a beat before a chord lands, when the hand lifts for it."""
SHOWN_BARS = 12
"""Bars that are handed over to be drawn: as many of them as there is room for are."""
SILENT = "–"
LONGEST_SECTION = 9
"""Letters of a section's name that have room on the stage."""


def run_view(state: RunState, heard_s: float, around: Surroundings) -> v.PlayView:
    """The view of a run-through at a heard second."""
    one, playing = state.settings.one_pass, state.phase is PiecePhase.PLAYING
    at_s = state.at_s(heard_s) if playing else -one.counted_in_s
    counting = playing and at_s < 0
    bar = one.bar_at(at_s)
    now, then = _chords(one, at_s)
    return v.PlayView(
        scene=(v.Scene.COUNT_IN if counting else v.Scene.TAKE) if playing else v.Scene.READY,
        headline=_short(one.bars[bar].section) if playing else foot_words(around),
        drill=f"{one.title}, {state.settings.per_cent} %{capo_words(state.settings.song.capo)}",
        now_chord=now,
        next_chord=then,
        tempo_bpm=round(60 / one.bars[bar].beat_s),
        target=_coming(one, bar) if playing else "",
        landing=bar + 1 if playing and not counting else 0,
        landings=len(one.bars),
        ladder=v.LadderView((), round(60 / one.bars[bar].beat_s)),
        hints=_hints(state, around),
        plank=_plank(one, at_s) if playing else None,
        count=_count(one, at_s) if counting else None,
        ack=_ack(state, heard_s),
        notices=_notices(state, around),
        roll=_roll(state, one, bar),
        strokes=_strokes(one, bar, at_s, playing and not counting),
    )


def _strokes(one: Pass, bar: int, at_s: float, playing: bool) -> v.StrokesView | None:
    """What the chart has the strumming hand do in a bar; None where it does not say."""
    here = one.bars[bar]
    if not here.pattern:
        return None
    place = math.floor((at_s - here.start_s) / (here.beats * here.beat_s) * len(here.pattern))
    return v.StrokesView(here.pattern, min(max(place, 0), len(here.pattern) - 1) if playing else None)


def _chords(one: Pass, at_s: float) -> tuple[str, str]:
    """The chord to land or that sounds, and the one after it."""
    beat_s = one.bars[one.bar_at(at_s)].beat_s
    place = max(0, bisect_right(one.chords, at_s + LIFT_BEATS * beat_s, key=lambda chord: chord.at_s) - 1)
    if not one.chords:
        return SILENT, ""
    after = one.chords[place + 1].name if place + 1 < len(one.chords) else ""
    return shown_name(one.chords[place].name), shown_name(after) if after else ""


def shown_name(chord: str) -> str:
    """A chord as the stage names it; a dash where none is played."""
    return SILENT if chord == NO_CHORD else str(parse_chosen(chord).symbol)


def _coming(one: Pass, bar: int) -> str:
    """The section after this one, before it comes."""
    here = one.bars[bar].section
    after = next((each.section for each in one.bars[bar:] if each.section != here), "")
    return f"then {_short(after)}" if after else ""


def _short(section: str) -> str:
    return section if len(section) <= LONGEST_SECTION else f"{section[: LONGEST_SECTION - 1].rstrip()}…"


def _plank(one: Pass, at_s: float) -> v.PlankView:
    bar = one.bars[one.bar_at(at_s)]
    beat = (at_s - bar.start_s) / bar.beat_s
    whole = math.floor(beat)
    is_last = at_s >= one.end_s - bar.beat_s
    return v.PlankView(
        height=0.0 if is_last else plank_height(beat - whole),
        beat=whole % bar.beats + 1,
        beats_per_bar=bar.beats,
        counting=at_s < 0,
        changing=_in_the_air(one, at_s, bar.beat_s),
    )


def _in_the_air(one: Pass, at_s: float, beat_s: float) -> bool:
    place = bisect_right(one.landings, at_s, key=lambda landing: landing.at_s)
    return place < len(one.landings) and one.landings[place].at_s - at_s <= min(
        one.landings[place].air_s, LIFT_BEATS * beat_s
    )


def _count(one: Pass, at_s: float) -> int:
    first = one.bars[0]
    return math.floor(at_s / first.beat_s) % first.beats + 1


def _roll(state: RunState, one: Pass, bar: int) -> v.RollView:
    flags = state.flags
    first = max(0, bar - 1)
    shown = range(first, min(len(one.bars), first + SHOWN_BARS))
    names = [" ".join(map(shown_name, one.bars[number].names)) for number in shown]
    return v.RollView(
        tuple(
            v.RollBar(
                text or ".",
                number in flags,
                number == bar and state.phase is PiecePhase.PLAYING,
                number > 0 and one.bars[number].section != one.bars[number - 1].section,
            )
            for number, text in zip(shown, names, strict=True)
        )
    )


def _hints(state: RunState, around: Surroundings) -> tuple[v.HintView, ...]:
    ways = around.said.usual
    if state.phase is PiecePhase.READY:
        offered = {Control.PASS_: "begin", Control.PAUSE: "back"}
        if Control.PAUSE not in ways:
            offered = {Control.PASS_: "begin", Control.FAIL: "back"}
    else:
        offered = {Control.PASS_: "it went wrong there", Control.PAUSE: "stop"}
    return tuple(hints_of(offered.items(), ways))


def _ack(state: RunState, heard_s: float) -> v.AckView | None:
    """What was flagged just now."""
    if state.flagged_s is None or not state.marks or heard_s - state.flagged_s > PRESS_SEEN_S:
        return None
    one = state.settings.one_pass
    number = one.bars[max(state.flags)].number + 1
    return v.AckView("cross", f"There: bar {number}", max(0.0, heard_s - state.flagged_s))


def _notices(state: RunState, around: Surroundings) -> tuple[str, ...]:
    broken = (STUMBLED,) if state.stumbles else ()
    return (*lost_words(state.lost_input), *broken, *state.notices, *around.notices)


STUMBLED = "The sound stumbled: what went wrong there may not be yours"
