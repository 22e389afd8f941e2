"""From the words of the command line, the log and what is remembered, to what a session is run with."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from pedaltrainer.commands.asking import player_name
from pedaltrainer.history.known import NOTHING_KNOWN, read_known
from pedaltrainer.history.today import as_session, plan_for, usual_minutes
from pedaltrainer.live.options import Options
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.packs.shelf import in_use
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records import preferences
from pedaltrainer.records.log import default_folder
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.session.settings import Settings
from pedaltrainer.songs import shelf, shipped
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.songs.song import Song

FIRST_DRILL = "Am E"
REHEARSAL = "rehearsal"


# --- the session ---------------------------------------------------------------


def session_options(words: argparse.Namespace, made_up: MadeUpPlayer | None = None) -> Options:
    """Everything `play` and `rehearse` need. Raises InputError for what cannot be used."""
    folder = words.data or default_folder()
    kept = preferences.load(folder)
    # A made-up player's takes must never pass for somebody's own.
    player = words.player or (player_name() if made_up is None else REHEARSAL)
    songs = _songs_to_plan_for(words, folder, made_up)
    packs = in_use(folder) if made_up is None and not words.drills else ()
    planned = bool(songs or any(pack.drills for pack in packs))
    known = read_known(folder, player) if made_up is None and not planned else NOTHING_KNOWN
    drills = _drills(words.drills, words.beats, known.last_drills)
    shapes = shape_book(folder, words.tuning or parse_tuning(kept.tuning))
    first_time = made_up is None and not kept.cautions_seen_utc
    settings = Settings(
        drills=drills,
        answer_style=AnswerStyle(words.answer or kept.answer_style),
        ladder=words.ladder,
        mode=words.mode,
        starts_bpm=tuple(words.start or known.start_bpm(drill, words.step) for drill in drills),
        start_named=words.start is not None,
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
        minutes, now = words.minutes or usual_minutes(packs), datetime.now().astimezone()
        settings = as_session(settings, plan_for(songs, folder, player, minutes, now, shapes, packs))
    # A drill that these shapes do not allow is refused, and the others are looked up, before anything opens.
    for drill in settings.drills:
        hands(drill, shapes)
    sound_delay_s = None if words.sound_delay is None else words.sound_delay / 1000
    return Options(
        settings=settings,
        player=player,
        folder=folder,
        settings_folder=folder,
        volume=kept.volume if words.volume is None else words.volume,
        answer_sounds=kept.answer_sounds and not words.no_answer_sounds,
        sound_delay_s=sound_delay_s,
        windowed=words.windowed,
        sight=Sight(words.screen_inches or kept.screen_inches, words.distance or kept.distance_m),
        input_wanted=words.input,
        made_up=made_up,
        shapes=shapes,
        left_handed=words.left_handed or kept.left_handed,
    )


def _songs_to_plan_for(
    words: argparse.Namespace, folder: Path, made_up: MadeUpPlayer | None
) -> tuple[Song, ...]:
    """The songs that today's session is planned for; none when drills are named or today is not meant."""
    if words.drills:
        return ()
    if made_up is not None:
        return shipped.demo_songs() if words.today else ()
    return shelf.songs(folder)


def lesson_options(words: argparse.Namespace) -> Options:
    """What `teach` needs: the stage and its pedals, and no drill to play."""
    folder = words.data or default_folder()
    kept = preferences.load(folder)
    return Options(
        settings=Settings(drills=(parse_drill(FIRST_DRILL),), teach=True),
        player=player_name(),
        folder=folder,
        settings_folder=folder,
        volume=kept.volume,
        windowed=words.windowed,
        sight=Sight(kept.screen_inches, kept.distance_m),
        input_wanted=words.input,
    )


def _drills(given: Sequence[str], beats_per_chord: int, last: tuple[Drill, ...]) -> tuple[Drill, ...]:
    if not given and last:
        return last
    return tuple(parse_drill(words, beats_per_chord) for words in given or (FIRST_DRILL,))
