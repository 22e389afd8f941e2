"""Packs on this machine: read from a teacher's file, taken into use, kept in the folder `packs`, and dropped.

A pack in use is kept whole, charts and all. What is dropped or replaced is moved aside, never lost.
"""

from __future__ import annotations

import contextlib
import dataclasses
import tempfile
import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import ShapeBook, read_shape_book
from pedaltrainer.neck.chords.symbols import parse_chord, parse_chosen
from pedaltrainer.neck.lookup import as_chosen
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.packs.pack import LONGEST_PACK, Pack, PackSong, Read, read_pack, shape_lines, write_pack
from pedaltrainer.practice.hands import hands
from pedaltrainer.songs import shelf
from pedaltrainer.songs.shipped import SHAPES_FILE, shape_book
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.system.files import file_stem, free_name, put_away, write_whole
from pedaltrainer.system.reading import as_text, is_missing, parse_toml, read_some

FOLDER, DROPPED, SUFFIX = "packs", "dropped", ".toml"


def read_file(path: Path) -> Read:
    """Read a teacher's file and the charts beside it. Raises InputError when it cannot be read."""
    return read_pack(_text(path), str(path), lambda name: _beside(path.parent, name))


def read_whole(path: Path) -> Pack:
    """The pack in a file. Raises InputError with the first of its troubles."""
    pack, troubles = read_file(path)
    if pack is None:
        more = f" ({len(troubles)} troubles in all: pedaltrainer pack check {path})"
        raise InputError(troubles[0] + (more if len(troubles) > 1 else ""))
    return pack


def _text(path: Path) -> str:
    return as_text(path, read_some(path, 4 * LONGEST_PACK), "pack")


def _beside(folder: Path, name: str) -> str:
    """The chart in a file beside the pack; a pack from anybody reads no other file of the pupil's."""
    plain = PurePosixPath(name.replace("\\", "/"))
    if plain.is_absolute() or ".." in plain.parts or ":" in name or "\0" in name:
        raise InputError(f"“{name}” is not beside the pack; put the chart into its folder")
    path = folder / plain
    if path.suffix.lower() in shelf.SCORES:
        from pedaltrainer.songs.musicxml import read_musicxml  # seldom needed

        return write_chart(read_musicxml(path))
    return _text(path)


# --- in use -----------------------------------------------------------------------------


def _kept(folder: Path) -> Iterator[tuple[Path, Pack | str]]:
    for file in sorted((folder / FOLDER).glob(f"*{SUFFIX}")):
        try:
            yield file, read_whole(file)
        except InputError as error:
            yield file, str(error)


class InUse(NamedTuple):
    """The packs in use, by title, and a sentence for each file among them that cannot be read."""

    packs: tuple[Pack, ...]
    troubles: tuple[str, ...]


def in_use(folder: Path) -> InUse:
    """The packs in use."""
    kept = [found for _, found in _kept(folder)]
    packs = sorted((one for one in kept if isinstance(one, Pack)), key=lambda pack: pack.title.casefold())
    return InUse(tuple(packs), tuple(one for one in kept if isinstance(one, str)))


def drop(folder: Path, words: str) -> Pack:
    """Move a pack out of use: the one with this title, or with these words in it.

    Raises InputError when there is none or more than one, or it cannot be moved.
    """
    kept = [(file, pack) for file, pack in _kept(folder) if isinstance(pack, Pack)]
    wanted = words.casefold().split()
    exact = [one for one in kept if one[1].title.casefold().split() == wanted]
    found = exact or [one for one in kept if all(word in one[1].title.casefold() for word in wanted)]
    if len(found) != 1:
        titles = ", ".join(f"“{pack.title}”" for _, pack in (found or kept)) or "none in use"
        raise InputError(f"“{words}” names {len(found)} packs; name one by its title: {titles}.")
    ((file, pack),) = found
    put_away(file, file.parent / DROPPED)
    return pack


# --- taking one into use ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Taking:
    """What taking a pack into use adds, puts in place of the own, and leaves as the player has it.

    pack: as it is kept. Its drills name the frets of its shapes where the player has another shape of that
    chord and keeps it: what was played of a drill belongs to the shapes it was played with.
    """

    pack: Pack
    new_songs: tuple[PackSong, ...]
    other_songs: tuple[PackSong, ...]
    new_shapes: Mapping[str, Shape]
    other_shapes: Mapping[str, Shape]
    replace: bool
    is_again: bool
    """A pack of this title is in use: it is moved aside."""


