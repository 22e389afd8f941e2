"""A starter where a desktop keeps them, so that the program begins without a word typed.

Linux: a desktop entry and an icon (freedesktop.org, Desktop Entry Specification 1.5 and Icon Theme
Specification 0.13). macOS: an application bundle (Apple, Bundle Programming Guide) with a property list and
an icon file of one PNG (type "ic08", 256 px). Windows: a shortcut in the start menu, made by the
system's script host, with an icon file of one PNG (the form that Windows Vista began with). All from memory.
"""

from __future__ import annotations

import os
import plistlib
import shlex
import stat
import struct
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.system.files import refuse_existing, whole_file

NAME, COMMENT = "Pedaltrainer", "Every chord change clean and in time"
ICON_PX = 256
_MEND = "add --force to make it anew"


@dataclass(frozen=True, slots=True)
class Starting:
    """What is started: the interpreter and its words. icon_png: the picture, ICON_PX square."""

    command: tuple[str, ...]
    icon_png: bytes


def install(starting: Starting, home: Path, platform: str = sys.platform, force: bool = False) -> Path:
    """Put the starter in its place; returns where.

    Raises InputError when there is one already and it is not to be made anew, when it cannot be written, and
    on a platform that is none of the three.
    """
    maker = next((made for name, made in MAKERS.items() if platform.startswith(name)), None)
    if maker is None:
        raise InputError(f"No starter is known for {platform}; make one by hand that runs: pedaltrainer.")
    return maker(starting, home, force)


def _linux(starting: Starting, home: Path, force: bool) -> Path:
    data = Path(os.environ.get("XDG_DATA_HOME") or home / ".local/share")
    entry = data / "applications/pedaltrainer.desktop"
    icon = data / f"icons/hicolor/{ICON_PX}x{ICON_PX}/apps/pedaltrainer.png"
    if not force:
        refuse_existing(entry, _MEND)
    _write(icon, starting.icon_png)
    _write(
        entry,
        "\n".join(
            (
                "[Desktop Entry]",
                "Type=Application",
                "Version=1.5",
                f"Name={NAME}",
                f"Comment={COMMENT}",
                f"Exec={' '.join(map(desktop_quoted, starting.command))}",
                f"Icon={icon}",
                "Terminal=false",
                "Categories=AudioVideo;Audio;Music;Education;",
                "",
            )
        ).encode(),
    )
    return entry


def desktop_quoted(word: str) -> str:
    """A word of a desktop entry's Exec line: quoted, and what its reader would take for its own escaped."""
    inner = "".join(f"\\{letter}" if letter in '"`$\\' else letter for letter in word)
    # The value is a string of the entry first: there each backslash is written twice; a % would be a field.
    return f'"{inner}"'.replace("\\", "\\\\").replace("%", "%%")


def _macos(starting: Starting, home: Path, force: bool) -> Path:
    bundle = home / "Applications" / f"{NAME}.app"
    if not force:
        refuse_existing(bundle, _MEND)
    contents = bundle / "Contents"
    _write(
        contents / "Info.plist",
        plistlib.dumps(
            {
                "CFBundleName": NAME,
                "CFBundleIdentifier": "local.pedaltrainer",
                "CFBundlePackageType": "APPL",
                "CFBundleExecutable": "pedaltrainer",
                "CFBundleIconFile": "pedaltrainer",
            }
        ),
    )
    body = struct.pack(">4sI", b"ic08", 8 + len(starting.icon_png)) + starting.icon_png
    _write(contents / "Resources/pedaltrainer.icns", struct.pack(">4sI", b"icns", 8 + len(body)) + body)
    script = contents / "MacOS/pedaltrainer"
    _write(script, f"#!/bin/sh\nexec {shlex.join(starting.command)}\n".encode())
    script.chmod(script.stat().st_mode | stat.S_IXUSR | stat.S_IXGRP | stat.S_IXOTH)
    return bundle


def _windows(starting: Starting, home: Path, force: bool) -> Path:
    roaming = Path(os.environ.get("APPDATA") or home / "AppData/Roaming")
    shortcut = roaming / "Microsoft/Windows/Start Menu/Programs" / f"{NAME}.lnk"
    if not force:
        refuse_existing(shortcut, _MEND)
    icon = roaming / "pedaltrainer" / "pedaltrainer.ico"
    # One picture: 0 for 256 px wide and high, no palette, one plane, 32 bits, and where it begins.
    head = struct.pack("<HHH", 0, 1, 1) + struct.pack(
        "<BBBBHHII", 0, 0, 0, 0, 1, 32, len(starting.icon_png), 22
    )
    _write(icon, head + starting.icon_png)
    shortcut.parent.mkdir(parents=True, exist_ok=True)
    program, *words = starting.command
    script = ";".join(
        (
            f"$s=(New-Object -ComObject WScript.Shell).CreateShortcut({powershell_quoted(str(shortcut))})",
            f"$s.TargetPath={powershell_quoted(program)}",
            f"$s.Arguments={powershell_quoted(subprocess.list2cmdline(words))}",
            f"$s.IconLocation={powershell_quoted(str(icon))}",
            f"$s.Description={powershell_quoted(COMMENT)}",
            "$s.Save()",
        )
    )
    try:
        subprocess.run(
            ["powershell", "-NoProfile", "-NonInteractive", "-Command", script],
            check=True,
            capture_output=True,
            timeout=60,
        )
    except (OSError, subprocess.SubprocessError) as error:
        raise InputError(
            f"{shortcut} could not be made ({type(error).__name__}); make a shortcut by hand that runs: "
            f"{subprocess.list2cmdline(starting.command)}."
        ) from error
    return shortcut


def powershell_quoted(word: str) -> str:
    """A word as PowerShell takes it literally."""
    return "'" + word.replace("'", "''") + "'"


def _write(path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{path.parent} cannot be made ({error.strerror}); mend that first.") from error
    with whole_file(path, private=False, mend="make its folder writable") as file:
        file.write(content)


MAKERS: Mapping[str, Callable[[Starting, Path, bool], Path]] = {
    "linux": _linux,
    "darwin": _macos,
    "win32": _windows,
}
