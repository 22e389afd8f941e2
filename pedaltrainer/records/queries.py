"""What is asked of a log that may hold a million takes: each question as SQL that stops early.

Every one walks an index to the rows it gives and reads no others. Which drills there are, and which
days were played on, is found by stepping from one value of the index to the next one (each step a
search of its own), never by going over the rows between. tests/records/test_queries.py asks SQLite for
its plan of every one of them.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

CANCELLED = "EXISTS (SELECT 1 FROM cancellation WHERE cancellation.take_id = take.id)"
NOT_CANCELLED = f"NOT {CANCELLED}"

ANSWER_COLUMNS = (
    "drill",
    "chords",
    "tempo_bpm",
    "landings",
    "outcome",
    "first_miss",
    "started_utc",
    "reaction_ms",
    "session_id",
    "answer_style",
    "misses",
)
_ANSWERS = f"SELECT {', '.join(ANSWER_COLUMNS)} FROM take"
_NEWEST_FIRST = "ORDER BY started_utc DESC, id DESC"

PLAYERS = """
WITH RECURSIVE met(player) AS (
    SELECT min(player) FROM session
    UNION ALL
    SELECT (SELECT min(player) FROM session WHERE player > met.player) FROM met WHERE met.player IS NOT NULL
)
SELECT player FROM met WHERE player IS NOT NULL
ORDER BY (SELECT max(started_utc) FROM session WHERE session.player = met.player) DESC,
    (SELECT max(id) FROM session WHERE session.player = met.player
        AND started_utc = (SELECT max(started_utc) FROM session WHERE session.player = met.player)) DESC
"""

DRILLS = """
WITH RECURSIVE met(drill) AS (
    SELECT min(drill) FROM take WHERE player = :player
    UNION ALL
    SELECT (SELECT min(drill) FROM take WHERE player = :player AND drill > met.drill)
    FROM met WHERE met.drill IS NOT NULL
)
SELECT drill, (SELECT max(started_utc) FROM take WHERE player = :player AND take.drill = met.drill) AS last
FROM met WHERE drill IS NOT NULL
ORDER BY last DESC, drill
"""
"""The drills of a player and when each was practised last, that one first."""

PLAYED = "SELECT count(*), max(started_utc) FROM take WHERE player = :player"

HAS_TAKES = "SELECT 1 FROM take WHERE player = :player LIMIT 1"

LAST_ANSWERS = f"""
{_ANSWERS} WHERE player = :player AND drill = :drill AND started_utc < :before AND outcome <> 'void'
    AND {NOT_CANCELLED}
{_NEWEST_FIRST} LIMIT :most
"""

_SINCE = f"started_utc > :since AND {NOT_CANCELLED} {_NEWEST_FIRST}"
ANSWERS_SINCE = f"{_ANSWERS} WHERE player = :player AND {_SINCE}"
ANSWERS_OF_DRILL_SINCE = f"{_ANSWERS} WHERE player = :player AND drill = :drill AND {_SINCE}"


def _before_the_last_days(whose: str) -> str:
    """The newest take that began before the last `days` days that were played on; no row when there is none.

    A step goes to the newest take that began 18 hours earlier or more: from the end of one evening, or of a
    morning and an evening, past all that day's takes, wherever in the world midnight was.
    """
    earlier = "started_utc < strftime('%Y-%m-%dT%H:%M:%fZ', day.at, '-18 hours')"
    return f"""
    WITH RECURSIVE day(at, number) AS (
        SELECT max(started_utc), 1 FROM take WHERE {whose}
        UNION ALL
        SELECT (SELECT max(started_utc) FROM take WHERE {whose} AND {earlier}), number + 1
        FROM day WHERE day.at IS NOT NULL AND number <= :days
    )
    SELECT at FROM day WHERE number = :days + 1 AND at IS NOT NULL
    """


BEFORE_THE_LAST_DAYS = _before_the_last_days("player = :player")
BEFORE_THE_LAST_DAYS_OF_DRILL = _before_the_last_days("player = :player AND drill = :drill")

SETTINGS_OF = """
SELECT id, settings FROM session WHERE id IN (SELECT value FROM json_each(:ids))
"""

INPUTS_SINCE = """
SELECT input.content, session.started_utc FROM session JOIN input ON input.session_id = session.id
WHERE session.player = :player AND session.started_utc > :since
    AND (:setting = '' OR json_extract(session.settings, '$.' || :setting))
    AND instr(input.content, '"' || :event || '"')
ORDER BY session.started_utc, input.seq
"""
"""What may be inputs of one kind, session by session; all inputs of those sessions are gone over.
Where a setting is named, only of the sessions that have it.

Not read as JSON here: a row that was spoilt is named where it is read.
"""

COUNT = "SELECT (SELECT count(*) FROM take) - (SELECT count(DISTINCT take_id) FROM cancellation)"
"""The one question that goes over all takes, by the smallest index: 15 ms for a million."""

PLAYED_BY_QUARTER = f"""
SELECT substr(started_utc, 1, 14) || substr('00153045', 1 + 2 * (substr(started_utc, 15, 2) / 15), 2),
    drill, count(*), sum(1 / tempo_bpm),
    sum(CASE answer_style WHEN 'speak-up' THEN coalesce(first_miss, landings) ELSE landings END / tempo_bpm)
FROM take WHERE player = :player AND outcome <> 'void' AND {NOT_CANCELLED}
GROUP BY 1, 2
"""
"""What was played by the quarter of an hour (UTC) it began in: no zone of today has a day that begins
between (IANA time zone database)."""


def json_list(values: Iterable[str]) -> str:
    """Values for a query that takes any number of them, as `json_each` reads them."""
    return json.dumps(list(values))
