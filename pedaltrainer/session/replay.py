"""Sessions as records: settings and events to JSON and back, and a session run again from them.

The log keeps the settings and every event of a session. Nothing else goes
into `step`, so they are enough to reach every state again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any, get_args

from pedaltrainer.errors import InputError
from pedaltrainer.packs.own_kinds import kind_from_plain, kind_to_plain
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import Drill, Kind, Own, parse_drill
from pedaltrainer.practice.ladders.ladder import PastResult
from pedaltrainer.practice.rules import RULES
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session import home
from pedaltrainer.session.effects import Effect
from pedaltrainer.session.events import AtHome, EarHeard, Event, Pointed
from pedaltrainer.session.home import HomeEvent, Turned, Walk
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import State
from pedaltrainer.session.step import begin, step
from pedaltrainer.system.plain import built

_ONE_A_DRILL = (
    "starts_bpm", "minutes_each", "modes", "reasons", "targets_bpm", "metres", "first_steps",
)  # fmt: skip
_EVENTS: dict[str, type[Event]] = {kind.__name__: kind for kind in get_args(Event)}


def event_to_json(event: Event | HomeEvent) -> dict[str, Any]:
    """An event as plain data, with its kind under "event"."""
    fields = asdict(event)
    if isinstance(event, EarHeard):
        fields["landings"] = [[*one[:2], list(one.strings), one.sure] for one in event.landings]
    return {"event": type(event).__name__, **fields}


def event_from_json(record: Mapping[str, Any]) -> Event:
    """The event of a record. Raises InputError for a record that is none."""
    fields = dict(record)
    try:
        kind = _EVENTS[fields.pop("event")]
        if "control" in fields:
            fields["control"] = Control(fields["control"])
        return kind(**fields)
    except (KeyError, TypeError, ValueError):
        raise InputError(f"“{dict(record)}” is no session event; the log's inputs were changed.") from None


def at_home(event: HomeEvent) -> dict[str, Any]:
    """What happened at home, as plain data for the record of the session that comes of it."""
    # A page has lists of rows, which are tuples here.
    was: dict[str, Any] = json.loads(json.dumps(event_to_json(event)))
    return event_to_json(AtHome(event.heard_s, was))


def note(record: list[dict[str, Any]], happened: dict[str, Any]) -> None:
    """Add what happened to a record.

    Of rows that were marked one right after the other by a pointer or a knob the last alone is kept. It tells
    the same, and a knob that trembles all night fills no log.
    """
    if record and _marks(record[-1]) and _marks(happened):
        record[-1] = happened
    else:
        record.append(happened)


def _marks(happened: Mapping[str, Any]) -> bool:
    return bool(happened.get("was", happened)["event"] == Pointed.__name__)


def home_event_from_json(record: Mapping[str, Any]) -> HomeEvent:
    """The event at home of a record. Raises InputError for a record that is none."""
    if record.get("event") != Turned.__name__:
        return event_from_json(record)  # type: ignore[return-value]
    try:
        page: Turned = built(Turned, {name: value for name, value in record.items() if name != "event"})
    except (KeyError, TypeError, ValueError):
        raise InputError(f"“{dict(record)}” is no page of home; the log's inputs were changed.") from None
    return page


def walked(events: Iterable[Event]) -> Iterator[Walk]:
    """The way through home that led to a session, run again: the walk after each of its events."""
    walk = Walk()
    for event in events:
        if isinstance(event, AtHome):
            walk, _ = home.step(walk, home_event_from_json(event.was))
            yield walk


def settings_to_json(settings: Settings) -> dict[str, Any]:
    """The settings as plain data: lists for tuples, as JSON has them."""
    plain = asdict(settings) | {"drills": [drill.words for drill in settings.drills]}
    own = {drill.name: kind_to_plain(drill.row) for drill in settings.drills if drill.name}
    plain |= {"own_kinds": own} if own else {}
    as_read: dict[str, Any] = json.loads(json.dumps(plain))
    return as_read


def settings_from_json(record: Mapping[str, Any]) -> Settings:
    """The settings of a record. Raises InputError when it is none."""
    fields: dict[str, Any] = {"grammar": 1, **record}
    try:
        RULES[fields.setdefault("rules", 1)]
        own = {name: kind_from_plain(name, row) for name, row in fields.pop("own_kinds", {}).items()}
        drills = tuple(_drill_from_json(drill, own) for drill in fields.pop("drills"))
        style = AnswerStyle(fields.pop("answer_style"))
        each: dict[str, Any] = {name: tuple(fields.pop(name, ())) for name in _ONE_A_DRILL}
        strings = tuple(tuple(map(str, names)) for names in fields.pop("strings", ()))
        histories = tuple(
            tuple(PastResult(**past) for past in history) for history in fields.pop("histories")
        )
        each |= {"histories": histories, "strings": strings}
        return Settings(drills=drills, answer_style=style, **each, **fields)
    except (AttributeError, KeyError, TypeError, ValueError):
        raise InputError("The session's settings in the log are not those of a session.") from None


def _drill_from_json(record: object, own: Own) -> Drill:
    if isinstance(record, str):
        return parse_drill(record, own=own)
    # The first program to write logs had two kinds of drill, field by field.
    return Drill(Kind(record["kind"]), tuple(record["chords"]), record["beats_per_chord"])  # type: ignore[index]


def replay(settings: Settings, events: Iterable[Event]) -> Iterator[tuple[State, tuple[Effect, ...]]]:
    """The states and effects of a session, one pair an event, run again from its inputs."""
    state = begin(settings)
    for event in events:
        state, effects = step(state, event)
        yield state, effects
