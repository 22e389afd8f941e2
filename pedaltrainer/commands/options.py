"""From the words of the command line, the log and what is remembered, to what a session is run with."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from pedaltrainer.commands.whose import desk_of
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import read_known
from pedaltrainer.live import starting
from pedaltrainer.live.options import Options, delays_s, feel_of, with_ear
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.ladders.rungs import PRACTISE_CHANCE
from pedaltrainer.practice.take import style_of
from pedaltrainer.records.preferences import Preferences
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.causes import EAR
from pedaltrainer.session.settings import Settings
from pedaltrainer.timing.sound_device import SoundWish

FIRST_DRILL = "Am E"


# --- the session ---------------------------------------------------------------


def session_options(words: argparse.Namespace, desk: Desk, made_up: MadeUpPlayer | None = None) -> Options:
    """Everything `play` and `rehearse` need. Raises InputError for what cannot be used."""
    # The day's practice, unless drills are named; a rehearsal's only when it was asked for.
    today = not words.drills and (made_up is None or words.today)
    options = replace(stage_options(words, desk, first_pages=made_up is None), made_up=made_up)
    if today and starting.asks_for_practice(desk):
        now = datetime.now().astimezone()
        settings = starting.of_today(options.settings, desk, words.minutes, now)
    else:
        known = read_known(desk)
        drills = _drills(words.drills, words.beats, known.last_drills if made_up is None else (), desk)
        settings = starting.of_drills(options.settings, desk, drills, known, words.start)
    return replace(options, settings=settings, notices=desk.troubles if today else ())


def stage_options(words: argparse.Namespace, desk: Desk, first_pages: bool = True) -> Options:
    """The stage and its devices, and what a session is run with, whatever it will play.

    first_pages: those of the first start are shown, if this is it; a made-up player sees none of them, and no
    sound check.
    """
    kept = desk.preferences
    answer_style, counts_misses = style_of(words.answer or kept.answer_style)
    first_time = first_pages and not kept.cautions_seen_utc
    settings = Settings(
        drills=(parse_drill(FIRST_DRILL, words.beats),),
        answer_style=answer_style,
        counts_misses=counts_misses,
        ladder=words.ladder,
        mode=words.mode,
        practise_chance=PRACTISE_CHANCE,
        step_bpm=words.step,
        landings=words.landings,
        metres=() if words.metre is None else (str(words.metre),),
        minutes=words.minutes,
        reaction_s=kept.reaction_ms / 1000,
        first_tempo_bpm=kept.first_tempo_bpm,
        capo=words.capo,
        show_cautions=first_time,
        ask_sight=first_time and words.screen_inches is None and words.distance is None,
        seed=words.seed,
    )
    sound_delay_ms = kept.sound_delay_ms or None if words.sound_delay is None else words.sound_delay
    return Options(
        settings=with_ear(settings, _ear(words, kept) if first_pages else "off"),
        desk=desk,
        volume=kept.volume if words.volume is None else words.volume,
        answer_sounds=kept.answer_sounds and not words.no_answer_sounds,
        sound=SoundWish(
            kept.sound_device if words.sound_device is None else words.sound_device,
            words.sound_buffer or kept.sound_buffer,
            None if sound_delay_ms is None else sound_delay_ms / 1000,
            # What is typed holds for whatever device it is.
            {} if words.sound_delay is not None else delays_s(kept.sound_delays),
        ),
        feel=feel_of(words.backing or kept.backing),
        backing_level=kept.backing_level if words.backing_level is None else words.backing_level,
        backing_pad=kept.backing_pad or words.pad,
        clock_out=kept.clock_out if words.clock_out is None else words.clock_out,
        clock_offset_s=(kept.clock_offset_ms if words.clock_offset is None else words.clock_offset) / 1000,
        ear_input=words.ear or kept.ear_input,
        windowed=words.windowed,
        sight=Sight(words.screen_inches or kept.screen_inches, words.distance or kept.distance_m),
        input_wanted=words.input,
        left_handed=words.left_handed or kept.left_handed,
        boxes_in_take=(words.boxes or kept.boxes) == "in-take",
    )


def _ear(words: argparse.Namespace, kept: Preferences) -> str:
    """What was typed holds, else what is remembered."""
    if words.judge is not None:
        return "answers" if words.judge == EAR else "off" if words.ear is None else "tells"
    return kept.ear if words.ear is None else "tells"


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


def _drills(
    given: Sequence[str], beats_per_chord: int, last: tuple[Drill, ...], desk: Desk
) -> tuple[Drill, ...]:
    if not given and last:
        return last
    return tuple(desk.drill(words, beats_per_chord) for words in given or (FIRST_DRILL,))
