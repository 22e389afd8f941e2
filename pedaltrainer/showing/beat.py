"""What a beat looks like: the plank, the number being counted in, the stage of slow pressure work. Pure.

Beats are counted from the first landing; the count-in is negative.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from pedaltrainer.neck.chords.tuning import Tuning
from pedaltrainer.neck.shapes import Shape, finger_name
from pedaltrainer.practice.drill import MOST_NAMED, Drill, clear_height_mm
from pedaltrainer.practice.hands import Hand, leading_finger, strings_picked
from pedaltrainer.practice.kinds import HandStage
from pedaltrainer.practice.steps import step_words
from pedaltrainer.screen import view as v
from pedaltrainer.session.effects import Run


def plank_height(beat_fraction: float) -> float:
    """How high the plank is at a fraction of a beat: down from the beat to the half, up after it.

    It rises over the first eighth of a beat after the half and falls so as to
    lie flat exactly on the next beat: down and up are told by where it is.
    """
    if beat_fraction < 0.5:
        return 0.0
    if beat_fraction < 0.75:
        return _smooth((beat_fraction - 0.5) / 0.125)
    return _smooth((1.0 - beat_fraction) / 0.2)


def _smooth(part: float) -> float:
    part = min(max(part, 0.0), 1.0)
    return part * part * (3 - 2 * part)


def plank_view(run: Run | None, beat: float | None) -> v.PlankView | None:
    if run is None or beat is None or beat < -run.count_in_beats:
        return v.PlankView(0.0, 0, run.metre.beats if run else 4) if run else None
    whole = math.floor(beat)
    coming = run.drill.landing_at(beat + float(run.drill.lift))
    changing = 0 <= coming < run.landings and beat < run.drill.landing_beat(coming)
    # The hand stays down through the last chord: there is nothing more to lift for.
    height = 0.0 if whole + 1 >= run.beats else plank_height(beat - whole)
    return v.PlankView(
        height=height,
        beat=whole % run.metre.beats + 1,
        beats_per_bar=run.metre.beats,
        counting=beat < 0,
        changing=changing,
    )


def count_shown(run: Run | None, beat: float | None) -> int | None:
    if run is None or beat is None or not -run.count_in_beats <= beat < 0:
        return None
    return math.floor(beat) % run.metre.beats + 1


STRUM = HandStage("strum", "Strum: all of them")
OFF = HandStage("off", "Off the strings, form it anew")


def stages_of(drill: Drill, shape: Shape | None) -> tuple[HandStage, ...]:
    """What the hand does in each beat from a landing of this shape to the next; () where that is not said."""
    if drill.row.stages or shape is None:
        return drill.row.stages
    picked = [_pick(string, shape.tuning) for string in strings_picked(drill, shape)]
    rest = drill.beats_per_chord - len(picked)
    return (*picked, *((STRUM, *[OFF] * (rest - 1)) if drill.row.by_string else ()))


def _pick(string: int, tuning: Tuning) -> HandStage:
    """Large stands the string's number, which no chord can be taken for."""
    called, number = tuning.called[string], f"{tuning.strings - string}"
    return HandStage(number, f"Pick the {called} string" if number not in called else f"Pick {called}")


def stage_at(run: Run | None, beat: float | None) -> int | None:
    """Which beat of its landing a beat is, from 0, the first one while counting in."""
    if run is None or beat is None:
        return None
    return math.floor(max(beat, 0.0)) % run.drill.beats_per_chord


def stage_words(now: Sequence[HandStage], then: Sequence[HandStage], stage: int) -> tuple[str, str]:
    """A stage and the one after it, as they stand large. then: those of the next landing."""
    after = now[stage + 1] if stage + 1 < len(now) else then[0]
    return now[stage].word, after.word


def capo_words(fret: int) -> str:
    return f", capo {fret}" if fret else ""


def drill_words(drill: Drill) -> str:
    """A drill's title; of a short passage each chord with its beats: "Am 2 – G 2 – F 4 beats"."""
    if not drill.holds or len(drill.holds) > MOST_NAMED:
        return drill.title
    named = (f"{name} {float(hold):.3g}" for name, hold in zip(drill.names, drill.holds, strict=True))
    return " – ".join(named) + (" beat" if set(drill.holds[-1:]) == {1} else " beats")


def beats_words(drill: Drill, landing: int) -> str:
    """In a passage how long the chord of a 1-based landing lasts, and the one after it: "2 beats, then 4"."""
    if not drill.holds:
        return ""
    now, then = (
        float(drill.holds[place % len(drill.holds)]) for place in (max(landing, 1) - 1, max(landing, 1))
    )
    return f"{now:.3g} {'beat' if now == 1 else 'beats'}, then {then:.3g}"


def instruction(drill: Drill, stage: HandStage, landing: int, now: Hand, then: Hand) -> str:
    """What the hand does in a stage after a 1-based landing, and how far off the strings it goes."""
    return stage.says.format(
        height=clear_height_mm(max(landing - 1, 0)),
        chord=now.name,
        next=then.name,
        finger=finger_name(leading_finger(now.shape)) if now.shape else "first finger",
        step=step_words(drill.row, drill.turn),
    )
