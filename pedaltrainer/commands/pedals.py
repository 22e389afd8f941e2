"""What is connected here: `pedals`, `teach` and `doctor`."""

from __future__ import annotations

import argparse
import json

from pedaltrainer.commands import values as read
from pedaltrainer.commands.asking import data_folder
from pedaltrainer.commands.parser import Commands, add_data, add_data_and_json, add_input

_PEDALS = """\
Every input that was found, with the preset or file its switches follow, and then
each message in words as it comes, until Control-C."""

_SECONDS = "listen so long, then end (0: only say what is here)"

_TEACH = """\
The stage asks for a press of each switch, works out what kind of switch it is, and
writes what was learnt to a file you can read and edit. The same lesson is in the
pause menu while you practise."""


def add_to(commands: Commands) -> None:
    pedals = commands.add(
        "pedals", _pedals, "what can be pressed here, and what each press says, live", _PEDALS
    )
    pedals.add_argument("--seconds", type=read.number(0, 86_400, " seconds"), metavar="S", help=_SECONDS)
    add_input(pedals)
    add_data_and_json(pedals)

    teach = commands.add("teach", _teach, "teach a pedal what it means, by pressing it", _TEACH)
    teach.add_argument("--terminal", action="store_true", help="without the stage (MIDI pedals only)")
    teach.add_argument("--windowed", action="store_true", help="a window instead of the whole screen")
    add_input(teach)
    add_data(teach)

    doctor = commands.add(
        "doctor", _doctor, "see what was found here (MIDI, sound, screen, log) and measure it"
    )
    add_data_and_json(doctor)
    measure_s = read.number(0.5, 600, " seconds")
    doctor.add_argument("--seconds", type=measure_s, default=3.0, metavar="S", help="how long to measure (3)")


def _pedals(asked: argparse.Namespace) -> int:
    from pedaltrainer.pedals import monitor
    from pedaltrainer.songs.shipped import configs_folder

    def say(words: str) -> None:
        if not asked.json:
            print(words, flush=True)

    seconds = 0.0 if asked.json else float("inf") if asked.seconds is None else asked.seconds
    folder = data_folder(asked)
    found, midi = monitor.look(folder, configs_folder(), asked.input, seconds, say)
    if asked.json:
        inputs = [{"device": one.device, "way": one.way, "matched": one.matched} for one in found]
        print(json.dumps({"midi": midi, "inputs": inputs}, indent=2))
    return 0


def _teach(asked: argparse.Namespace) -> int:
    from pedaltrainer.commands import options
    from pedaltrainer.live import app
    from pedaltrainer.pedals import monitor

    if asked.terminal:
        path = monitor.teach(data_folder(asked), asked.input, lambda words: print(words, flush=True))
        print(f"Kept in {path}." if path else "Nothing was learnt; nothing was changed.")
        return 0
    said = app.run(options.lesson_options(asked)).state.ack
    print(f"{said.words}." if said else "Nothing was learnt; nothing was changed.")
    return 0


def _doctor(asked: argparse.Namespace) -> int:
    from pedaltrainer.live import doctor

    examined = doctor.examine(data_folder(asked), seconds=asked.seconds)
    print(doctor.as_json(examined) if asked.json else doctor.in_words(examined))
    return 0
