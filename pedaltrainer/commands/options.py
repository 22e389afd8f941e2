"""From the words of the command line, the log and what is remembered, to what a session is run with."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import UTC, datetime

from pedaltrainer.commands.whose import desk_of
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import NOTHING_KNOWN, read_known
from pedaltrainer.history.today import plan_for, usual_minutes
from pedaltrainer.live.options import Options
from pedaltrainer.live.planned import as_session
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.practice.ladders.rungs import PRACTISE_CHANCE
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.settings import Settings

FIRST_DRILL = "Am E"


# --- the session ---------------------------------------------------------------


def session_options(words: argparse.Namespace, desk: Desk, made_up: MadeUpPlayer | None = None) -> Options:
    """Everything `play` and `rehearse` need. Raises InputError for what cannot be used."""
    kept = desk.preferences
    # The day's practice, unless drills are named; a rehearsal's only when it was asked for.
    today = not words.drills and (made_up is None or words.today)
    planned = today and bool(desk.songs or any(pack.drills for pack in desk.packs))
    known = NOTHING_KNOWN if planned else read_known(desk)
    drills = _drills(words.drills, words.beats, known.last_drills if made_up is None else ())
    first_time = made_up is None and not kept.cautions_seen_utc
    settings = Settings(
        drills=drills,
        answer_style=AnswerStyle(words.answer or kept.answer_style),
        ladder=words.ladder,
        mode=words.mode,
        starts_bpm=tuple(words.start or known.start_bpm(drill, words.step) for drill in drills),
        start_named=words.start is not None,
        targets_bpm=tuple(desk.targets_bpm.get(drill.key, 0.0) for drill in drills),
        practise_chance=PRACTISE_CHANCE,
        histories=tuple(known.history(drill, datetime.now(UTC)) for drill in drills),
        step_bpm=words.step,
        landings=words.landings,
        beats_per_bar=words.metre,
        minutes=words.minutes,
        reaction_s=kept.reaction_ms / 1000,
        show_cautions=first_time,
        ask_sight=first_time and words.screen_inches is None and words.distance is None,
        seed=words.seed,
    )
    if planned:
        minutes = words.minutes or usual_minutes(desk.packs)
        settings = as_session(settings, plan_for(desk, minutes, datetime.now().astimezone()))
    # A drill that these shapes do not allow is refused, and the others are looked up, before anything opens.
    for drill in settings.drills:
        hands(drill, desk.shapes)
    sound_delay_s = None if words.sound_delay is None else words.sound_delay / 1000
    return Options(
        settings=settings,
        desk=desk,
        volume=kept.volume if words.volume is None else words.volume,
        answer_sounds=kept.answer_sounds and not words.no_answer_sounds,
        sound_delay_s=sound_delay_s,
        windowed=words.windowed,
        sight=Sight(words.screen_inches or kept.screen_inches, words.distance or kept.distance_m),
        input_wanted=words.input,
        made_up=made_up,
        left_handed=words.left_handed or kept.left_handed,
        boxes_in_take=(words.boxes or kept.boxes) == "in-take",
        notices=desk.troubles if today else (),
    )


def lesson_options(words: argparse.Namespace) -> Options:
    """What `teach` needs: the stage and its pedals, and no drill to play."""
    desk = desk_of(words)
    kept = desk.preferences
    return Options(
        settings=Settings(drills=(parse_drill(FIRST_DRILL),), teach=True),
        desk=desk,
        volume=kept.volume,
        windowed=words.windowed,
        sight=Sight(kept.screen_inches, kept.distance_m),
        input_wanted=words.input,
    )


def _drills(given: Sequence[str], beats_per_chord: int, last: tuple[Drill, ...]) -> tuple[Drill, ...]:
    if not given and last:
        return last
    return tuple(parse_drill(words, beats_per_chord) for words in given or (FIRST_DRILL,))
