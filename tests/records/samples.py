"""Rows for the tests of this room: one plain session and take, and the strategies that make any row."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from hypothesis import strategies as st

from pedaltrainer.records.rows import (
    ANSWER_STYLES,
    LEAST_BPM,
    MOST_BPM,
    MOST_LANDINGS,
    SessionRow,
    TakeRow,
    new_id,
    utc_text,
)

EVENING = datetime(2026, 3, 1, 18, 5, 9, 250_000, tzinfo=UTC)


def a_session(**changes: Any) -> SessionRow:
    values: dict[str, Any] = {
        "id": new_id(),
        "player": "Robin",
        "started_utc": utc_text(EVENING),
        "program_version": "0.1.0",
        "seed": 7,
        "settings": {"start_bpm": 60, "landings": 8},
    }
    return SessionRow(**(values | changes))


def a_take(session: SessionRow, **changes: Any) -> TakeRow:
    values: dict[str, Any] = {
        "id": new_id(),
        "session_id": session.id,
        "player": session.player,
        "drill": "change Am E",
        "chords": ("Am", "E"),
        "beats_per_chord": 1,
        "metre": 4,
        "tempo_bpm": 84.0,
        "landings": 8,
        "outcome": "fail",
        "first_miss": 5,
        "judge": "foot",
        "answer_style": "speak-up",
        "ladder": "steps",
        "started_utc": utc_text(EVENING),
        "ended_utc": "2026-03-01T18:05:17.821Z",
        "pressed_s": 1203.0625,
        "heard_press_s": 1202.8125,
        "reaction_ms": 250.0,
        "duration_s": 8.571,
    }
    return TakeRow(**(values | changes))


texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1)
moments = st.datetimes(datetime(1000, 1, 2), datetime(9998, 12, 30), timezones=st.just(UTC))
utc_times = moments.map(utc_text)
int64s = st.integers(-(2**63), 2**63 - 1)
counts = st.integers(1, 2**63 - 1)
seconds = st.floats(allow_nan=False, allow_infinity=False)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | seconds | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
json_objects = st.dictionaries(st.text(), json_values, max_size=4)

sessions = st.builds(
    SessionRow,
    id=st.builds(new_id),
    player=texts,
    started_utc=utc_times,
    program_version=texts,
    seed=st.none() | int64s,
    settings=json_objects,
)


@st.composite
def takes(draw: st.DrawFn, session_id: str) -> TakeRow:
    landings = draw(st.integers(1, MOST_LANDINGS))
    outcome = draw(st.sampled_from(["pass", "fail", "void"]))
    return TakeRow(
        id=new_id(),
        session_id=session_id,
        player=draw(texts),
        drill=draw(texts),
        chords=tuple(draw(st.lists(texts, min_size=1, max_size=4))),
        beats_per_chord=draw(counts),
        metre=draw(counts),
        tempo_bpm=draw(st.floats(LEAST_BPM, MOST_BPM)),
        landings=landings,
        outcome=outcome,
        first_miss=draw(st.none() | st.integers(1, landings)) if outcome == "fail" else None,
        judge=draw(texts),
        answer_style=draw(st.sampled_from(ANSWER_STYLES)),
        ladder=draw(texts),
        started_utc=draw(utc_times),
        ended_utc=draw(utc_times),
        pressed_s=draw(st.none() | seconds),
        heard_press_s=draw(st.none() | seconds),
        reaction_ms=draw(st.floats(min_value=0, allow_infinity=False)),
        duration_s=draw(st.floats(min_value=0, allow_infinity=False)),
    )
