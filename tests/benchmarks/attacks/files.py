"""Files by the thousand, made odd from good ones: charts, MusicXML, TOML, packs, bindings, takes to import,
recordings to hear.

    python -m tests.benchmarks.attacks.files [--cases N] [--seed S] [--only NUMBER] [--kind KIND]

What is accepted is used as well: a song is shown, planned for and tracked, takes are listed, reported and
exported and imported once more.
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import os
import random
import shutil
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from scipy.io import wavfile

from tests.benchmarks.attacks import made, odd
from tests.benchmarks.attacks.harness import Trial, attack, tell
from tests.ear.made_up import expected_of
from tests.ear.plucked import plucked
from tests.ear.strummed import Hand, Room, strummed
from tests.ear.tracked import HEXAPHONIC, ONE_CHANNEL, ROUGH, Played, as_midi, tracked

SHARES = {
    "chart": 12, "musicxml": 6, "mxl": 3, "settings": 5, "shapes": 4, "pack": 10, "binding": 5, "csv": 6,
    "jsonl": 6, "json": 2, "chords": 1, "notes": 4, "sound": 2,
}  # fmt: skip
"""How many of 66 files are of each kind."""
USED = 0.15
"""How many of the files are used after they were accepted, in more ways than the first."""


class Files:
    """Draws files and what is done with them."""

    def __init__(self, seed: int, only: str | None = None) -> None:
        self.seed, self.only = seed, only
        self.data = made.folder()
        inputs = self.data.parent / "inputs"
        charts = tuple(path.read_bytes() for path in sorted(inputs.glob("*.chart")))
        scores = tuple((inputs / name).read_bytes() for name in ("lantern_reel.xml", "low_water.musicxml"))
        presets = sorted((made.ROOT / "configs" / "pedals").glob("*.toml"))
        self.good: dict[str, tuple[bytes, ...]] = {
            "chart": charts,
            "musicxml": scores,
            "mxl": tuple(_compressed(score) for score in scores),
            "settings": ((self.data / "settings.toml").read_bytes() + _EVERY_SETTING,),
            "shapes": (
                (made.ROOT / "configs" / "shapes.toml").read_bytes()[:3000],
                (self.data / "shapes.toml").read_bytes(),
            ),
            "pack": ((inputs / "pack.toml").read_bytes(),),
            "binding": (
                (self.data / "pedals" / "mine.toml").read_bytes(),
                *(path.read_bytes() for path in presets),
            ),
            "csv": (_lines((inputs / "takes.csv").read_bytes(), 4),),
            "jsonl": (_lines((inputs / "takes.jsonl").read_bytes(), 4),),
            "json": (_as_list((inputs / "takes.jsonl").read_bytes()),),
            "notes": _played_notes(),
            "sound": (_sound(),),
            "chords": (b"# a row\nEm C | G D . / % |\n",),
        }

    def case(self, number: int, folder: Path) -> Trial:
        chance = random.Random(f"{self.seed}-{number}")
        kind = self.only or chance.choices(list(SHARES), list(SHARES.values()))[0]
        good = self.good[kind]
        content = chance.choice(good)
        if kind in _CELLS and chance.random() < 0.6:
            content = _CELLS[kind](content, chance)
        else:
            content = odd.mutated(content, chance, good)
        return _PLACED[kind](self, folder, content, chance.random() < USED)

    def _own(self, folder: Path) -> Path:
        """A data folder of its own, as a player has it."""
        shutil.copytree(self.data, folder / "data")
        return folder / "data"

    def _given(self, folder: Path, name: str, content: bytes) -> Path:
        path = folder / name
        path.write_bytes(content)
        return path


def _song(suffix: str) -> Callable[[Files, Path, bytes, bool], Trial]:
    def trial(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
        path = self._given(folder, f"odd{suffix}", content)
        data = folder / "data"
        here = ["--data", str(data)]
        commands = [["song", "add", str(path), *here]]
        if used:
            track = str(folder / "odd.mid")
            commands += [
                ["song", "list", *here], ["song", "show", "", "--fingers", *here], ["song", "ready", *here],
                ["plan", *here], ["track", "--song", "", "--out", track, *here],
                ["song", "list", "--json", *here], ["pack", "export", str(folder / "odd.toml"), *here],
                ["pack", "check", str(folder / "odd.toml")],
            ]  # fmt: skip
        return Trial(commands, keep=[path], note=suffix)

    return trial


def _settings(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
    path = self._given(folder, "settings.toml", content)
    here = ["--data", str(folder)]
    commands = [["shape", "C", *here]]
    if used:
        commands += [["plan", *here], ["play", "Am E", *here]]
    return Trial(commands, keep=[path] if not used else [], note="settings")


def _shapes(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
    path = self._given(folder, "shapes.toml", content)
    here = ["--data", str(folder)]
    commands = [["shape", "Am", *here]]
    if used:
        commands += [["moves", "Am E", *here], ["route", "Em C G D", *here]]
    return Trial(commands, keep=[path], note="shapes")


def _pack(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
    path = self._given(folder, "odd.toml", content)
    here = ["--data", str(folder / "data")]
    commands = [["pack", "check", str(path)], ["pack", "use", str(path), *here]]
    if used:
        commands += [
            ["pack", "list", *here], ["plan", *here], ["song", "list", *here], ["song", "ready", *here],
            ["pack", "list", "--json", *here], ["pack", "drop", "", *here],
        ]  # fmt: skip
    return Trial(commands, keep=[path], note="pack")


def _binding(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
    (folder / "pedals").mkdir()
    path = self._given(folder / "pedals", "odd.toml", content)
    return Trial([["pedals", "--json", "--data", str(folder)]], keep=[path], note="binding")


def _takes(suffix: str) -> Callable[[Files, Path, bytes, bool], Trial]:
    def trial(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
        path = self._given(folder, f"odd{suffix}", content)
        here = ["--data", str(folder / "data")]
        commands = [["import", str(path), *here]]
        if used:
            out = str(folder / f"out{'.csv' if suffix == '.csv' else '.jsonl'}")
            commands += [
                ["log", *here], ["log", "--csv", *here], ["progress", "--player", "Robin", *here],
                ["report", "--player", "Robin", "--out", str(folder / "r.html"), *here],
                ["report", "--players", "--out", str(folder / "p.html"), *here],
                ["player", "list", *here], ["plan", "--player", "Robin", *here], ["log", "check", *here],
                ["export", out, *here], ["import", out, "--data", str(folder / "again")],
            ]  # fmt: skip
        return Trial(commands, keep=[path], note=suffix)

    return trial


def _chords(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
    path = self._given(folder, "odd.txt", content)
    return Trial([["route", str(path), "--data", str(folder)]], keep=[path], note="chords")


def _recording(suffix: str) -> Callable[[Files, Path, bytes, bool], Trial]:
    def trial(self: Files, folder: Path, content: bytes, used: bool) -> Trial:
        path = self._given(folder, f"odd{suffix}", content)
        listen = ["listen", str(path), "--drill", "C F", "--tempo", "90", "--data", str(folder)]
        commands = [listen, [*listen, "--reference", str(path), "--json"]]
        return Trial(commands, keep=[path], note=suffix)

    return trial


_PLACED: dict[str, Callable[[Files, Path, bytes, bool], Trial]] = {
    "chart": _song(".chart"), "musicxml": _song(".musicxml"), "mxl": _song(".mxl"), "settings": _settings,
    "shapes": _shapes, "pack": _pack, "binding": _binding, "csv": _takes(".csv"), "jsonl": _takes(".jsonl"),
    "json": _takes(".json"), "chords": _chords, "notes": _recording(".mid"),
    "sound": _recording(".wav"),
}  # fmt: skip

_EVERY_SETTING = (
    b"screen_inches = 24\ndistance_m = 2.5 # metres\nreaction_ms = 250.0\nanswer_style = 'speak-up'\n"
    b'answer_sounds = false\nleft_handed = true\ntuning = "D A D G B E"\n'
)


def _odd_rows(rows: list[dict[str, object]], chance: random.Random) -> None:
    """One to three values of the rows made others."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        row = chance.choice(rows)
        name = chance.choice(list(row))
        value = chance.choice(odd.VALUES)
        row[name] = value.decode("latin-1") if isinstance(value, bytes) else value


