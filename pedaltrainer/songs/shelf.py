"""The player's songs: chart files in the folder `songs` of their data folder. Thin shell over the charts.

A chart is kept as the player wrote it, a score as the chart made from it. What is removed or replaced is
moved to `songs/removed`, never lost.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pedaltrainer.errors import InputError
from pedaltrainer.songs.chart import LONGEST_CHART, parse_chart
from pedaltrainer.songs.heads import USUAL_BPM
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import TITLE_LINE, with_bars_a_chord, with_day, with_tempo_times, write_chart
from pedaltrainer.system.files import file_stem, free_name, put_away, write_whole
from pedaltrainer.system.reading import read_some

SUFFIX = ".chart"
REMOVED = "removed"
SCORES = frozenset({".musicxml", ".mxl", ".xml"})
"""Files that are read as MusicXML; so are others that begin as such a file does."""
_XML_BEGINS = (b"<?", b"<!", b"<score-")
_SCORE_BEGINS = (
    b"PK",
    *_XML_BEGINS,
    *(b"\xef\xbb\xbf" + one for one in _XML_BEGINS),
    b"\xff\xfe<",
    b"\xfe\xff\x00<",
)
"""A chart may begin with <Verse>."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """What is kept: the songs by title, and a sentence for each file that cannot be read."""

    songs: tuple[Song, ...]
    troubles: tuple[str, ...]


class SongIsThereError(InputError):
    """A song of this title is kept already."""


def add(
    folder: Path,
    path: Path,
    today: date,
    by: date | None = None,
    replace: bool = False,
    bars_a_chord: str | None = None,
) -> Song:
    """Read a chart or a MusicXML score, told apart by name and content, and keep it in the data folder.

    by: when it has to be ready, instead of what the file says. bars_a_chord: how many bars a chord lasts in a
    chart without bar lines. replace: a song of the same title goes to
    `songs/removed` first. Raises InputError when the file cannot be read, when there is such a song and it is
    not to be replaced, or when the song cannot be written.
    """
    song, text = _read(path, today)
    if bars_a_chord is not None:
        text = with_bars_a_chord(text, bars_a_chord)
        song = parse_chart(text, str(path), today)
    if by is not None:
        song, text = dataclasses.replace(song, by=by), with_day(text, by)
    before = [
        file for file, kept in _kept(folder) if isinstance(kept, Song) and _same(kept.title, song.title)
    ]
    if before and not replace:
        raise SongIsThereError(
            f"There is a song “{song.title}” already; give the one in {path} another title, "
            "or add it with --replace."
        )
    for file in before:
        write_whole(free_name(file.parent / REMOVED, file.stem, SUFFIX), _text(file, _bytes(file)))
    # The old file is written over only when its copy is safe, so that there is always one of them.
    target = before[0] if before else free_name(folder / "songs", file_stem(song.title, "song"), SUFFIX)
    write_whole(target, text)
    for file in before[1:]:
        put_away(file, file.parent / REMOVED)
    return song


def set_day(folder: Path, words: str, day: date | None) -> Song:
    """Write into a song's file when it has to be ready, None for no day; the rest of the file stays.

    Raises InputError as `find` does, or when the file cannot be written.
    """
    file, song = _file_of(folder, words)
    write_whole(file, with_day(_text(file, _bytes(file)), day))
    return dataclasses.replace(song, by=day)


def set_tempo(folder: Path, words: str, share: float) -> Song:
    """Write every tempo of a song's file anew, so much faster; the rest of the file stays.

    Raises InputError as `find` does, when a tempo is then none, or when the file cannot be written.
    """
    file, _ = _file_of(folder, words)
    text = with_tempo_times(_text(file, _bytes(file)), share, USUAL_BPM)
    song = parse_chart(text, str(file))
    write_whole(file, text)
    return song


def set_bars_a_chord(folder: Path, words: str, bars: str) -> Song:
    """Write into a song's file how many bars a chord lasts where it has no bar lines.

    Raises InputError as `find` does, or when the file cannot be written.
    """
    file, _ = _file_of(folder, words)
    text = with_bars_a_chord(_text(file, _bytes(file)), bars)
    song = parse_chart(text, str(file))
    write_whole(file, text)
    return song


def keep(folder: Path, song: Song) -> Path:
    """Write a song that was made here as a chart; returns its file. Raises InputError when it cannot be."""
    target = free_name(folder / "songs", file_stem(song.title, "song"), SUFFIX)
    write_whole(target, write_chart(song))
    return target


def rewrite(folder: Path, words: str, song: Song) -> None:
    """Write a song's chart anew; as it was it goes to `songs/removed` first.

    Raises InputError as `find` does, or when a file cannot be written.
    """
    file, _ = _file_of(folder, words)
    write_whole(free_name(file.parent / REMOVED, file.stem, SUFFIX), _text(file, _bytes(file)))
    write_whole(file, write_chart(song))


def look(folder: Path) -> Shelf:
    """All songs of the data folder, and what is wrong with the files that are none."""
    kept = [found for _, found in _kept(folder)]
    songs = sorted(
        (found for found in kept if isinstance(found, Song)), key=lambda song: song.title.casefold()
    )
    return Shelf(tuple(songs), tuple(found for found in kept if isinstance(found, str)))


def songs(folder: Path) -> tuple[Song, ...]:
    """All songs that can be read, by title."""
    return look(folder).songs


def find(folder: Path, words: str) -> Song:
    """The one song with this title, or the one whose title has these words in it, in any case.

    Raises InputError when there is none or more than one: of a file that cannot be read, what is wrong in it.
    """
    return _file_of(folder, words)[1]


def remove(folder: Path, words: str) -> Song:
    """Move the file of the song that `find` finds to `songs/removed`.

    Raises InputError as `find` does, or when the file cannot be moved.
    """
    file, song = _file_of(folder, words)
    put_away(file, file.parent / REMOVED)
    return song


def _file_of(folder: Path, words: str) -> tuple[Path, Song]:
    files = list(_kept(folder))
    kept = [(file, song) for file, song in files if isinstance(song, Song)]
    wanted = words.casefold().split()
    exact = [found for found in kept if _same(found[1].title, words)]
    found = exact or [one for one in kept if all(word in one[1].title.casefold() for word in wanted)]
    if len(found) == 1:
        return found[0]
    for _, broken in files:
        if isinstance(broken, str) and all(word in broken.casefold() for word in wanted):
            raise InputError(broken)
    titles = ", ".join(f"“{title}”" for title in sorted(song.title for _, song in (found or kept)))
    if found:
        raise InputError(f"“{words}” could be {titles}; give more of the title.")
    if kept:
        raise InputError(f"There is no song “{words}”; there are {titles}.")
    raise InputError(f"There is no song “{words}”, nor any other; add one with: pedaltrainer song add FILE.")


def _read(path: Path, today: date) -> tuple[Song, str]:
    data = _bytes(path)
    if path.suffix.lower() in SCORES or data.startswith(_SCORE_BEGINS):
        from pedaltrainer.songs.musicxml import read_musicxml  # seldom needed; every start reads the shelf

        song = read_musicxml(path)
        return song, write_chart(song)
    text = _text(path, data)
    song = parse_chart(text, str(path), today)
    if song.by is not None:
        # Next year "12 December" would be another day.
        text = with_day(text, song.by)
    if not TITLE_LINE.search(text):
        text = f"title: {song.title}\n{text}"
    return song, text


def _bytes(path: Path) -> bytes:
    return read_some(path, 4 * LONGEST_CHART)  # at most four bytes a character in UTF-8


def _text(path: Path, data: bytes) -> str:
    if len(data) > 4 * LONGEST_CHART:
        raise InputError(
            f"{path} has more than the {LONGEST_CHART:,} characters of the longest chart; is it a song?"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{path}, line {line}: this is neither UTF-8 text nor MusicXML; save the chart as UTF-8."
        ) from error


def _kept(folder: Path) -> Iterator[tuple[Path, Song | str]]:
    """Each chart file of the folder with its song, or with the sentence that says why it has none."""
    for file in sorted((folder / "songs").glob(f"*{SUFFIX}")):
        try:
            yield file, parse_chart(_text(file, _bytes(file)), str(file))
        except InputError as error:
            yield file, str(error)


def _same(title: str, other: str) -> bool:
    return title.casefold().split() == other.casefold().split()
