"""Command lines by the thousand, drawn from the program's own parsers, with odd values in their places.

python -m tests.benchmarks.attacks.words [--cases N] [--seed S] [--only NUMBER]
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import shutil
from collections.abc import Iterator
from pathlib import Path

from pedaltrainer import cli
from tests.benchmarks.attacks import made, odd
from tests.benchmarks.attacks.harness import Trial, attack, device, tell

QUIET = {"--bars": ("1", "4"), "--takes": ("1", "2"), "--seconds": ("0", "0.5"), "--minutes": ("0.5", "1")}
"""Options whose large values ask for a long work: these values are drawn for them, or such as are refused."""
LONG = frozenset(
    {"--bars", "--takes", "--seconds", "--minutes", "--landings", "--weeks", "--days", "--count"}
)
_DRILLS = ("Am E", "F", "C G", "G[320003] C", "level A Bm", "shared C Am +1", "pressure F", "D A x4")
NUMBERS = ("0", "1", "2", "8", "84", "300", "-1", "1e9", "0.5", "1e-9", "nan", "3/4", "2026-03-01", "Robin")
FITTING = {
    "DRILL": _DRILLS, "CHORD": ("Am", "Bm7b5", "F#m7", "G[320003]"), "CHANGE": _DRILLS, "CHORDS": _DRILLS,
    "SONG": ("Low Water", "Salt", "Breakwater"), "PACK": ("a", "example"),
    "NAME": (*made.PLAYERS, "Verse", "Robin V"), "BPM": ("84", "20", "300", "120"),
    "N": ("1", "2", "8", "4"), "N/M": ("4/4", "3/4", "6/8"), "V": ("0.4", "1"),
    "DATE": ("2026-03-01", "2000-01-01"), "DAY": ("2026-12-12", "12 December", "none"), "M": ("1", "2.5"),
    "NOTES": ("D A D G B E", "E A D G B E"), "FRET": ("0", "3", "7"), "MM": ("110", "650", "7"),
    "MS": ("120",), "PAPER": ("a4", "letter"), "WORDS": ("Harbour nights", "Robin"), "IN": ("15.6",),
    "S": ("0", "0.5"),
}  # fmt: skip
"""Values that fit, by what the help calls them; any other name is a file's."""
SELDOM = {"doctor": 0.1, "pedals": 0.2, "teach": 0.3, "report": 0.5, "sheet": 0.5}


def parsers() -> dict[str, argparse.ArgumentParser]:
    """Every command that can be typed, with what reads its options."""
    found: dict[str, argparse.ArgumentParser] = {}

    def walk(parser: argparse.ArgumentParser, name: str) -> None:
        # A parser is made of its options at the first reading.
        with contextlib.suppress(SystemExit):
            parser.parse_known_args([])
        below = [action for action in parser._actions if isinstance(action, argparse._SubParsersAction)]
        for action in below:
            for word, one in action.choices.items():
                walk(one, f"{name} {word}".strip())
        for word, one in getattr(parser, "branches", {}).items():
            walk(one, f"{name} {word}")
        if not below and name:
            found[name] = parser

    silence = io.StringIO()
    with contextlib.redirect_stderr(silence), contextlib.redirect_stdout(silence):
        walk(cli.parser(), "")
    return found


