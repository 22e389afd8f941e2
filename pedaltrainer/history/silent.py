"""Which strings did not ring, day by day: from the notes that takes played string by string have left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.record import LONGEST_SESSION, DrillRecord
from pedaltrainer.practice.progress import Progress
from pedaltrainer.practice.take import Outcome
from pedaltrainer.records.rows import utc_text
from pedaltrainer.session.effects import Note
from pedaltrainer.session.events import Noted

END = datetime.max.replace(tzinfo=UTC)
_OTHERS = set(Note)
"""Notes that are about no string."""


def with_silent_strings(
    desk: Desk, records: Sequence[DrillRecord], found: Sequence[Progress]
) -> tuple[Progress, ...]:
    """What was found of some drills, one for each record, with the strings that did not ring on each day.

    Only takes that stand as missed count. Raises InputError for a log that cannot be read.
    """
    if not any(one.drill.row.by_string and one.dated for one in records):
        return tuple(found)
    with desk.log() as log:
        since = min(one.dated[0][0] for one in records if one.dated)
        notes = log.inputs_since(desk.player, Noted.__name__, utc_text(since - LONGEST_SESSION))
    return tuple(_with(one, told, notes) for one, told in zip(records, found, strict=True))


def _with(record: DrillRecord, told: Progress, notes: Sequence[Mapping[str, Any]]) -> Progress:
    if not record.drill.row.by_string:
        return told
    dated = [pair for one in record.sessions for pair in one.dated]
    missed = {utc_text(when): when for when, take in dated if take.outcome is Outcome.FAIL}
    # A take that is answered anew may name its strings again.
    named = {
        (missed[str(one.get("take_utc"))], str(one.get("note")))
        for one in notes
        if one.get("drill") == record.drill.key
        and str(one.get("take_utc")) in missed
        and str(one.get("note")) not in _OTHERS
    }
    ends = [*(day.began for day in told.days[1:]), END]
    days = tuple(
        replace(day, silent=Counter(name for when, name in named if day.began <= when < end))
        for day, end in zip(told.days, ends, strict=True)
    )
    return replace(told, days=days)
