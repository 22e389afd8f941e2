"""Binding files: what the switches of one device do, as TOML that a player can read and edit.

A player's own files lie in `<data folder>/pedals/`, one a device; the presets
that are shipped lie in `configs/pedals/`. The form of both is the one that
`form.HEADER` explains. A file names its device; a preset may instead say which
device names it fits (`match`) or that its switches speak for themselves on
any device (`match_switches`). A preset with neither is only a start for the
player's own file.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import Binding, Bindings, default_bindings, fits
from pedaltrainer.pedals.midi.lights import LightRow
from pedaltrainer.pedals.taught.form import DeviceBinding, as_toml, parse_binding
from pedaltrainer.system.files import write_whole
from pedaltrainer.system.reading import is_missing, read_text

FOLDER = "pedals"
MOST_IN_NAME = 60
MOST_BYTES = 1_000_000


def slug(device: str) -> str:
    """A file name for a device: small letters, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", device.lower())[:MOST_IN_NAME].strip("-") or "pedal"


def own_path(data_folder: Path, device: str) -> Path:
    """Where the player's own binding of a device lies, or would lie.

    A file for this very device wins whatever it is called; else the slug, with
    a number when another device has it already.
    """
    taken = {}
    for path in _files(data_folder / FOLDER):
        with contextlib.suppress(InputError):
            if read_binding(path).device == device:
                return path
        taken[path.name] = path
    names = (f"{slug(device)}{suffix}.toml" for suffix in ("", *(f"-{n}" for n in range(2, 1000))))
    return data_folder / FOLDER / next(name for name in names if name not in taken)


def save_binding(data_folder: Path, binding: DeviceBinding) -> Path:
    """Write a device's binding in place of the one it had; the old file or the new one, never half of one.

    Lights are not taught: those written into the old file by hand are kept
    when the new binding has none. Raises InputError when the file cannot be
    read or written.
    """
    path = own_path(data_folder, binding.device)
    if not is_missing(path) and not binding.lights:
        binding = replace(binding, lights=read_binding(path).lights)
    write_whole(path, as_toml(binding))
    return path


def read_binding(path: Path) -> DeviceBinding:
    """Read one binding file. Raises InputError naming the file, the line and the mend."""
    return parse_binding(read_text(path, MOST_BYTES).replace("\r\n", "\n"), str(path))


def presets(configs_folder: Path) -> dict[str, DeviceBinding]:
    """The shipped presets by name. Raises InputError when one cannot be read."""
    return {path.stem: read_binding(path) for path in _files(configs_folder / FOLDER)}


def load_bindings(data_folder: Path, configs_folder: Path, device_names: Iterable[str] = ()) -> Bindings:
    """All rules: the player's own files, then the presets that fit, then the default.

    device_names: what is connected; a preset whose `match` fits a name gives
    its rules to that device, unless it has a file of its own. A preset with
    match_switches gives them to all.
    Raises InputError when a file cannot be read; `Bindings.matched` says what fitted.
    """
    own = [(path, read_binding(path)) for path in _files(data_folder / FOLDER)]
    rules: list[Binding] = []
    for path, binding in own:
        if not binding.device:
            raise InputError(f'{path}, line 1: the device is missing; add a line device = "its name".')
        rules += binding.rules(f"your own file {path.name}")
    shipped = presets(configs_folder)
    for device in dict.fromkeys(device_names):
        if any(fits(binding.device, device) for _, binding in own):
            continue
        name = preset_for(shipped, device)
        if name is not None:
            # What else is on the device stays usable: nobody has said what it is not for.
            rules += shipped[name].for_device(device).rules(f"preset {name}", alone=False)
    for name, preset in shipped.items():
        if preset.match_switches:
            rules += replace(preset, device="*").rules(f"preset {name}", alone=False)
    return Bindings((*rules, *default_bindings().rules))


def load_lights(data_folder: Path) -> tuple[LightRow, ...]:
    """The lights of the player's own files."""
    return tuple(row for path in _files(data_folder / FOLDER) for row in read_binding(path).lights)


def preset_for(shipped: Mapping[str, DeviceBinding], device: str) -> str | None:
    """The first preset whose `match` fits a device's name, whatever its capitals."""
    name = device.lower()
    return next(
        (key for key, preset in shipped.items() if any(fits(p.lower(), name) for p in preset.match)), None
    )


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.toml") if not path.name.startswith("."))
