"""Today's practice: which drills, in which order, for how long, and why.

The minutes go, block by block, to the drill that is expected to take most off what the songs still lack:
the shortfall of every change, weighed by how near its date is, times the chance that this drill works on
what holds the change back. Blocks are short and no drill follows itself. docs/inside/coach.md has the sources
and says how strong they are.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time

from pedaltrainer.neck.book import ShapeBook
from pedaltrainer.practice.coach.evidence import Known, same_air, shape_drill
from pedaltrainer.practice.coach.limits import Limit, Ratio, Which, ratio_of
from pedaltrainer.practice.coach.plan_choices import Passages, hold_cost, is_flat, next_piece, pressure
from pedaltrainer.practice.coach.plan_lines import (
    UNIT_MIN,
    Mode,
    PlanLine,
    Today,
    fitted,
)
from pedaltrainer.practice.coach.readiness import Need, Standing, standings_of
from pedaltrainer.practice.drill import Drill, Kind
from pedaltrainer.practice.ladders.hold import SLOW_BPM
from pedaltrainer.practice.ladders.rungs import on_the_ladder

BLOCK_MIN, MEASURE_MIN, LEAST_MIN = 3.0, 2.0, 1.0
WARM_UP_SHARE, MOST_WARM_UP_MIN = 0.1, 2.0
WARM_UP_TEMPO = 0.6
OLD_DAYS = 10.0
"""Evidence older than this is measured again."""
WIDE = 0.12
"""And so is a clean tempo whose 90 % interval is wider than this either way."""
GAIN = 0.02
"""What a block on the very thing that holds a change back is taken to add, in log tempo. Only the order of
drills depends on it."""
KEEPING = 1e-4
"""What a change that is ready is taken to lack, so that there is something to practise when all are."""
AGAIN = 0.8
"""What each further block of one drill on one day is worth beside the one before: practice is spread."""
HALF_LIFE_DAYS, LEAST_WEIGHT = 14.0, 0.25
"""A song two weeks off weighs half as much as one that is due; one without a date weighs least."""
FAR_BEHIND = 0.75
"""A shape alone at less than this share of what the song asks of it is pressed in slow stages too."""
NEARLY = 0.95


def plan_today(
    needs: Sequence[Need],
    known: Known,
    minutes: float,
    today: date,
    *,
    book: ShapeBook | None = None,
    passages: Passages | None = None,
) -> Today:
    """What to practise in so many minutes. The same for the same arguments.

    book: the player's shapes, for the smaller pieces of a travel. passages: the changes in their songs
    (`plan_choices.passages_of`). Raises ValueError unless minutes > 0.
    """
    if not 0 < minutes < math.inf:
        raise ValueError(f"{minutes} minutes are no time to practise in")
    if not needs:
        return Today((), minutes)
    ratio = ratio_of([need.drill for need in needs], known)
    desk = _Desk(standings_of(needs, known, ratio), known, today, book, passages or {}, ratio)
    warm_up = desk.warm_up(minutes)
    lines = [] if warm_up is None else [warm_up]
    lines += desk.blocks(minutes - sum(line.minutes for line in lines))
    return fitted(lines, minutes)


# --- choosing ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Option:
    """A drill that may be practised, and how well it works on what holds each change back, by need's key."""

    drill: Drill
    key: str
    relief: Mapping[str, float]
    reason: str


