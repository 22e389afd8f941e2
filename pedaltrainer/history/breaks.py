"""Where a song breaks: what its last run-throughs flagged, change by change. From the log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.practice.run_through import landing_meant
from pedaltrainer.session.run_through import (
    PassPlayed,
    Review,
    RunSettings,
    reviews_in,
    run_replay,
    run_settings_from_json,
)
from pedaltrainer.songs.changes import Spot
from pedaltrainer.songs.song import Song

MOST_PASSES = 10
MOST_LOOKED_AT = 400
"""Run-throughs, of whatever song, among which those of one are looked for."""


@dataclass(frozen=True, slots=True)
class Broke:
    """A landing of the song as it is written: how often it was played, and how often it was flagged."""

    played: int = 0
    flagged: int = 0

    @property
    def share(self) -> float:
        return self.flagged / self.played if self.played else 0.0


@dataclass(frozen=True, slots=True)
class Breaks:
    """passes: how many are told of, the last ones. passed_over: how many were played of another chart."""

    passes: int
    passed_over: int
    landings: Mapping[Spot, Broke]


def breaks_of(desk: Desk, song: Song, most: int = MOST_PASSES) -> Breaks:
    """What the last passes through a song flagged, as the player let them stand.

    Passes of another version of the chart are passed over: their bars are others. Raises InputError for a log
    that cannot be read.
    """
    found: dict[Spot, Broke] = {}
    passes = passed_over = 0
    for settings, played, review in _passes(desk, song.title):
        if settings.song.sections != song.sections:
            passed_over += 1
            continue
        if passes == most:
            break
        passes += 1
        for spot, flagged in _landings(settings, played, review):
            old = found.get(spot, Broke())
            found[spot] = Broke(old.played + 1, old.flagged + flagged)
    return Breaks(passes, passed_over, found)


def _passes(desk: Desk, title: str) -> Iterator[tuple[RunSettings, PassPlayed, Review]]:
    """The passes through a song of this title, the last first."""
    if not desk.has_log:
        return
    with desk.log() as log:
        for row in log.runs(desk.player, MOST_LOOKED_AT):
            inputs = list(log.inputs(row.id))
            read = _read(row.settings, inputs)
            if read is None or read[0].song.title != title:
                continue
            settings, played = read
            reviews = reviews_in(inputs)
            for number in reversed(range(len(played))):
                yield settings, played[number], reviews.get(number, Review())


def _read(
    settings: Mapping[str, Any], inputs: Iterable[Mapping[str, Any]]
) -> tuple[RunSettings, tuple[PassPlayed, ...]] | None:
    """A run-through of the log; None for one that this program cannot read."""
    try:
        found = run_settings_from_json(settings)
        states = list(run_replay(found, inputs)) if found is not None else []
    except InputError:
        return None
    return (found, states[-1].passes) if found is not None and states else None


def _landings(settings: RunSettings, played: PassPlayed, review: Review) -> Iterator[tuple[Spot, bool]]:
    """Each landing that was come to, as it is written, and was it flagged?"""
    one, reaction_s = settings.one_pass, settings.reaction_s
    marks = [mark for number, mark in enumerate(played.marks) if number not in review.dropped]
    flagged = {landing_meant(one, mark, reaction_s) for mark in marks}
    written = [
        (section, bar)
        for section, part in enumerate(settings.song.sections)
        for _ in range(part.times)
        for bar in range(len(part.bars))
    ]
    for number, landing in enumerate(one.landings):
        if landing.at_s <= played.until_s:
            bar = one.bars[landing.bar]
            beat = Fraction((landing.at_s - bar.start_s) / bar.beat_s).limit_denominator(960)
            yield Spot(*written[bar.number], beat), number in flagged
