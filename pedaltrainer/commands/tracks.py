"""Practice tracks: `click` for a click alone, `track` for a drill or a passage of a song."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import (
    add_data_and_json,
    add_force,
    add_json,
    data_folder,
    refuse_written_over,
)
from pedaltrainer.commands.parser import Parser
from pedaltrainer.commands.printing import say, say_json, say_or_json
from pedaltrainer.commands.waiting import with_bar
from pedaltrainer.errors import InputError
from pedaltrainer.packs.own_kinds import own_kinds
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track, song_track
from pedaltrainer.songs import shelf
from pedaltrainer.songs.metre import FOUR_FOUR
from pedaltrainer.system.amounts import counted
from pedaltrainer.timing.backing.feels import Backing, Feel
from pedaltrainer.timing.click import DEFAULT_VOLUME
from pedaltrainer.timing.smf import write_smf
from pedaltrainer.timing.track import Track
from pedaltrainer.timing.wav import render_click, render_track

_TRACK = """\
Write a track to practise by: the click of the stage with its count-in, for a drill
or a song of yours. A MIDI file (.mid) has the tempo, the metre and the chords' names
in it, for any program that plays or notates MIDI; a WAV file (.wav) plays anywhere."""

DRILL_TAKES, SONG_TAKES = 10, 1


def click(parser: Parser) -> None:
    parser.runs(_click)
    add = parser.add_argument
    add("--tempo", type=read.number(20, 300, " BPM"), required=True, metavar="BPM", help="20 to 300")
    add("--bars", type=read.whole(1, 10_000), default=50, metavar="N", help="length in bars (50)")
    add("--out", type=Path, required=True, metavar="FILE", help="the WAV file to write")
    add_force(parser)
    add("--metre", type=read.beats_in_a_bar, default=4, metavar="N/M", help="beats in a bar (4/4)")
    add("--accent", choices=("on", "off"), default="on", help="accent the first beat of each bar (on)")
    add("--offbeat", choices=("on", "off"), default="on", help="a softer mark half-way between beats (on)")
    add("--count-in", type=read.whole(0, 16), default=4, metavar="N", help="beats of count-in (4)")
    add("--volume", type=read.number(0, 1), default=0.4, metavar="V", help="0 to 1 (0.4)")
    add_json(parser)


def track(parser: Parser) -> None:
    parser.runs(_track, _TRACK)
    add = parser.add_argument
    add("drill", nargs="?", metavar="DRILL", help='a drill such as "Am F"')
    add("--song", metavar="SONG", help="a song of yours instead: its title, or a part of it")
    add("--section", metavar="NAME", help="only this section of the song, such as Verse")
    add("--tempo", type=read.number(20, 300, " BPM"), metavar="BPM", help="20 to 300 (the song's own)")
    add("--takes", type=read.whole(1, 1000), metavar="N", help="how often, each counted in (10; a song 1)")
    add("--bars", type=read.whole(1, 10_000), metavar="N", help="bars in a take (as 8 landings need)")
    add("--beats", type=read.whole(1, 16), metavar="N", help="beats on each chord (1)")
    add("--metre", type=read.metre, metavar="N/M", help="the drill's metre (4/4); in 6/8 a beat is dotted")
    add("--volume", type=read.number(0, 1), metavar="V", help="of a WAV file, 0 to 1 (0.4)")
    add(
        "--backing",
        choices=[str(feel) for feel in Feel],
        help="of a WAV file: bass and drums under the click",
    )
    add(
        "--backing-level", type=read.number(0, 1), metavar="V", help="how loud they are beside it, 0 to 1 (1)"
    )
    add("--pad", action="store_true", help="with --backing: the chords too, softly")
    add("--out", type=_sound_file, required=True, metavar="FILE", help="what to write: .mid or .wav")
    add_force(parser)
    add_data_and_json(parser)


def _sound_file(words: str) -> Path:
    path = Path(words)
    if path.suffix.lower() not in {".mid", ".midi", ".wav"}:
        raise argparse.ArgumentTypeError(f"“{words}” will not do; name a file that ends in .mid or .wav.")
    return path


def _click(asked: argparse.Namespace) -> int:
    refuse_written_over(asked.out, asked)
    render_click(
        tempo_bpm=asked.tempo,
        bars=asked.bars,
        out=asked.out,
        beats_per_bar=asked.metre,
        accent=asked.accent == "on",
        offbeat=asked.offbeat == "on",
        count_in_beats=asked.count_in,
        volume=asked.volume,
    )
    if asked.json:
        say_json(json.dumps({"out": str(asked.out), "tempo_bpm": asked.tempo, "bars": asked.bars}))
    else:
        say(f"{asked.out}: {counted(asked.bars, 'bar')} at {asked.tempo:g} BPM.")
    return 0


def _track(asked: argparse.Namespace) -> int:
    refuse_written_over(asked.out, asked)
    track = _of_song(asked) if asked.song is not None else _of_drill(asked)
    if asked.out.suffix.lower() == ".wav":
        volume = DEFAULT_VOLUME if asked.volume is None else asked.volume
        render_track(asked.out, track, volume, with_bar, _backing(asked))
    else:
        if asked.volume is not None:
            raise InputError("A MIDI file has no volume of its own; leave out --volume.")
        if asked.backing is not None:
            raise InputError(
                "A backing is for a WAV file; leave out --backing, or name a file ending in .wav."
            )
        write_smf(asked.out, track)
    minutes, seconds = divmod(round(track.seconds), 60)
    plain = {
        "out": str(asked.out),
        "title": track.title,
        "bars": len(track.bars),
        "seconds": round(float(track.seconds), 3),
    }
    lasts = f"{len(track.bars)} bars with the count-in, {minutes}:{seconds:02}"
    say_or_json(f"{asked.out}: {track.title}; {lasts}.", plain, asked.json)
    return 0


def _backing(asked: argparse.Namespace) -> Backing | None:
    if asked.backing is None:
        if asked.pad or asked.backing_level is not None:
            raise InputError("Say which backing, such as --backing straight.")
        return None
    level = 1.0 if asked.backing_level is None else asked.backing_level
    return Backing(Feel(asked.backing), level, asked.pad)


def _of_drill(asked: argparse.Namespace) -> Track:
    if asked.drill is None:
        raise InputError('Name a drill, such as pedaltrainer track "Am F", or a song with --song.')
    if asked.section is not None:
        raise InputError("A drill has no sections; leave out --section, or name a song with --song.")
    if asked.tempo is None:
        raise InputError(f"“{asked.drill}” needs a tempo; give one, such as --tempo 84.")
    drill = parse_drill(asked.drill, asked.beats or 1, own_kinds(data_folder(asked)))
    return drill_track(drill, asked.tempo, asked.takes or DRILL_TAKES, asked.bars, asked.metre or FOUR_FOUR)


def _of_song(asked: argparse.Namespace) -> Track:
    if asked.drill is not None:
        raise InputError(f"Name a drill or a song, not both: “{asked.drill}” and “{asked.song}”.")
    for name in ("bars", "beats", "metre"):
        if getattr(asked, name) is not None:
            raise InputError(f"A song has its own {name}; leave out --{name}, or choose a --section.")
    song = shelf.find(data_folder(asked), asked.song)
    return song_track(song, asked.section, asked.tempo, asked.takes or SONG_TAKES)
