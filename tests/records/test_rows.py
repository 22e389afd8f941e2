from __future__ import annotations

import threading
import time
import uuid
from datetime import datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given

from pedaltrainer.records.rows import new_id, parse_utc, utc_text
from tests.records.samples import a_session, a_take, moments


def test_an_id_is_a_version_7_uuid_that_begins_with_the_time() -> None:
    # Layout: RFC 9562 section 5.7, read back by the standard library's uuid.
    identity = uuid.UUID(new_id())
    assert identity.version == 7
    assert identity.variant == uuid.RFC_4122
    assert abs((identity.int >> 80) / 1000 - time.time()) < 60


def test_ids_made_one_after_another_sort_in_that_order() -> None:
    made = [new_id() for _ in range(2000)]
    assert made == sorted(made)
    assert len(set(made)) == 2000


def test_ids_made_by_several_threads_at_once_all_differ_and_rise_within_each() -> None:
    made: list[list[str]] = [[] for _ in range(4)]
    threads = [
        threading.Thread(target=lambda own=own: own.extend(new_id() for _ in range(500))) for own in made
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({identity for own in made for identity in own}) == 2000
    assert all(own == sorted(own) for own in made)


def test_a_time_is_written_in_utc_with_milliseconds_whatever_its_zone() -> None:
    # ISO 8601 / RFC 3339 form; 19:30 two hours east of Greenwich is 17:30 there.
    moment = datetime(2026, 7, 4, 19, 30, 0, 5_999, tzinfo=timezone(timedelta(hours=2)))
    assert utc_text(moment) == "2026-07-04T17:30:00.005Z"


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        utc_text(datetime(2026, 7, 4))


@given(moments)
def test_a_written_time_reads_back_to_the_millisecond(moment: datetime) -> None:
    assert parse_utc(utc_text(moment)) == moment.replace(microsecond=moment.microsecond // 1000 * 1000)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("id", ""),
        ("player", "half a \ud800 letter"),
        ("chords", ()),
        ("chords", ["Am", "E"]),
        ("tempo_bpm", 0.0),
        ("tempo_bpm", 5e-324),
        ("tempo_bpm", 1e308),
        ("tempo_bpm", float("nan")),
        ("tempo_bpm", float("inf")),
        ("tempo_bpm", True),
        ("tempo_bpm", 10**30),
        ("landings", 0),
        ("landings", 2**62),
        ("landings", 8.0),
        ("metre", 0),
        ("outcome", "clean"),
        ("answer_style", "speak up"),
        ("started_utc", "2026-03-01 18:05:09"),
        ("started_utc", "2026-03-01T18:05:09.250+00:00"),
        ("ended_utc", "2026-02-30T18:05:09.250Z"),
        ("started_utc", "0001-01-01T00:00:00.000Z"),
        ("ended_utc", "9999-12-31T23:59:59.999Z"),
        ("first_miss", 0),
        ("first_miss", 9),
        ("pressed_s", float("nan")),
        ("reaction_ms", -1.0),
        ("duration_s", None),
    ],
)
def test_a_take_that_cannot_be_true_is_refused_by_name(name: str, value: Any) -> None:
    with pytest.raises(ValueError, match=name):
        a_take(a_session(), **{name: value})


@pytest.mark.parametrize("outcome", ["pass", "void"])
def test_only_a_fail_has_a_first_miss(outcome: str) -> None:
    with pytest.raises(ValueError, match="first_miss"):
        a_take(a_session(), outcome=outcome, first_miss=3)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("seed", 2**63),
        ("seed", 1.5),
        ("settings", {"tempo": float("nan")}),
        ("settings", {1: "keys are text"}),
        ("settings", {"pair": ("Am", "E")}),
        ("settings", {"when": datetime(2026, 3, 1)}),
    ],
)
def test_a_session_that_would_not_come_back_the_same_is_refused_by_name(name: str, value: Any) -> None:
    with pytest.raises(ValueError, match=name):
        a_session(**{name: value})
