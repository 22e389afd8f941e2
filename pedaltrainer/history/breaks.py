"""Where a song breaks: what its last run-throughs flagged, change by change. From the log."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.runs import PassKept, passes_of
from pedaltrainer.practice.run_through import landing_meant
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
    if not desk.has_log:
        return Breaks(0, 0, found)
    with desk.log() as log:
        for one in passes_of(log, desk.player, MOST_LOOKED_AT):
            if one.settings.song.title != song.title:
                continue
            if one.settings.song.sections != song.sections:
                passed_over += 1
                continue
            if passes == most:
                break
            passes += 1
            for spot, flagged in _landings(one):
                old = found.get(spot, Broke())
                found[spot] = Broke(old.played + 1, old.flagged + flagged)
    return Breaks(passes, passed_over, found)


def _landings(kept: PassKept) -> Iterator[tuple[Spot, bool]]:
    """Each landing that was come to, as it is written, and was it flagged?"""
    settings, one = kept.settings, kept.settings.one_pass
    flagged = {landing_meant(one, mark, settings.reaction_s) for mark in kept.marks}
    written = [
        (section, bar)
        for section, part in enumerate(settings.song.sections)
        for _ in range(part.times)
        for bar in range(len(part.bars))
    ]
    for number, landing in enumerate(one.landings):
        if landing.at_s <= kept.played.until_s:
            bar = one.bars[landing.bar]
            beat = Fraction((landing.at_s - bar.start_s) / bar.beat_s).limit_denominator(960)
            yield Spot(*written[bar.number], beat), number in flagged
