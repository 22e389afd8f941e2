"""Readers of single values from the command line, each with one sentence for a value that is off."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable

from pedaltrainer.commands.parser import in_utf8
from pedaltrainer.errors import InputError
from pedaltrainer.neck.chords.tuning import Tuning, parse_tuning
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.songs.metre import MOST_BEATS, Metre, parse_metre
from pedaltrainer.timing.grid import FASTEST_BPM, SLOWEST_BPM


def number(low: float, high: float, unit: str = "") -> Callable[[str], float]:
    """A reader of numbers from low to high."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(
                f"“{text}” will not do; give a number from {low:g} to {high:g}{unit}."
            )
        return value

    return read


def whole(low: int, high: int, unit: str = "") -> Callable[[str], int]:
    """A reader of whole numbers from low to high."""
    read_number = number(low, high, unit)

    def read(text: str) -> int:
        value = read_number(text)
        if value != int(value):
            raise argparse.ArgumentTypeError(f"“{text}” will not do; give a whole number{unit}.")
        return int(value)

    return read


def metre(text: str) -> Metre:
    """A metre such as "3/4", "6/8" (two beats) or "6/8 in 6"; "3" stands for "3/4"."""
    words = text.strip()
    found = parse_metre(f"{words}/4" if words.isdecimal() else words)
    if found is None:
        raise argparse.ArgumentTypeError(
            f"“{text}” will not do; give a metre such as 4/4, 3/4 or 6/8, or the quarters in a bar, "
            f"{MOST_BEATS} at most."
        )
    return found


def beats_in_a_bar(text: str) -> int:
    """Beats in a bar, from "3" or "3/4"; the beat is what the tempo counts."""
    found = re.fullmatch(r"(\d{1,2})(?:/(?:1|2|4|8|16))?", text.strip())
    if found is None or not 1 <= int(found[1]) <= 16:
        raise argparse.ArgumentTypeError(
            f"“{text}” will not do; give a metre such as 4/4 or 3/4, or the beats in a bar."
        )
    return int(found[1])


def name(text: str) -> str:
    """A name that is not blank, and is text."""
    name = in_utf8(text).strip()
    if not name:
        raise argparse.ArgumentTypeError(f"“{text}” will not do; give a name.")
    return name


def tuning(text: str) -> Tuning:
    """A tuning such as "D A D G B E"."""
    try:
        return parse_tuning(text)
    except InputError as trouble:
        raise argparse.ArgumentTypeError(str(trouble)) from None


def is_drill(word: str) -> bool:
    """Is this a drill, such as "Am E"?"""
    try:
        return bool(parse_drill(word))
    except InputError:
        return False


tempo = whole(SLOWEST_BPM, FASTEST_BPM, " BPM")
