"""What a song needs, and how far the player is from it.

A change of a song and a drill are compared at the same air time: a drill at `need.tempo_bpm` leaves as
long in the air as the song does. Readiness is the clean tempo over that tempo; the chance beside it is
that of the clean tempo being at least as fast.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.coach.evidence import Known, belief_on
from pedaltrainer.practice.coach.limits import USUAL_RATIO, Limit, Ratio, limit_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.songs.changes import changes_of
from pedaltrainer.songs.song import Song

Array = NDArray[np.float64]

READY_CHANCE = 0.80
"""A change is called ready when its clean tempo is at least the needed one with this chance."""
PLAYED_CHANCE = 0.80
"""The chance with which every change of a song holds at the tempo told as "can be played today"."""


@dataclass(frozen=True, slots=True)
class Need:
    """One change of the songs: its drill, and the drill tempo that leaves the song's air time.

    air_ms: the least there is in any of the songs. count: how often it comes in all of them, written out.
    by: the nearest date.
    """

    drill: Drill
    tempo_bpm: float
    air_ms: float
    count: int
    songs: tuple[str, ...]
    by: date | None = None


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

    tempo_bpm: the song's own. fastest_bpm: the fastest tempo of the song at which all its changes have
    their clean tempo with the chance `chance`; None while a change was never played. bottleneck: the
    hardest change; None in a song without changes.
    """

    title: str
    tempo_bpm: float
    standings: tuple[Standing, ...]
    bottleneck: Standing | None
    fastest_bpm: float | None
    chance: float


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
        tempo_bpm = 60_000 * float(drill.lift) / change.air_ms
        yield Need(drill, tempo_bpm, change.air_ms, 1, (song.title,), song.by)


def _both(one: Need, other: Need) -> Need:
    tighter = min(one, other, key=lambda need: need.air_ms)
    dates = [need.by for need in (one, other) if need.by is not None]
    songs = tuple(dict.fromkeys((*one.songs, *other.songs)))
    by = min(dates, default=None)
    return Need(one.drill, tighter.tempo_bpm, tighter.air_ms, one.count + other.count, songs, by)


def standing(need: Need, known: Known, ratio: Ratio = USUAL_RATIO) -> Standing:
    """How ready one change is, from its own takes and its relatives'."""
    belief = belief_on(need.drill, known, ratio.value)
    limit = limit_of(need.drill, known, ratio)
    chance = chance_of(belief, need.tempo_bpm)
    own = known.get(need.drill.key)
    takes = own.takes if own is not None else 0
    if not takes and not any(evidence.takes for evidence in known.values()):
        return Standing(need, None, None, chance, limit, belief)
    clean = ct.estimate(belief)
    return Standing(need, clean, clean.bpm / need.tempo_bpm, chance, limit, belief, takes)


def standings_of(needs: Iterable[Need], known: Known, ratio: Ratio = USUAL_RATIO) -> tuple[Standing, ...]:
    """All of them, hardest first: by readiness, then those never played in the order of the needs."""
    found = [standing(need, known, ratio) for need in needs]
    return tuple(sorted(found, key=lambda one: math.inf if one.readiness is None else one.readiness))


def song_standing(song: Song, known: Known, ratio: Ratio = USUAL_RATIO) -> SongStanding:
    """How ready a song is, and how fast it can be played today."""
    standings = standings_of(needs_of([song]), known, ratio)
    tempo_bpm = tempo_of(song)
    bottleneck = standings[0] if standings else None
    share, chance = _fastest_share(standings)
    fastest_bpm = None if share is None else share * tempo_bpm
    return SongStanding(song.title, tempo_bpm, standings, bottleneck, fastest_bpm, chance)


def tempo_of(song: Song) -> float:
    """The tempo that most beats of the song have; the first one of equals."""
    beats: Counter[float] = Counter()
    for bar in song.bars:
        beats[bar.tempo_bpm] += bar.beats
    return beats.most_common(1)[0][0] if beats else 0.0


def chance_of(belief: ct.Posterior, tempo_bpm: float) -> float:
    """The chance that the clean tempo is at least this."""
    return float(np.interp(math.log(tempo_bpm), _EDGES, _at_least(belief)))


_EDGES: Array = np.append(ct.LOG_TEMPOS - ct.GRID_STEP / 2, ct.LOG_TEMPOS[-1] + ct.GRID_STEP / 2)


def _at_least(belief: ct.Posterior) -> Array:
    """The chance that the log clean tempo is at least each edge of the grid."""
    tempos = belief.mass.sum(axis=0)
    return np.append(tempos[::-1].cumsum()[::-1], 0.0)


def _fastest_share(standings: Sequence[Standing]) -> tuple[float | None, float]:
    """The share of the song's tempo at which all changes hold with PLAYED_CHANCE.

    Takes the changes for independent of one another; as those of one player lean the same way, the true
    chance is rather larger.
    """
    if not standings or any(not one.takes for one in standings):
        return None, PLAYED_CHANCE
    shares = np.arange(math.log(0.2), math.log(4), 0.005)
    log_chance = np.zeros_like(shares)
    for one in standings:
        at = shares + math.log(one.need.tempo_bpm)
        log_chance += np.log(np.maximum(np.interp(at, _EDGES, _at_least(one.belief)), 1e-12))
    holds = np.flatnonzero(log_chance >= math.log(PLAYED_CHANCE))
    if not len(holds):
        return None, PLAYED_CHANCE
    return math.exp(float(shares[holds[-1]])), PLAYED_CHANCE