def _odd_jsonl(content: bytes, chance: random.Random) -> bytes:
    rows = [json.loads(line) for line in content.splitlines()]
    _odd_rows(rows, chance)
    return "\n".join(map(json.dumps, rows)).encode()


def _odd_json(content: bytes, chance: random.Random) -> bytes:
    rows = json.loads(content)
    _odd_rows(rows, chance)
    return json.dumps(rows).encode()


def _odd_csv(content: bytes, chance: random.Random) -> bytes:
    rows: list[dict[str, object]] = [
        dict(row) for row in csv.DictReader(io.StringIO(content.decode(), newline=""))
    ]
    _odd_rows(rows, chance)
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode("utf-8", "surrogatepass")


_CELLS = {"jsonl": _odd_jsonl, "json": _odd_json, "csv": _odd_csv}
"""Files in which a value can be made another, with all else as it was."""


def _compressed(score: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "META-INF/container.xml",
            '<container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles></container>',
        )
        archive.writestr("score.musicxml", score)
    return out.getvalue()


@cache
def _played_notes() -> tuple[bytes, ...]:
    """Takes of C and F at 90 BPM, a channel a string and all on one."""
    guitars = (Played(np.random.default_rng(1), ROUGH, channels) for channels in (HEXAPHONIC, ONE_CHANNEL))
    return tuple(as_midi(tracked(expected_of("C F", 90), guitar, 0.1)[0]) for guitar in guitars)


@cache
def _sound() -> bytes:
    """The same as sound, 8000 samples a second."""
    out = io.BytesIO()
    hand = Hand(plucked(), np.random.default_rng(1))
    wave, _ = strummed(expected_of("C F", 90), hand, Room())
    wavfile.write(out, 8_000, np.round(wave[::6] * 32_767).astype(np.int16))
    return out.getvalue()


def _lines(data: bytes, count: int) -> bytes:
    return b"\n".join(data.split(b"\n")[:count]) + b"\n"


def _as_list(jsonl: bytes) -> bytes:
    takes = [line for line in jsonl.split(b"\n") if line and b'"settings"' not in line]
    return b"[" + b",\n".join(takes[:3]) + b"]"


def main() -> None:
    reads = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    reads.add_argument("--cases", type=int, default=50_000)
    reads.add_argument("--first", type=int, default=0)
    reads.add_argument("--seed", type=int, default=1)
    reads.add_argument("--only", type=int)
    reads.add_argument("--kind", choices=tuple(SHARES))
    asked = reads.parse_args()
    os.environ |= made.NO_DEVICES
    made.without_devices()
    numbers = range(asked.first, asked.first + asked.cases) if asked.only is None else [asked.only]
    tell("files", attack(Files(asked.seed, asked.kind).case, list(numbers), print))


if __name__ == "__main__":
    main()