class Lines:
    """Draws command lines."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.parsers = parsers()
        self.base = made.folder()

    def case(self, number: int, folder: Path) -> Trial:
        chance = random.Random(f"{self.seed}-{number}")
        data = folder / "data"
        shutil.copytree(self.base, data)
        self.places = list(self._places(folder, chance))
        names = list(self.parsers)
        weights = [SELDOM.get(name, 1.0) for name in names]
        (name,) = chance.choices(names, weights)
        words = [*name.split(), *self._options(self.parsers[name], folder, data, chance, name)]
        if chance.random() < 0.03:
            words = [odd.text(chance).replace("\x00", "") for _ in range(chance.randint(0, 4))]
            words += ["--data", str(data)]
        if "--today" in words:
            words.remove("--today")  # four weeks of practice take a minute to rehearse
        if words[:1] == ["pedals"] and "--json" not in words:
            words += ["--seconds", "0"]  # else it listens until it is interrupted
        return Trial([words], keep=self._to_keep(folder, words), note=name)

    def _to_keep(self, folder: Path, words: list[str]) -> list[Path]:
        """What no command may change: all that it is not told to write over, and whatever is no file."""
        given = (folder / "given").rglob("*")
        odd_ones = [folder / name for name in ("pipe.csv", "loop.toml", "zero.csv", "null.toml")]
        return [*(path for path in given if "--force" not in words or str(path) not in words), *odd_ones]

    def _places(self, folder: Path, chance: random.Random) -> Iterator[str]:
        given = folder / "given"
        given.mkdir()
        for path in self.base.parent.glob("inputs/*"):
            if chance.random() < 0.5:
                shutil.copy(path, given)
        yield from (str(path) for path in given.iterdir())
        (given / "there.txt").write_text("mine")
        for suffix in (
            ".csv",
            ".wav",
            ".mid",
            ".pdf",
            ".png",
            ".html",
            ".toml",
            ".zip",
            ".sqlite3",
            ".jsonl",
            ".svg",
        ):
            (given / f"there{suffix}").write_text("mine")
            yield str(given / f"there{suffix}")
            yield str(folder / f"new{suffix}")
            yield str(folder / f"{odd.NO_TEXT}{suffix}")
        kind = chance.random()
        if kind < 0.3:
            os.mkfifo(folder / "pipe.csv")
            yield str(folder / "pipe.csv")
        (folder / "loop.toml").symlink_to(folder / "loop.toml")
        yield str(folder / "loop.toml")
        for name, number in (("zero.csv", 5), ("null.toml", 3)):
            device(folder / name, number)
            yield str(folder / name)
        yield from (str(folder), str(folder / "no" / "where.csv"), "", ".")
        yield from (str(folder / ("n" * 300)), str(folder / ("n" * 300 + ".csv")))

    def _options(
        self, parser: argparse.ArgumentParser, folder: Path, data: Path, chance: random.Random, name: str
    ) -> Iterator[str]:
        if name == "rehearse" and chance.random() < 0.9:
            yield "--fast"
        has_data = False
        for action in parser._actions:
            if isinstance(action, (argparse._HelpAction, argparse._VersionAction)):
                continue
            if action.option_strings:
                if action.dest == "data":
                    has_data = True
                    continue
                if chance.random() > 0.15 and not action.required:
                    continue
                yield chance.choice(action.option_strings)
            elif action.nargs in ("?", "*") and chance.random() < 0.4:
                continue
            if action.nargs == 0:
                continue
            count = 1
            if action.nargs in ("*", "+"):
                count = chance.randint(action.nargs == "+", 3)
            for _ in range(count):
                yield self._value(action, chance).replace("\x00", "")
        if has_data:
            odd_folder = chance.random() < 0.08
            yield "--data"
            yield chance.choice(self.places) if odd_folder else str(data)

    def _value(self, action: argparse.Action, chance: random.Random) -> str:
        option = action.option_strings[0] if action.option_strings else ""
        if action.choices and chance.random() < 0.9:
            return str(chance.choice(list(action.choices)))
        fitting = FITTING.get(str(action.metavar or "").partition("|")[0].partition(".")[0])
        is_odd = chance.random() < 0.2
        if option in LONG:
            return odd.text(chance)[:40] if is_odd else chance.choice(QUIET.get(option, ("8",)))
        if is_odd:
            place, number = chance.choice(self.places), chance.choice(NUMBERS)
            # Never a place, or it may be one outside of the case's folder.
            nearly = odd.mutated(chance.choice(fitting or NUMBERS).encode(), chance)
            return chance.choice(
                (odd.text(chance), odd.NO_TEXT, place, number, nearly.decode(errors="surrogateescape"))
            )
        return chance.choice(fitting or self.places)


def main() -> None:
    reads = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    reads.add_argument("--cases", type=int, default=5_000)
    reads.add_argument("--seed", type=int, default=1)
    reads.add_argument("--only", type=int)
    asked = reads.parse_args()
    os.environ |= made.NO_DEVICES
    made.without_devices()
    numbers = range(asked.cases) if asked.only is None else [asked.only]
    tell("command lines", attack(Lines(asked.seed).case, list(numbers), print))


if __name__ == "__main__":
    main()
