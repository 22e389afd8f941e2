"""From a trial of tapping along to what the stage shows. Pure.

While the foot finds the sound, nothing moves with the beat: an eye that sees it would lead the foot.
"""

from __future__ import annotations

import math

from pedaltrainer.pedals.events import Control
from pedaltrainer.screen import view as v
from pedaltrainer.session.piece import PiecePhase
from pedaltrainer.session.tap_along import COUNT_IN_BEATS, Aim, TapState
from pedaltrainer.showing.beat import plank_height
from pedaltrainer.showing.view_of import Surroundings, foot_words
from pedaltrainer.showing.words import hints_of, lost_words

TITLES = {
    Aim.DELAY: "Tap along",
    Aim.FOOT: "Foot on the beat",
    Aim.EYE: "Plank and click",
}
LINES = {
    Aim.DELAY: ("Sixteen clicks, after four low ones.", "Tap your foot with each."),
    Aim.FOOT: ("Sixteen clicks, after four low ones.", "Tap your foot with each."),
    Aim.EYE: ("Watch the plank, listen to the click.", "Does it land too soon, or too late?"),
}
BY_EAR = "Go by your ear: the stage stands still meanwhile."
_READY = {Control.PASS_: "begin", Control.PAUSE: "back"}
_HINTS = {
    Aim.DELAY: {Control.PAUSE: "stop"},
    Aim.FOOT: {Control.PAUSE: "stop"},
    Aim.EYE: {
        Control.PASS_: "too soon",
        Control.FAIL: "too late",
        Control.PAUSE: "right",
    },
}


def tap_view(state: TapState, heard_s: float, around: Surroundings) -> v.StageView:
    """The view of a trial at a heard second."""
    aim, playing = Aim(state.settings.aim), state.phase is PiecePhase.PLAYING
    offered = _HINTS[aim] if playing else _READY
    hints = tuple(hints_of(offered.items(), around.said.usual))
    notices = (*lost_words(state.lost_input), *state.notices, *around.notices)
    if playing and aim is Aim.EYE:
        return _plank_view(state, heard_s, hints, notices)
    if not playing:
        return v.PageView(TITLES[aim], LINES[aim], hints, small_print=(BY_EAR,), notices=notices)
    return v.PageView(
        TITLES[aim],
        (foot_words(around),),
        hints,
        figure=str(len(state.taps)),
        figure_words="taps",
        small_print=(BY_EAR,),
        notices=notices,
    )


def _plank_view(
    state: TapState, heard_s: float, hints: tuple[v.HintView, ...], notices: tuple[str, ...]
) -> v.PlayView:
    settings = state.settings
    beat = (heard_s - state.start_s) / settings.beat_s - COUNT_IN_BEATS
    whole = math.floor(beat)
    return v.PlayView(
        scene=v.Scene.TAKE,
        headline="Late, in ms",
        drill=TITLES[Aim.EYE],
        now_chord=f"{state.delay_s * 1000:.0f}",
        next_chord="",
        tempo_bpm=settings.tempo_bpm,
        target="",
        landing=0,
        landings=0,
        ladder=v.LadderView((), settings.tempo_bpm),
        hints=hints,
        plank=v.PlankView(plank_height(beat - whole), whole % 4 + 1, 4, counting=False),
        notices=notices,
    )