def taking(folder: Path, pack: Pack, replace: bool, played: Collection[str] = ()) -> Taking:
    """What `use` would do. played: the chords that were played here by the shapes there are.

    Raises InputError for own shapes that cannot be read, and for a drill that the shapes in standard tuning
    cannot be put to.
    """
    book = shape_book().under(ShapeBook(pack.shapes))
    for drill in pack.drills:
        hands(drill.drill, book)
    own = {_name(song): song for song in shelf.songs(folder)}
    new = tuple(one for one in pack.songs if _name(one.song) not in own)
    others = (one for one in pack.songs if _name(one.song) in own)
    other = tuple(one for one in others if own[_name(one.song)] != one.song)
    shapes = {**_of(shape_book().shapes, played), **_own_shapes(folder)}
    other_shapes = {chord: shape for chord, shape in pack.shapes.items() if shapes.get(chord, shape) != shape}
    return Taking(
        pack if replace else _with_frets(pack, other_shapes),
        new,
        other,
        {chord: shape for chord, shape in pack.shapes.items() if chord not in shapes},
        other_shapes,
        replace,
        any(one.title == pack.title for one in in_use(folder).packs),
    )


def _of(shapes: Mapping[str, Shape], chords: Collection[str]) -> dict[str, Shape]:
    return {chord: shape for chord, shape in shapes.items() if chord in chords}


def _with_frets(pack: Pack, shapes: Mapping[str, Shape]) -> Pack:
    """The pack with its drills naming the frets and fingers of these shapes; chords that name theirs stay."""

    def named(chord: str) -> str:
        chosen = parse_chosen(chord)
        shape = shapes.get(str(chosen.symbol)) if chosen.frets is None else None
        return chord if shape is None else as_chosen(chord, shape)

    drills = tuple(
        dataclasses.replace(
            one, drill=dataclasses.replace(one.drill, chords=tuple(map(named, one.drill.chords)))
        )
        for one in pack.drills
    )
    return dataclasses.replace(pack, drills=drills)


def use(folder: Path, what: Taking, today: date) -> None:
    """Take a pack into use. Doing it again does nothing more; the pack itself is kept last.

    Raises InputError when something cannot be written; what was added before stays.
    """
    for one in (*what.new_songs, *(what.other_songs if what.replace else ())):
        with tempfile.TemporaryDirectory(prefix="pedaltrainer-pack-") as scratch:
            chart = Path(scratch) / "song.chart"
            chart.write_text(one.chart, encoding="utf-8")
            shelf.add(folder, chart, today, replace=what.replace)
    shapes = {**what.new_shapes, **(what.other_shapes if what.replace else {})}
    if shapes:
        _add_shapes(folder, shapes)
    for file, pack in list(_kept(folder)):
        if isinstance(pack, Pack) and pack.title == what.pack.title:
            put_away(file, file.parent / DROPPED)
    target = free_name(folder / FOLDER, file_stem(what.pack.title, "pack"), SUFFIX)
    write_whole(target, write_pack(what.pack))


def _name(song: Song) -> str:
    return " ".join(song.title.casefold().split())


def _own_shapes(folder: Path) -> Mapping[str, Shape]:
    path = folder / SHAPES_FILE
    return {} if is_missing(path) else read_shape_book(path).shapes


def _add_shapes(folder: Path, shapes: Mapping[str, Shape]) -> None:
    """Write shapes into the player's own file; tables of the same chords go, the old file is kept."""
    path = folder / SHAPES_FILE
    before = "# Your own shapes.\n" if is_missing(path) else _text(path)
    if set(shapes) & set(_own_shapes(folder)):
        write_whole(free_name(folder / FOLDER / DROPPED, "shapes", SUFFIX), before)
    lines = _without(before, shapes)
    for chord, shape in shapes.items():
        lines += ["", f'["{chord}"]', *shape_lines(shape)]
    write_whole(path, "\n".join(lines) + "\n")


def _without(text: str, chords: Mapping[str, Shape]) -> list[str]:
    """The lines of a shape file but for the tables of these chords."""
    kept, goes = [], False
    for line in text.rstrip("\n").split("\n"):
        if line.lstrip().startswith("["):
            with contextlib.suppress(tomllib.TOMLDecodeError, InputError):
                (name,) = parse_toml(line)
                goes = str(parse_chord(name)) in chords
        if not goes:
            kept.append(line)
    return kept
