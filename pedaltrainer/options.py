"""From the words of the command line, the log and what is remembered, to what a session is run with."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pedaltrainer.app import Options, player_name
from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import Drill, parse_drill
from pedaltrainer.practice.ladder import SLOWEST_BPM
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records import settings as remembered
from pedaltrainer.records.log import Log, default_folder
from pedaltrainer.rehearsal import MadeUpPlayer
from pedaltrainer.replay import settings_from_json
from pedaltrainer.screen.view import Sight
from pedaltrainer.session_state import FIRST_START_BPM, Settings

FIRST_DRILL = "Am E"
STEPS_BELOW_THE_BEST = 2
"""A drill known from before begins this many steps below the fastest rung last passed."""


@dataclass(frozen=True, slots=True)
class Known:
    """What the log tells before a session: the drills last practised, and where a drill's ladder begins."""

    last_drills: tuple[Drill, ...]
    start_bpm: Callable[[Drill, int], int]


# --- the session ---------------------------------------------------------------


def session_options(words: argparse.Namespace, made_up: MadeUpPlayer | None = None) -> Options:
    """Everything `play` and `rehearse` need. Raises InputError for what cannot be used."""
    folder = words.data or default_folder()
    kept = remembered.load(folder)
    player = words.player or player_name()
    known = _known(folder, player) if made_up is None else _NOTHING_KNOWN
    drills = _drills(words.drills, words.beats, known.last_drills)
    first_time = made_up is None and not kept.cautions_seen_utc
    settings = Settings(
        drills=drills,
        answer_style=AnswerStyle(words.answer or kept.answer_style),
        ladder=words.ladder,
        starts_bpm=tuple(words.start or known.start_bpm(drill, words.step) for drill in drills),
        step_bpm=words.step,
        landings=words.landings,
        beats_per_bar=words.metre,
        minutes=words.minutes,
        reaction_s=kept.reaction_ms / 1000,
        show_cautions=first_time,
        ask_sight=first_time and words.screen_inches is None and words.distance is None,
        seed=words.seed,
    )
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
    )


def lesson_options(words: argparse.Namespace) -> Options:
    """What `teach` needs: the stage and its pedals, and no drill to play."""
    folder = words.data or default_folder()
    kept = remembered.load(folder)
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


_NOTHING_KNOWN = Known((), lambda drill, step_bpm: FIRST_START_BPM)


def _known(folder: Path, player: str) -> Known:
    if not (folder / "log.sqlite3").exists():
        return _NOTHING_KNOWN
    with Log.open(folder, read_only=True) as log:
        sessions = log.sessions(player)
        last_drills = _drills_of(sessions[0].settings) if sessions else ()
        takes = log.takes(player=player)
    best: dict[str, tuple[str, float]] = {}
    for take in takes:
        session_id, fastest_bpm = best.get(take.drill, (take.session_id, 0.0))
        if take.session_id == session_id and take.outcome == "pass":
            best[take.drill] = (session_id, max(fastest_bpm, take.tempo_bpm))

    def start_bpm(drill: Drill, step_bpm: int) -> int:
        if drill.key not in best:
            return FIRST_START_BPM
        return max(SLOWEST_BPM, round(best[drill.key][1]) - STEPS_BELOW_THE_BEST * step_bpm)

    return Known(last_drills, start_bpm)


def _drills_of(settings: object) -> tuple[Drill, ...]:
    """The drills of an earlier session; none when an older program wrote them otherwise."""
    try:
        return settings_from_json(settings).drills if isinstance(settings, dict) else ()
    except InputError:
        return ()
