"""What every picture on paper shares: its inks, its typeface, the files it can become."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

import platformdirs

from pedaltrainer.errors import InputError
from pedaltrainer.system.files import OTHER_FILE, whole_file

# matplotlib keeps a list of the machine's fonts. Unless it is told where, before it is imported, it makes
# folders of its own in the player's home.
os.environ.setdefault(
    "MPLCONFIGDIR", str(platformdirs.user_cache_path("pedaltrainer", appauthor=False) / "matplotlib")
)

INK, ACCENT, FAINT, GROUND = "#14110f", "#8a5a12", "#bcae98", "#ffffff"
"""The stage's warm colours on white: a picture is printed and put on a music stand. What is told by a
colour is told by shape or lightness too, so that it reads in grey."""

UNDATED: dict[str, dict[str, None]] = {".png": {}, ".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
"""The kinds of file, each with what it must leave out so that the same picture gives the same bytes."""


def check_kind(path: Path, kinds: tuple[str, ...] = tuple(UNDATED)) -> None:
    """Raises InputError when `path` does not end in one of `kinds`."""
    if path.suffix.lower() not in kinds:
        named = f"{', '.join(kinds[:-1])} or {kinds[-1]}"
        raise InputError(f"{path} is no picture this program makes; name a file ending in {named}.")


@contextmanager
def our_look(salt: str) -> Iterator[None]:
    """Draw in our typeface and inks; `salt` makes the names inside an SVG the same every time."""
    # Half a second to import: only who asks for a picture waits for it.
    import matplotlib as mpl
    from matplotlib import font_manager

    for name in ("B612-Regular.otf", "B612-Bold.otf"):
        font_manager.fontManager.addfont(str(files("pedaltrainer.screen") / "fonts" / name))
    look: dict[Any, Any] = {
        # The second is matplotlib's own, for signs that ours does not have.
        "font.family": ["B612", "DejaVu Sans"],
        "text.color": INK,
        "axes.labelcolor": INK,
        "text.hinting": "none",
        "svg.hashsalt": salt,
    }
    with mpl.rc_context(look), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def save(figure: Any, path: Path, title: str = "") -> None:
    """Write a figure to a file of one of the kinds in `UNDATED`, without the date of drawing.

    Raises InputError when the file cannot be written.
    """
    with whole_file(path, private=False, mend=OTHER_FILE) as file:
        figure.savefig(file, format=path.suffix[1:].lower(), metadata=_about(path, title) or None)


def save_pages(figures: Iterable[Any], path: Path, title: str = "") -> None:
    """Write figures as the pages of a PDF, without the date of drawing.

    Raises InputError when the file cannot be written.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    with (
        whole_file(path, private=False, mend=OTHER_FILE) as file,
        PdfPages(file, metadata=_about(path, title)) as pages,
    ):
        for figure in figures:
            pages.savefig(figure)


def _about(path: Path, title: str) -> dict[str, str | None]:
    about: dict[str, str | None] = dict(UNDATED[path.suffix.lower()])
    return about | {"Title": title} if title else about
