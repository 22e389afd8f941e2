"""What comes with the program: its configuration, and the book of shapes with the player's own over it."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from pedaltrainer.neck.book import ShapeBook, read_shape_book
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING, Tuning
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song
from pedaltrainer.system.reading import is_missing

SHAPES_FILE = "shapes.toml"


def configs_folder() -> Path:
    """Where the shipped configuration lies: in the package when installed, beside it in a checkout."""
    installed = Path(str(resources.files("pedaltrainer"))) / "configs"
    return installed if installed.is_dir() else Path(__file__).parent.parent.parent / "configs"


def demo_songs() -> tuple[Song, ...]:
    """The songs of the made-up band, for rehearsals."""
    charts = sorted((configs_folder() / "songs").glob("*.chart"))
    return tuple(parse_chart(path.read_text(encoding="utf-8"), path.name) for path in charts)


def shape_book(folder: Path | None = None, tuning: Tuning = STANDARD_TUNING) -> ShapeBook:
    """The shipped shapes, with the player's own (`shapes.toml` in `folder`) laid over them.

    Raises InputError for a file that cannot be read.
    """
    book = read_shape_book(configs_folder() / SHAPES_FILE)
    own = folder / SHAPES_FILE if folder else None
    if own is not None and not is_missing(own):
        book = book.under(read_shape_book(own))
    return book.in_tuning(tuning)
