"""One figure: whatever was played, every surface tells the same of a drill, to the digit."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pedaltrainer.history import many_players, one_player, parcel
from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence, look_back, read_known
from pedaltrainer.history.today import plan_for
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import of_plan
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.limits import ratio_of
from pedaltrainer.practice.coach.readiness import needs_of, standings_of
from pedaltrainer.practice.drill import Kind, parse_drill
from pedaltrainer.practice.ladders.rungs import Finding
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import State
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.telling import progress_words
from tests.history.desks import desk_with

BEGAN = datetime(2026, 3, 2, 18, tzinfo=UTC)
SONG = parse_chart("title: Low Water\ntempo: 84\n\n| Am / / / | F / C / | Am / / / |\n", "low water")


class Evening(NamedTuple):
    """A session: after so many hours, of these drills or, without any, by plan."""

    after_h: float
    drills: tuple[str, ...]
    style: AnswerStyle
    mode: str
    skill_bpm: float
    minutes: float


evenings = st.lists(
    st.builds(
        Evening,
        st.sampled_from([0.2, 3, 24, 30, 24 * 6, 24 * 40]),
        st.sampled_from([(), ("Am F",), ("F Am", "Am"), ("C Am", "F C x2"), ("pressure F", "Am F")]),
        st.sampled_from(AnswerStyle),
        st.sampled_from(["measure", "practise"]),
        st.floats(45, 280),
        st.sampled_from([0.5, 1, 3]),
    ),
    min_size=1,
    max_size=4,
)


def play(desk: Desk, all_of_them: list[Evening]) -> tuple[datetime, list[tuple[datetime, State]]]:
    """The end, and each session as it ended."""
    now, played = BEGAN, []
    for number, one in enumerate(all_of_them):
        now += timedelta(hours=one.after_h)
        drills = tuple(parse_drill(words) for words in one.drills or ("Am",))
        chosen = Settings(drills, one.style, "seek", mode=one.mode, minutes=one.minutes * len(drills))
        if one.drills:
            known = read_known(desk)
            chosen = replace(chosen, histories=tuple(known.history(drill, now) for drill in drills))
        else:
            chosen = of_plan(chosen, plan_for(desk, 2 * one.minutes, now))
        options = Options(chosen, desk, made_up=MadeUpPlayer(one.skill_bpm, number), began=now)
        with Log.open(desk.log_place) as log:
            state = fast.rehearse(options, log).state
        played.append((now, state))
        now += timedelta(seconds=state.now_s)
    return now, played


class Told(NamedTuple):
    bpm: float | None
    low_bpm: float | None
    high_bpm: float | None


def told(bpm: float | None, low_bpm: float | None, high_bpm: float | None) -> Told:
    return Told(*(None if each is None else round(each, 6) for each in (bpm, low_bpm, high_bpm)))


def by_stage(played: list[tuple[datetime, State]]) -> dict[str, Told]:
    """What the stage told of each drill in the last session with it; slow work tells no figure."""
    found: dict[str, Told] = {}
    for _, state in played:
        for take in (*state.earlier, *state.takes_so_far):
            found.pop(take.drill.key, None)
        for one in state.all_results:
            if one.result.interval_bpm is not None and one.takes:
                low_bpm, high_bpm = one.result.interval_bpm
                finding = one.result.finding
                found[one.drill.key] = told(
                    one.result.clean_bpm if finding is Finding.CLEAN_TEMPO else None,
                    None if finding is Finding.BELOW else low_bpm,
                    None if finding is Finding.ABOVE else high_bpm,
                )
    return found


def last_days(all_of_them) -> dict[str, Told]:
    return {
        one.drill.key: told(one.days[-1].bpm, one.days[-1].low_bpm, one.days[-1].high_bpm)
        for one in all_of_them
        if one.days and one.drill.kind is not Kind.PRESSURE
    }


def measured(found: Mapping[str, Told], of: Mapping[str, Told]) -> dict[str, Told]:
    return {key: one for key, one in found.items() if key in of}


@settings(max_examples=12, phases=(Phase.explicit, Phase.generate))
@given(evenings)
def test_every_surface_tells_the_same_figure_of_a_drill(all_of_them):
    with tempfile.TemporaryDirectory() as folder:
        desk = desk_with(Path(folder), "tess", (SONG,))
        now, played = play(desk, all_of_them)
        if not desk.has_log:
            return
        stage = by_stage(played)

        looked = look_back(desk, lambda there: there)
        found = [
            progress.progress_of(one.drill, one.sessions, zone=UTC, before=one.before)
            for one in looked.records
        ]
        days = last_days(found)
        assert stage.keys() <= days.keys()
        assert measured(days, stage) == stage, "progress and the stage"
        for one in looked.records:
            sheet = progress.days_of(one.drill, one.sessions, UTC, one.before)[-1:]
            alone = look_back(desk, lambda there, key=one.drill.key: progress.chosen(there, key)).records[0]
            assert progress.days_of(alone.drill, alone.sessions, UTC, alone.before)[-1:] == sheet, (
                "one drill, and all of them"
            )

        report = one_player.tell(desk, now, 90, zone=UTC)
        assert last_days(report.found) == days, "the report and progress"
        (pupil,) = many_players.pupils([desk], now, 90, zone=UTC)
        assert last_days(pupil.found) == days, "the page of all players"
        verdicts = {one.drill.key: progress_words.verdict_words(one.trend) for one in found if one.days}
        for others in (report.found, pupil.found):
            told_of = {one.drill.key: progress_words.verdict_words(one.trend) for one in others}
            assert told_of == verdicts

        exported = {
            row["drill"]: told(row["clean_tempo_bpm"], row["low_bpm"], row["high_bpm"])
            for row in parcel.tempos(desk)
        }
        # A file has two decimals.
        assert measured(exported, days) == {
            key: Told(*(None if each is None else pytest.approx(each, abs=0.0051) for each in one))
            for key, one in days.items()
        }

        known, needs = evidence(desk, now), needs_of(desk.songs)
        ready = standings_of(needs, known, ratio_of([need.drill for need in needs], known))
        assert report.standings == ready
        planned = {line.drill.key: line.now_bpm for line in plan_for(desk, 20, now).plan.lines}
        for one in ready:
            key = one.need.drill.key
            if one.takes:
                assert one.clean is not None
                low_bpm, high_bpm = one.clean.low_bpm, one.clean.high_bpm
                assert told(one.clean.bpm, low_bpm, high_bpm)[1:] == tuple(
                    mine if mine is not None else theirs
                    for mine, theirs in zip(days[key][1:], told(None, low_bpm, high_bpm)[1:], strict=True)
                )
            assert planned.get(key) in {None, one.clean and one.clean.bpm}, "the plan and song ready"

        stands = sum(len(each.dated) for one in looked.records for each in one.sessions)
        assert stands == sum(day.takes for day in report.played.values())
        minutes = sum(day.minutes for one in found for day in one.days)
        assert minutes == pytest.approx(sum(day.minutes for day in report.played.values()))
        assert stands == sum(len(state.earlier) + len(state.takes_so_far) for _, state in played)
