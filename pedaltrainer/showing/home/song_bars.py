"""A song's bars as they are drawn at home. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.practice.coach.readiness import SongStanding, Standing
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.screen.view import BarsView, SongBar
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.song import NO_CHORD, Bar, Song


def told_share(one: Standing) -> float | None:
    """The readiness of a change, where it is known well enough for one number."""
    return None if one.told.bpm is None else one.readiness


def bars_of(song: Song, standing: SongStanding) -> BarsView:
    """The bars as they are written: a part that is played again once, at its least ready pass."""
    by_key = {one.need.drill.key: one for one in standing.standings}
    landings: dict[tuple[int, int], list[Standing]] = {}
    written = [
        (part, at)
        for part, section in enumerate(song.sections)
        for _ in range(section.times)
        for at in range(len(section.bars))
    ]
    for change in changes_of(song):
        drill = Drill(Kind.CHANGE, (change.here, change.there), gap=change.gap)
        landings.setdefault(written[change.bar], []).append(by_key[drill.key])
    return BarsView(
        tuple(
            _bar(bar, landings.get((part, at), []), standing.bottleneck, begins=at == 0)
            for part, section in enumerate(song.sections)
            for at, bar in enumerate(section.bars)
        )
    )


def _bar(bar: Bar, landings: Iterable[Standing], hardest: Standing | None, begins: bool) -> SongBar:
    changes = list(landings)
    if not changes:
        return SongBar("", begins=begins)
    shares = [told_share(one) for one in changes]
    known = [share for share in shares if share is not None]
    return SongBar(
        _first_chord(bar),
        min(known) if len(known) == len(shares) else None,
        all(one.is_ready for one in changes),
        hardest is not None and not hardest.is_ready and hardest in changes,
        begins,
    )


def _first_chord(bar: Bar) -> str:
    named = (slot.chord for slot in bar.slots if slot.chord not in (None, NO_CHORD))
    return next((str(parse_chosen(chord).symbol) for chord in named if chord), "")