@dataclass(slots=True)
class _Desk:
    standings: tuple[Standing, ...]
    known: Known
    today: date
    book: ShapeBook | None
    passages: Passages
    ratio: Ratio
    lacking: dict[str, float] = field(init=False)
    weights: dict[str, float] = field(init=False)

    def __post_init__(self) -> None:
        self.lacking = {one.need.drill.key: one.shortfall + KEEPING for one in self.standings}
        self.weights = {one.need.drill.key: self._weight(one.need) for one in self.standings}

    def _weight(self, need: Need) -> float:
        if need.by is None or need.by < self.today:
            return LEAST_WEIGHT
        days = (need.by - self.today).days
        return max(LEAST_WEIGHT, math.exp2(-days / HALF_LIFE_DAYS))

    def warm_up(self, minutes: float) -> PlanLine | None:
        """A slow, easy, known drill; none in a session of a few minutes."""
        long = min(MOST_WARM_UP_MIN, math.floor(minutes * WARM_UP_SHARE / UNIT_MIN) * UNIT_MIN)
        if long < UNIT_MIN:
            return None
        easy = self.standings[-1]
        played = [one for one in self.standings if one.takes]
        if played:
            easy = max(played, key=lambda one: one.readiness or 0.0)
        if not easy.takes or easy.clean is None:
            drill = self._easiest_shape()
            return PlanLine(drill, long, Mode.SLOW, SLOW_BPM, "warm-up: slow, one shape")
        slow_bpm = on_the_ladder(min(easy.clean.bpm, easy.need.tempo_bpm) * WARM_UP_TEMPO)
        return PlanLine(easy.need.drill, long, Mode.SLOW, slow_bpm, "warm-up: slow, the easiest for you")

    def _easiest_shape(self) -> Drill:
        """The shape of the songs that is easiest to hold, as far as the shapes are known."""
        changes = [one.need.drill for one in self.standings]
        shapes = {chord: shape_drill(change, chord) for change in changes for chord in change.chords}
        return shapes[min(shapes, key=lambda chord: (hold_cost(chord, self.book), chord))]

    def blocks(self, minutes: float) -> list[PlanLine]:
        options = self._options()
        lines: list[PlanLine] = []
        chosen: Counter[str] = Counter()
        last = None
        while minutes > LEAST_MIN / 2 or not lines:
            option = self._best(options, chosen, last)
            lines.append(self._line(option, lines))
            minutes -= lines[-1].minutes
            last = option.key
            chosen[last] += 1
            for key, relief in option.relief.items():
                self.lacking[key] -= min(self.lacking[key], GAIN * relief)
        return lines

    def _best(self, options: Sequence[_Option], chosen: Counter[str], last: str | None) -> _Option:
        """The drill worth most now. None follows itself, and what was never played comes once: the next
        plan knows more of it."""
        others = [one for one in options if one.key != last] or options
        news = [one for one in others if self._is_known(one.key) or not chosen[one.key]]
        return max(news or others, key=lambda one: self._worth(one) * AGAIN ** chosen[one.key])

    def _is_known(self, key: str) -> bool:
        own = self.known.get(key)
        return own is not None and own.takes > 0

    def _worth(self, option: _Option) -> float:
        gains = (
            self.weights[key] * min(self.lacking[key], GAIN * relief) for key, relief in option.relief.items()
        )
        return sum(gains)

    def _options(self) -> list[_Option]:
        by_key: dict[str, _Option] = {}
        shapes: dict[Drill, None] = {}
        for one in self.standings:
            option = self._for_change(one)
            by_key[option.key] = option
            shapes.update((shape_drill(one.need.drill, chord), None) for chord in one.need.drill.chords)
        return [*by_key.values(), *map(self._for_shape, shapes)]

    def _for_shape(self, drill: Drill) -> _Option:
        chord = drill.chords[0]
        relief = {
            one.need.drill.key: _chance_of_shape(one, chord)
            for one in self.standings
            if chord in one.need.drill.chords and shape_drill(one.need.drill, chord) == drill
        }
        return _Option(drill, drill.key, relief, self._why_shape(drill, relief))

    def _why_shape(self, drill: Drill, relief: Mapping[str, float]) -> str:
        name = drill.names[0]
        held = [
            one
            for one in self.standings
            if one.need.drill.key in relief
            and _limit_by(one.limit, one.need.drill, drill.chords[0])
            and not one.is_ready
        ]
        if held:
            titles = _listed([one.need.drill.title for one in held])
            sure = max(relief[one.need.drill.key] for one in held)
            return f"{name} alone: it holds back {titles} ({sure * 100:.0f} %)"
        titles = _listed([one.need.drill.title for one in self.standings if one.need.drill.key in relief])
        return f"{name} alone: it is part of {titles}, and may hold them back"

    def _for_change(self, one: Standing) -> _Option:
        drill, key = one.need.drill, one.need.drill.key
        relief = {key: self._relief(one)}
        for other in self.standings:
            shared = set(other.need.drill.chords) & set(drill.chords)
            if other.need.drill.key != key and shared:
                relief[other.need.drill.key] = 0.5 * sum(_chance_of_shape(other, chord) for chord in shared)
        return _Option(drill, key, relief, self._why_change(one))

    def _relief(self, one: Standing) -> float:
        return 0.5 + 0.5 * one.limit.chances[Which.TRAVEL]

    def _why_change(self, one: Standing) -> str:
        title = one.need.drill.title
        needed = f"{one.need.tempo_bpm:.0f} BPM"
        if not one.takes:
            asks = "asks" if len(one.need.songs) == 1 else "ask"
            return f"{title}: not measured yet; {_listed(one.need.songs)} {asks} for {needed}"
        now = f"{one.clean.bpm:.0f} of {needed}" if one.clean is not None else needed
        if one.limit.which is Which.TRAVEL:
            return f"{title}: the travel holds it back ({one.limit.chance * 100:.0f} %), {now}"
        if one.is_ready:
            return f"{title}: ready ({one.chance * 100:.0f} %); to keep it"
        return f"{title}: {now}, for {_listed(one.need.songs)}"

    # --- how it is practised --------------------------------------------------------------

    def _line(self, option: _Option, before: Sequence[PlanLine]) -> PlanLine:
        drill = option.drill
        again = any(line.drill.key == drill.key for line in before)
        due = None if again else self._due(drill)
        if due is not None:
            return PlanLine(drill, MEASURE_MIN, Mode.MEASURE, self._start(drill), due or option.reason)
        instead = self._instead(option, before)
        if instead is not None:
            return instead
        return PlanLine(drill, BLOCK_MIN, Mode.PRACTISE, self._start(drill), option.reason)

    def _due(self, drill: Drill) -> str | None:
        """Why it is to be measured; "" when its own reason says so; None when it is not."""
        own = self.known.get(drill.key)
        if own is None or not own.takes:
            return ""
        days = own.days_since(datetime.combine(self.today, time(12), own.last.tzinfo)) if own.last else None
        if days is not None and days > OLD_DAYS:
            return f"{_short(drill)}: last played {days:.0f} days ago; where does it stand?"
        if own.estimate.half_width > WIDE:
            return f"{_short(drill)}: known only roughly yet"
        return None

    def _start(self, drill: Drill) -> int | None:
        own = self.known.get(drill.key)
        return None if own is None or not own.takes else on_the_ladder(own.estimate.bpm)

    def _instead(self, option: _Option, before: Sequence[PlanLine]) -> PlanLine | None:
        """A smaller or a larger piece in place of the drill, when it is flat, far behind or nearly there."""
        if option.drill.kind is Kind.RE_LAND:
            return self._pressed(option, before)
        one = next(s for s in self.standings if s.need.drill.key == option.drill.key)
        travels = one.limit.which is Which.TRAVEL
        flat = is_flat(self.known.get(option.drill.key))
        piece = next_piece(one.need, self.known, self.book) if travels or flat else None
        if piece is not None and not _has(before, piece):
            what = "has been flat for long" if flat else "is held back by the travel"
            how = "other fingers, a shorter way" if piece.kind is Kind.CHANGE else "take some of it out first"
            return PlanLine(piece, BLOCK_MIN, Mode.PRACTISE, None, f"{option.drill.title} {what}: {how}")
        passage = self.passages.get(option.drill.key)
        if passage is not None and not _has(before, passage) and (one.readiness or 0.0) >= NEARLY:
            return PlanLine(
                passage, BLOCK_MIN, Mode.PRACTISE, None, f"{option.drill.title} in its song, in rhythm"
            )
        return None

    def _pressed(self, option: _Option, before: Sequence[PlanLine]) -> PlanLine | None:
        drill = pressure(option.drill.chords[0])
        own = self.known.get(option.drill.key)
        if _has(before, drill) or own is None:
            return None
        name = drill.names[0]
        if is_flat(own):
            reason = f"{name} alone has been flat for long: feel each stage of it"
            return PlanLine(drill, BLOCK_MIN, Mode.SLOW, SLOW_BPM, reason)
        asked = [
            one.need.tempo_bpm / self.ratio.value * same_air(one.need.drill, option.drill)
            for one in self.standings
            if one.need.drill.key in option.relief
        ]
        if own.estimate.bpm < FAR_BEHIND * max(asked):
            reason = f"{name} in slow stages: alone it is at {own.estimate.bpm:.0f} of {max(asked):.0f} BPM"
            return PlanLine(drill, MEASURE_MIN, Mode.SLOW, SLOW_BPM, reason)
        return None


def _has(lines: Sequence[PlanLine], drill: Drill) -> bool:
    return any(line.drill.key == drill.key for line in lines)


def _chance_of_shape(one: Standing, chord: str) -> float:
    first, _ = one.need.drill.chords
    return one.limit.chances[Which.FIRST if chord == first else Which.SECOND]


def _limit_by(limit: Limit, change: Drill, chord: str) -> bool:
    named = {Which.FIRST: change.chords[0], Which.SECOND: change.chords[1]}
    return named.get(limit.which) == chord


def _short(drill: Drill) -> str:
    return f"{drill.names[0]} alone" if drill.kind is Kind.RE_LAND else drill.title


def _listed(words: Sequence[str], most: int = 3) -> str:
    words = list(dict.fromkeys(words))
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
