"""Desks for tests: what is given is written into the folder first, as files."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.packs.pack import Pack, write_pack
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.system.files import write_whole


def desk_with(
    folder: Path,
    player: str = "tess",
    songs: Iterable[Song] = (),
    packs: Iterable[Pack] = (),
    log_at: Path | None = None,
) -> Desk:
    """A desk with these songs and packs on it, and no others."""
    for kind, suffix, texts in (
        ("songs", "chart", [write_chart(song) for song in songs]),
        ("packs", "toml", [write_pack(pack) for pack in packs]),
    ):
        for file in (folder / kind).glob(f"*.{suffix}"):
            file.unlink()
        for number, text in enumerate(texts):
            write_whole(folder / kind / f"{number}.{suffix}", text)
    return Desk(folder, player, log_at=log_at)
