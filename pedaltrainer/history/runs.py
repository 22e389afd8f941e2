"""The run-throughs of a log: their passes, and what these tell of single changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.named import readable, take_of
from pedaltrainer.practice import clean_tempo as ct
from pedaltrainer.practice.clean_tempo import PastResult
from pedaltrainer.practice.coach.evidence import SessionTakes
from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.kinds import Kind
from pedaltrainer.practice.run_evidence import (
    ChangeHeard,
    believed_wrong,
    heard_in,
    heard_in_take,
    levels,
)
from pedaltrainer.practice.trend import SITTING_GAP_H
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, parse_utc
from pedaltrainer.session.run_through import (
    PassPlayed,
    Review,
    RunSettings,
    reviews_in,
    run_replay,
    run_settings_from_json,
)

MOST_RUNS = 100
"""The run-throughs that are thought of, the last ones: what is older, the drills since have told."""
MOST_TAKES = 60
"""Of each drill of several chords."""
IN_TURN = frozenset({Kind.PASSAGE, Kind.LOOP})
LEAST_PLAYED_S = 10.0
"""A pass that was stopped sooner tells nothing: it was a false start."""


@dataclass(frozen=True, slots=True)
class PassKept:
    """A pass of the log. began: when its run-through began."""

    began: datetime
    settings: RunSettings
    played: PassPlayed
    review: Review

    @property
    def marks(self) -> tuple[float, ...]:
        """The presses that the player let stand."""
        marks = enumerate(self.played.marks)
        return tuple(mark for number, mark in marks if number not in self.review.dropped)


def passes_of(log: Log, player: str, most_runs: int) -> Iterator[PassKept]:
    """The passes of a player, the last first; run-throughs that this program cannot read are passed over."""
    for row in log.runs(player, most_runs):
        settings = _settings_of(row)
        if settings is None:
            continue
        inputs = log.inputs(row.id)
        played, reviews = _played(settings, inputs), reviews_in(inputs)
        for number in reversed(range(len(played))):
            review = reviews.get(number, Review())
            yield PassKept(parse_utc(row.started_utc), settings, played[number], review)


def last_share(desk: Desk, title: str) -> int:
    """The share of a song's tempo at which it was run through last, in per cent; 100 where that is not known.

    Raises InputError for a log that cannot be read.
    """
    if not desk.has_log:
        return 100
    with desk.log() as log:
        runs = (_settings_of(row) for row in log.runs(desk.player, MOST_RUNS))
        return next((one.per_cent for one in runs if one is not None and one.song.title == title), 100)


def _settings_of(row: SessionRow) -> RunSettings | None:
    try:
        return run_settings_from_json(row.settings)
    except InputError:
        return None


def _played(settings: RunSettings, inputs: Iterable[Mapping[str, Any]]) -> tuple[PassPlayed, ...]:
    passes: tuple[PassPlayed, ...] = ()
    try:
        for state in run_replay(settings, inputs):
            passes = state.passes
    except InputError:
        return ()
    return passes


def heard_of(one: PassKept) -> tuple[ChangeHeard, ...]:
    """What a pass tells of its changes."""
    if one.played.until_s < LEAST_PLAYED_S:
        return ()
    known = one.settings.known

    def belief(drill: Drill) -> ct.Posterior:
        return ct.prior((known[drill.key],) if drill.key in known else ())

    landings = [landing for landing in one.settings.one_pass.landings if landing.at_s <= one.played.until_s]
    return heard_in(
        landings, one.marks, one.review.rest_clean, believed_wrong(belief), one.settings.reaction_s
    )


Runs = Mapping[str, tuple[SessionTakes, ...]]
"""What run-throughs, and takes of several chords in turn, told of each change, by its key: a session for each
that told of it, oldest first."""


def told_by_runs(log: Log, player: str) -> Runs:
    """Told anew from the log: dear, where there are many."""
    found: dict[str, list[SessionTakes]] = defaultdict(list)
    for sitting in _in_sittings(list(passes_of(log, player, MOST_RUNS))[::-1]):
        for key, sessions in _told_in(sitting).items():
            found[key] += sessions
    for one in _takes_in_turn(log, player):
        found[one.heard[0][1].drill.key].append(one)
    return {key: tuple(sorted(sessions, key=lambda one: one.began)) for key, sessions in found.items()}


def _takes_in_turn(log: Log, player: str) -> Iterator[SessionTakes]:
    """What takes of several chords told of each change in them."""
    there, _ = readable(log.drills(player))
    anybody = ct.prior()
    goes_wrong = believed_wrong(lambda _: anybody)
    for drill, key in there.items():
        if drill.kind not in IN_TURN:
            continue
        for answer in reversed(log.last_answers(player, key, MOST_TAKES)):
            when = parse_utc(answer.started_utc)
            for change in heard_in_take(take_of(answer, drill), goes_wrong):
                yield SessionTakes((), (), ((when, change),))


def _in_sittings(passes: Iterable[PassKept]) -> Iterator[list[PassKept]]:
    sitting: list[PassKept] = []
    for one in passes:
        if sitting and one.began - sitting[-1].began > timedelta(hours=SITTING_GAP_H):
            yield sitting
            sitting = []
        sitting.append(one)
    if sitting:
        yield sitting


def _told_in(sitting: Iterable[PassKept]) -> Mapping[str, list[SessionTakes]]:
    """By key: what each run-through of a sitting told. A change that was never practised begins with what all
    the others tell of the player."""
    heard: dict[Drill, list[ChangeHeard]] = defaultdict(list)
    told: list[tuple[PassKept, ChangeHeard]] = []
    known: dict[Drill, PastResult] = {}
    for one in sitting:
        for change in heard_of(one):
            heard[change.drill].append(change)
            told.append((one, change))
            if change.drill.key in one.settings.known:
                known.setdefault(change.drill, one.settings.known[change.drill.key])
    level = levels(heard, known)
    found: dict[str, list[SessionTakes]] = defaultdict(list)
    for one, change in told:
        key = change.drill.key
        history = (one.settings.known.get(key, level[change.drill]),)
        found[key].append(SessionTakes((), history, ((one.began, change),)))
    return found


def in_turn(sessions: Iterable[SessionTakes], runs: Iterable[SessionTakes]) -> tuple[SessionTakes, ...]:
    """Sessions and run-throughs of a drill, oldest first; run-throughs of a sitting between two sessions are
    one, that begins as the first of them did."""
    merged: list[SessionTakes] = []
    for one in sorted((*sessions, *runs), key=lambda one: one.began):
        last = merged[-1] if merged else None
        if last and one.heard and last.heard and one.began - last.last <= timedelta(hours=SITTING_GAP_H):
            merged[-1] = SessionTakes((), last.history, (*last.heard, *one.heard))
        else:
            merged.append(one)
    return tuple(merged)
