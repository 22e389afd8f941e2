"""What a song needs, and how far the player is from it.

A change of a song and a drill are compared at the same air time: a drill at `need.tempo_bpm` leaves as
long in the air as the song does. Readiness is the clean tempo over that tempo; the chance beside it is
that of the clean tempo being at least as fast.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import READY_CHANCE, chance_at_least
from pedaltrainer.practice.coach.evidence import Known, belief_on
from pedaltrainer.practice.coach.limits import USUAL_RATIO, Limit, Ratio, limit_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.ladders.rungs import Finding, ToldTempo, told_of
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.songs.song import Song
from pedaltrainer.timing.grid import FASTEST_BPM

Array = NDArray[np.float64]

WHOLE_CHANCE = 0.50
"""A song is told the tempo at which it comes out whole, every landing clean, one time in two."""


@dataclass(frozen=True, slots=True)
class Need:
    """One change of the songs: its drill, and the drill tempo that leaves the song's air time.

    air_ms: the least there is in any of the songs. count: how often it comes in all of them, written out.
    by: the nearest date. metre: that of the song with the least.
    """

    drill: Drill
    tempo_bpm: float
    air_ms: float
    count: int
    songs: tuple[str, ...]
    by: date | None = None
    metre: Metre = FOUR_FOUR

    @property
    def is_beyond_a_drill(self) -> bool:
        """Is there less time than the fastest drill leaves? No practice of it at tempo is possible then."""
        return self.tempo_bpm > FASTEST_BPM


@dataclass(frozen=True, slots=True)
class Standing:
    """How ready one change is. clean, readiness: None while neither it nor a relative was ever played.

    chance: that its clean tempo is at least the needed one. takes: on the change itself; without any,
    the rest is believed from its relatives.
    """

    need: Need
    clean: ct.Estimate | None
    readiness: float | None
    chance: float
    limit: Limit
    belief: ct.Posterior = field(compare=False, repr=False)
    takes: int = 0
    finding: Finding = Finding.NONE

    @property
    def told(self) -> ToldTempo:
        """What was measured of it, and of it alone: nothing while it was never played."""
        if not self.takes or self.clean is None:
            return ToldTempo()
        return told_of(self.clean, self.finding)

    @property
    def is_ready(self) -> bool:
        return self.takes > 0 and self.chance >= READY_CHANCE

    @property
    def shortfall(self) -> float:
        """How far the clean tempo is expected to be below the needed one, in log tempo; above counts as 0."""
        behind = np.maximum(0.0, math.log(self.need.tempo_bpm) - ct.LOG_TEMPOS)
        return float(self.belief.mass.sum(axis=0) @ behind)


@dataclass(frozen=True, slots=True)
class SongStanding:
    """How ready a song is: its changes hardest first, and how fast it can be played today.

    tempo_bpm: the song's own. whole_bpm: the tempo of the song at which it comes out whole, every landing of
    it clean, one time in two; None while a change was never played, or where that is slower than anybody
    plays. bottleneck: the hardest change; None in a song without changes.
    """

    title: str
    tempo_bpm: float
    standings: tuple[Standing, ...]
    bottleneck: Standing | None
    whole_bpm: float | None

    @property
    def asked(self) -> tuple[Standing, ...]:
        """The changes that practice can make ready: those that leave the time of some drill."""
        return tuple(one for one in self.standings if not one.need.is_beyond_a_drill)


def needs_of(songs: Iterable[Song]) -> tuple[Need, ...]:
    """Every distinct change of the songs, in the order in which they first come; the least air time of each.

    A change is the same from either side. The way through the gap makes it another one.
    """
    return united(need for song in songs for need in _needs_of(song))


def united(needs: Iterable[Need]) -> tuple[Need, ...]:
    """The needs with those of the same drill made one."""
    found: dict[str, Need] = {}
    for new in needs:
        key = new.drill.key
        found[key] = _both(found[key], new) if key in found else new
    return tuple(found.values())


def _needs_of(song: Song) -> Iterator[Need]:
    for change in changes_of(song):
        drill = Drill(Kind.CHANGE, (change.here, change.there), gap=change.gap)
        air_ms = change.needed_air_ms
        tempo_bpm = drill.tempo_of_air(air_ms)
        yield Need(drill, tempo_bpm, air_ms, 1, (song.title,), song.by, song.metre)


def _both(one: Need, other: Need) -> Need:
    tighter = min(one, other, key=lambda need: need.air_ms)
    dates = [need.by for need in (one, other) if need.by is not None]
    songs = tuple(dict.fromkeys((*one.songs, *other.songs)))
    by = min(dates, default=None)
    count = one.count + other.count
    return Need(one.drill, tighter.tempo_bpm, tighter.air_ms, count, songs, by, tighter.metre)


def standing(need: Need, known: Known, ratio: Ratio = USUAL_RATIO) -> Standing:
    """How ready one change is, from its own takes and its relatives'."""
    belief = belief_on(need.drill, known, ratio.value)
    limit = limit_of(need.drill, known, ratio)
    chance = chance_at_least(belief, need.tempo_bpm)
    own = known.get(need.drill.key)
    takes, finding = (own.takes, own.finding) if own is not None else (0, Finding.NONE)
    if not takes and not any(evidence.takes for evidence in known.values()):
        return Standing(need, None, None, chance, limit, belief)
    clean = ct.estimate(belief)
    return Standing(need, clean, clean.bpm / need.tempo_bpm, chance, limit, belief, takes, finding)


def standings_of(needs: Iterable[Need], known: Known, ratio: Ratio = USUAL_RATIO) -> tuple[Standing, ...]:
    """All of them, hardest first: by readiness, then those never played in the order of the needs."""
    found = [standing(need, known, ratio) for need in needs]
    return tuple(sorted(found, key=lambda one: math.inf if one.readiness is None else one.readiness))


def song_standing(song: Song, known: Known, ratio: Ratio = USUAL_RATIO) -> SongStanding:
    """How ready a song is, and how fast it can be played today."""
    standings = standings_of(needs_of([song]), known, ratio)
    tempo_bpm = song.tempo_bpm
    bottleneck = standings[0] if standings else None
    found = SongStanding(song.title, tempo_bpm, standings, bottleneck, None)
    share = _whole_share(found.asked)
    return replace(found, whole_bpm=share and share * tempo_bpm)


def _whole_share(standings: Sequence[Standing]) -> float | None:
    """The share of the song's tempo at which it comes out whole with WHOLE_CHANCE.

    The song is whole when each landing of each of its changes is: the product, over its changes, of the
    chance of one landing to the power of how often the change comes, averaged over what is believed of the
    change. What is believed of one change is taken for independent of the others.
    """
    if not standings or any(not one.takes for one in standings):
        return None
    log_shares = np.arange(math.log(0.2), math.log(3), 0.01)
    log_whole = np.zeros_like(log_shares)
    for one in standings:
        keeps = ct.log_keep(log_shares + math.log(one.need.tempo_bpm))
        whole = (np.exp(one.need.count * keeps) * one.belief.mass).sum(axis=(1, 2))
        log_whole += np.log(np.maximum(whole, 1e-300))
    holds = np.flatnonzero(log_whole >= math.log(WHOLE_CHANCE))
    return math.exp(float(log_shares[holds[-1]])) if len(holds) else None
