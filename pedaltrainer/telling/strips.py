"""A song and how ready it is, as the heat strip that is drawn of it. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from pedaltrainer.neck.chords.symbols import parse_chosen
from pedaltrainer.paper.strip import Cell, Level, Part, Stretch, Strip
from pedaltrainer.practice.clean_tempo import READY_CHANCE
from pedaltrainer.practice.coach.readiness import SongStanding, Standing
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.songs.changes import Change, Spot
from pedaltrainer.songs.song import NO_CHORD, Bar, Song
from pedaltrainer.telling.charts import changes_by_spot, section_name
from pedaltrainer.telling.songs import bottleneck_words, is_told, whole_words

NEAR, SHORT = 0.9, 0.75
LEVELS = {
    Level.READY: f"ready ({READY_CHANCE * 100:.0f} % sure)",
    Level.NEAR: f"{NEAR * 100:.0f} % or more",
    Level.SHORT: f"{SHORT * 100:.0f} to {NEAR * 100:.0f} %",
    Level.FAR: f"below {SHORT * 100:.0f} %",
    Level.UNKNOWN: "not measured yet",
}
BOTTLENECK = "bottleneck"
FIGURES = (
    "Figures: the clean tempo of today (eight landings, clean four times in five), in per cent of the drill "
    "tempo that leaves the same air time."
)


def level_of(one: Standing) -> Level:
    """How far off a change is; what is known only roughly is not guessed at."""
    if one.readiness is None or not is_told(one):
        return Level.UNKNOWN
    if one.is_ready:
        return Level.READY
    return Level.NEAR if one.readiness >= NEAR else Level.SHORT if one.readiness >= SHORT else Level.FAR


def strip_of(song: Song, standing: SongStanding) -> Strip:
    """The song's bars as they are written; where a section is played again, its least ready pass."""
    by_key = {one.need.drill.key: one for one in standing.standings}
    spots = {
        spot: min((by_key[_key(change)] for change in there), key=_order)
        for spot, there in changes_by_spot(song).items()
    }
    bottleneck = standing.bottleneck
    held = None if bottleneck is None or not is_told(bottleneck) or bottleneck.is_ready else bottleneck
    parts = []
    first_bar = 1
    for number, section in enumerate(song.sections):
        cells = tuple(
            Cell(first_bar + at, _stretches(bar, number, at, spots, held))
            for at, bar in enumerate(section.bars)
        )
        parts.append(Part(section_name(section), cells))
        first_bar += section.times * len(section.bars)
    below = (
        [whole_words(standing), bottleneck_words(standing.standings)]
        if standing.standings
        else ["There is no change in it."]
    )
    title = f"{song.title}, {standing.tempo_bpm:g} BPM"
    return Strip(title, below, parts, LEVELS, BOTTLENECK if held else "", FIGURES)


def _key(change: Change) -> str:
    return Drill(Kind.CHANGE, (change.here, change.there), gap=change.gap).key


def _name(chord: str) -> str:
    """A chord without the frets that may be chosen for it."""
    return chord if chord == NO_CHORD else str(parse_chosen(chord).symbol)


def _order(one: Standing) -> tuple[bool, float]:
    return bool(one.takes), one.readiness or 0.0


def _stretches(
    bar: Bar, section: int, number: int, spots: Mapping[Spot, Standing], held: Standing | None
) -> tuple[Stretch, ...]:
    chords = [slot for slot in bar.slots if slot.chord is not None]
    ends = [*(slot.beat for slot in chords[1:]), Fraction(bar.beats)]
    stretches = []
    for slot, end in zip(chords, ends, strict=False):
        one = spots.get(Spot(section, number, slot.beat))
        chord = _name(str(slot.chord))
        start_share, end_share = float(slot.beat / bar.beats), float(end / bar.beats)
        if one is None:
            stretches.append(Stretch(start_share, end_share, chord))
            continue
        level = level_of(one)
        figure = "?" if level is Level.UNKNOWN else f"{(one.readiness or 0.0) * 100:.0f}"
        stretches.append(Stretch(start_share, end_share, chord, level, figure, one is held))
    return tuple(stretches)
