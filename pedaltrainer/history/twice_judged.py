"""Takes that foot and ear have both judged, from the log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import tzinfo

from pedaltrainer.ear.verdicts import HeardTake
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.record import LONGEST_SESSION, DrillRecord
from pedaltrainer.practice.agreement import TwiceJudged, TwoJudges, judges_of
from pedaltrainer.records.rows import utc_text
from pedaltrainer.session.events import EarHeard

_TOLD = frozenset(HeardTake)


def two_judges(
    desk: Desk, records: Sequence[DrillRecord], zone: tzinfo | None = None
) -> Mapping[str, TwoJudges]:
    """What foot and ear said of the takes in these records, by the drill's key; of those with any.

    Sessions in which the ear answers by itself are left out: it has answered the takes that it was sure were
    missed, and of the others alone every foot looks strict. Raises InputError for a log that cannot be read.
    """
    begun = [one.dated[0][0] for one in records if one.dated]
    if not begun:
        return {}
    since = utc_text(min(begun) - LONGEST_SESSION)
    with desk.log() as log:
        heard = {
            str(one.get("take_utc")): HeardTake(str(one["take"]))
            for one in log.inputs_since(desk.player, EarHeard.__name__, since, setting="ear")
            if one.get("guard") is True and one.get("take") in _TOLD
        }
        keys = [one.drill.key for one in records] if heard else []
        answers = {key: log.takes(player=desk.player, drill=key) for key in keys}
        settings = log.settings_of({row.session_id for rows in answers.values() for row in rows})
    alone = {
        row.started_utc
        for rows in answers.values()
        for row in rows
        if (settings.get(row.session_id) or {}).get("ear_answers")
    }
    found = {one.drill.key: judges_of(_of(one, heard, alone), zone) for one in records}
    return {key: both for key, both in found.items() if both is not None}


def _of(record: DrillRecord, heard: Mapping[str, HeardTake], alone: set[str]) -> list[TwiceJudged]:
    pairs = [(utc_text(when), when, take) for one in record.sessions for when, take in one.dated]
    return [TwiceJudged(when, take, heard[at]) for at, when, take in pairs if at in heard and at not in alone]
