"""Is practice working? From dated takes to words a player can act on."""

from __future__ import annotations

import json
import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.practice import progress
from pedaltrainer.practice.coach.evidence import in_sittings
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.practice.trend import Outlook, Reach, Verdict
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import SessionRow, TakeRow, new_id, utc_text
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.telling import progress_words

START = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
AM_E = parse_drill("Am E")


def weeks_of_takes(days: int, gain_per_day: float, start_bpm: float = 80, takes: int = 12, seed: int = 1):
    """A made-up player's takes around their clean tempo, which grows by a share a day."""
    chance = np.random.default_rng(seed)
    dated = []
    for day in range(days):
        player = MadeUpPlayer(start_bpm * math.exp(gain_per_day * day))
        for number in range(takes):
            tempo_bpm = round(player.skill_bpm * math.exp(chance.uniform(-0.1, 0.08)))
            clean = chance.random() < player.clean_take_chance(tempo_bpm, AM_E)
            outcome = Outcome.PASS_ if clean else Outcome.FAIL
            dated.append(
                (START + timedelta(days=day, seconds=12 * number), Take(AM_E, tempo_bpm, 8, outcome))
            )
    return dated


def test_a_player_who_gains_two_per_cent_a_day_is_rising_and_told_when_the_target_comes():
    one = progress.progress_of(
        AM_E, in_sittings(weeks_of_takes(14, 0.02, takes=30)), target_bpm=120, zone=UTC
    )
    assert one.trend.verdict is Verdict.RISING
    assert len(one.days) == 14
    assert one.days[-1].bpm > one.days[0].bpm
    assert one.reach.earliest is not None
    words = progress_words.in_words(one)
    assert "Rising" in words
    assert "2026-03-14" in words
    assert f"120 BPM: {one.reach.earliest.isoformat()} to {one.reach.latest.isoformat()}." in words


def test_a_flat_player_is_told_to_drop_to_the_smaller_pieces():
    one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(40, 0.0, takes=20)), target_bpm=120)
    assert one.trend.verdict is Verdict.FLAT
    assert progress_words.reach_words(one.reach, None) == "not at this rate"
    assert 'pedaltrainer play "Am" and pedaltrainer play "E";' in progress_words.in_words(one)


def test_what_leans_is_told_with_its_chance_and_claims_nothing():
    for gain, word in ((0.02, "Leaning up"), (-0.02, "Leaning down")):
        one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(10, gain, takes=20)), target_bpm=300)
        words = progress_words.verdict_words(one.trend)
        assert re.match(rf"{word}: 9\d %, not sure yet; [+-]\d+\.\d % a week, between ", words)
        assert progress_words.advice_for(one) is None
        assert progress_words.reach_words(one.reach, None).startswith("too early to say")
        assert json.loads(progress_words.as_json([one]))[0]["verdict"] == word.casefold()


def test_one_sitting_is_too_early():
    one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(1, 0.0)))
    assert progress_words.verdict_words(one.trend).startswith("Too early to say: 1 sitting so far")
    assert progress_words.advice_for(one) is None


@pytest.mark.parametrize("outcome", [Outcome.PASS_, Outcome.FAIL])
@pytest.mark.parametrize("count", [1, 3, 500])
def test_all_passes_or_all_fails_give_words_and_no_false_certainty(outcome, count):
    takes = [(START + timedelta(days=n % 5, seconds=n), Take(AM_E, 80, 8, outcome)) for n in range(count)]
    one = progress.progress_of(AM_E, in_sittings(takes), target_bpm=60)
    assert one.trend.verdict is Verdict.TOO_EARLY
    assert all(day.bpm is None for day in one.days)
    words = progress_words.in_words(one)
    assert "nan" not in words
    assert ("above" if outcome is Outcome.PASS_ else "below") in words
    json.loads(progress_words.as_json([one]))


def test_a_target_is_not_reached_by_takes_that_were_never_near_it():
    takes = [(START + timedelta(days=n % 5, seconds=n), Take(AM_E, 80, 8, Outcome.PASS_)) for n in range(50)]
    ahead, behind = (progress.progress_of(AM_E, in_sittings(takes), target_bpm) for target_bpm in (200, 60))
    assert "200 BPM: too early to say; no take has been clean at that tempo yet." in progress_words.in_words(
        ahead
    )
    assert "60 BPM: ready: reached already." in progress_words.in_words(behind)


def test_a_target_that_may_take_longer_than_two_years_is_told_by_its_early_date():
    far = Reach(Outlook.DATED, date(2026, 5, 1))
    assert progress_words.reach_words(far, date(2026, 6, 1)) == "not before 2026-05-01"


def test_no_number_is_told_of_a_day_whose_interval_is_wide():
    takes = [(START, Take(AM_E, 60, 8, Outcome.PASS_)), (START, Take(AM_E, 150, 8, Outcome.FAIL))]
    (day,) = progress.progress_of(AM_E, in_sittings(takes)).days
    assert day.bpm is None
    assert progress_words.day_words(AM_E, day).startswith("somewhere in ")


def test_two_sittings_on_one_date_are_one_line_and_playing_past_midnight_belongs_to_the_evening():
    def days_of(*hours_after_six_in_the_evening):
        takes = [
            (START + timedelta(hours=hours), Take(AM_E, 80, 8, Outcome.PASS_))
            for hours in hours_after_six_in_the_evening
        ]
        return [
            (str(day.date), day.takes)
            for day in progress.progress_of(AM_E, in_sittings(takes), zone=UTC).days
        ]

    assert days_of(-8, 0, 16) == [("2026-03-01", 2), ("2026-03-02", 1)]
    assert days_of(5.8, 6.1) == [("2026-03-01", 2)]


def test_the_line_follows_a_player_whose_true_tempo_is_known():
    one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(21, 0.02, takes=20)), zone=UTC)
    for point in progress.trend_line(one):
        true_bpm = 80 * math.exp(0.02 * ((point.when - START) / timedelta(days=1)))
        assert point.low_bpm < point.bpm < point.high_bpm
        assert point.bpm == pytest.approx(true_bpm, rel=0.06)
    assert progress.trend_line(progress.progress_of(AM_E, in_sittings(weeks_of_takes(2, 0.0)))) == ()


def test_dates_that_have_passed_are_told_as_passed():
    one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(14, 0.02)), target_bpm=115)
    assert "had it gone on" in progress_words.in_words(one, one.reach.latest + timedelta(days=1))
    assert "had it gone on" not in progress_words.in_words(one, one.reach.latest)


def test_a_clock_set_back_and_dates_in_the_future_change_nothing_but_the_dates():
    takes = weeks_of_takes(10, 0.02)
    later = [(when + timedelta(days=20_000), take) for when, take in takes]
    assert (
        progress.progress_of(AM_E, in_sittings(later)).trend.verdict
        is progress.progress_of(AM_E, in_sittings(takes)).trend.verdict
    )


def test_every_line_of_the_sketch_lies_within_its_scale():
    takes = weeks_of_takes(6, 0.02, takes=30)
    takes += [(START + timedelta(days=6), Take(AM_E, 90, 8, Outcome.PASS_))]
    one = progress.progress_of(AM_E, in_sittings(takes), target_bpm=110, zone=UTC)
    lines = progress_words.in_words(one).splitlines()[1:8]
    assert "▶" in lines[6]
    assert [("●" in line) for line in lines] == [day.bpm is not None for day in one.days]
    assert any("●" in line and "┊" in line for line in lines)
    assert len({line.index("20") for line in lines}) == 1
    assert "●" not in progress_words.in_words(one, sketch=False)


def test_a_change_is_asked_for_from_either_side_and_by_its_beats():
    by_drill = {AM_E: 1, parse_drill("Am E", 4): 4, parse_drill("F"): 0}
    assert list(progress.chosen(by_drill).values()) == [1, 4, 0]
    assert list(progress.chosen(by_drill, "E Am").values()) == [1, 4]
    assert list(progress.chosen(by_drill, "E Am", 4).values()) == [4]
    assert list(progress.chosen(by_drill, "change Am E x4").values()) == [4]
    assert list(progress.chosen(by_drill, None, 4).values()) == [4]
    assert progress.chosen({}) == {}
    for words, beats in (("C G", None), ("F", 4), (None, 3), ("H#", None)):
        with pytest.raises(InputError):
            progress.chosen(by_drill, words, beats)


def test_a_pressure_drill_measures_nothing_and_tells_only_how_much_was_played():
    drill = parse_drill("pressure F")
    takes = [(START + timedelta(days=n // 3, seconds=n), Take(drill, 60, 8, Outcome.PASS_)) for n in range(6)]
    one = progress.progress_of(drill, in_sittings(takes), target_bpm=60, zone=UTC)
    # Eight landings of four beats and a count-in of two: 34 beats at 60 BPM are 34 s, three of them 1.7 min.
    assert progress_words.in_words(one) == (
        "F, in four stages\n  2026-03-01  3 takes, 2 min\n  2026-03-02  3 takes, 2 min"
    )
    (plain,) = json.loads(progress_words.as_json([one]))
    assert (plain["verdict"], plain["probability"], plain["target"], plain["advice"]) == (None,) * 4
    assert [(day["takes"], day["minutes"], day["clean_bpm"]) for day in plain["days"]] == [(3, 1.7, None)] * 2
    assert (
        progress_words.day_words(drill, progress.progress_of(drill, in_sittings(takes[:1])).days[0])
        == "1 take, 1 min"
    )


def test_the_words_say_how_far_back_they_look():
    one = progress.progress_of(AM_E, in_sittings(weeks_of_takes(2, 0.0)), zone=UTC)
    assert progress_words.span_words([one], whole=True, days=90) == "From every take, since 2026-03-01."
    said = progress_words.span_words([one], whole=False, days=90, elsewhere=2)
    assert said.startswith(
        "From the last 90 days with takes, since 2026-03-01; --all goes back to the first."
    )
    assert said.endswith(" 2 more drills were last practised before that.")
    assert "1 more drill was" in progress_words.span_words([one], whole=False, days=90, elsewhere=1)


def test_void_takes_say_nothing():
    one = progress.progress_of(AM_E, in_sittings([(START, Take(AM_E, 80, 8, Outcome.VOID))]))
    assert progress_words.in_words(one) == "Am – E: no take counts yet."


def test_takes_in_any_order_and_any_time_zone_are_the_same():
    takes = weeks_of_takes(7, 0.01)
    there = timezone(timedelta(hours=9))
    elsewhere = [(when.astimezone(there), take) for when, take in reversed(takes)]
    assert progress_words.in_words(
        progress.progress_of(AM_E, in_sittings(takes), zone=UTC)
    ) == progress_words.in_words(progress.progress_of(AM_E, in_sittings(elsewhere), zone=UTC))


# --- the command ------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path):
    with Log.open(tmp_path) as log:
        session = SessionRow(new_id(), "tess", utc_text(START), "0.1.0")
        log.begin_session(session)
        for when, take in weeks_of_takes(16, 0.02, takes=8):
            log.append_take(
                TakeRow(
                    id=new_id(),
                    session_id=session.id,
                    player="tess",
                    drill=AM_E.key,
                    chords=AM_E.chords,
                    beats_per_chord=1,
                    metre=4,
                    tempo_bpm=take.tempo_bpm,
                    landings=8,
                    outcome=str(take.outcome),
                    first_miss=None,
                    judge="foot",
                    answer_style="ask",
                    ladder="seek",
                    started_utc=utc_text(when),
                    ended_utc=utc_text(when),
                    pressed_s=None,
                    heard_press_s=None,
                    reaction_ms=250,
                    duration_s=9.0,
                )
            )
    return tmp_path


def test_the_command_prints_a_line_a_day_and_the_verdict(folder, said):
    words = said("progress", "E Am", "--player", "tess", "--data", folder)
    assert words.startswith("Am – E\n")
    assert words.count("\n  2026-") == 16
    assert "●" not in words  # not a terminal
    assert "Rising" in words


def test_the_command_as_json_has_the_documented_names(folder, found):
    (one,) = found("progress", "--player", "tess", "--data", folder, "--target", 140)
    assert one.keys() == {
        "drill", "verdict", "probability", "percent_per_day", "advice", "target_bpm", "target",
        "target_earliest", "target_latest", "days", "from_every_take",
    }  # fmt: skip
    assert one["verdict"] == "rising"
    assert len(one["days"]) == 16
    assert one["days"][0].keys() == {
        "date", "began_utc", "takes", "minutes", "clean_bpm", "low_bpm", "high_bpm", "step",
        "silent_strings",
    }  # fmt: skip
    assert one["from_every_take"] is True
    assert one["days"][0]["began_utc"] == "2026-03-01T18:00:00Z"


@pytest.mark.skipif(sys.platform == "win32", reason="a made terminal needs pty")
@pytest.mark.parametrize(("plain", "sketched"), [((), True), (("--plain",), False)])
def test_on_a_terminal_the_intervals_are_sketched_unless_plain(folder, plain, sketched):
    import pty

    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "pedaltrainer", "progress", "--player", "tess", "--data", str(folder)]
    done = subprocess.run([*command, *plain], stdout=theirs, check=False)
    os.close(theirs)
    said = os.read(ours, 100_000).decode()
    os.close(ours)
    assert done.returncode == 0
    assert ("●" in said) == sketched


def test_the_command_looks_back_on_the_last_days_with_takes_unless_asked_for_all(folder, said):
    with Log.open(folder) as log:
        (row, *_) = log.takes(limit=1)
        for day in range(1, 100):
            when = utc_text(START + timedelta(days=3 * day + 20))
            log.append_take(replace(row, id=new_id(), started_utc=when, ended_utc=when))
    lately = said("progress", "--player", "tess", "--data", folder)
    assert lately.count("\n  2026-") + lately.count("\n  2027-") == 90
    assert lately.endswith(
        "From the last 90 days with takes, since 2026-04-20; --all goes back to the first.\n"
    )
    whole = said("progress", "--player", "tess", "--data", folder, "--all")
    assert whole.count("\n  202") == 115
    assert whole.endswith("From every take, since 2026-03-01.\n")


def test_the_command_names_a_newer_programs_drill_once_and_goes_on(folder, ran):
    with Log.open(folder) as log:
        (row, *_) = log.takes(limit=1)
        for _ in range(3):
            log.append_take(replace(row, id=new_id(), drill="backwards F Am"))
    code, words, aside = ran("progress", "--player", "tess", "--data", folder)
    assert code == 0
    assert words.startswith("Am – E\n")
    assert aside.count("“backwards F Am”") == 1


def test_an_empty_log_says_so(tmp_path, said, found):
    Log.open(tmp_path).close()
    assert said("progress", "--data", tmp_path) == "No takes yet.\n"
    assert found("progress", "--data", tmp_path) == []


def test_a_take_taken_back_does_not_count(folder, found):
    with Log.open(folder) as log:
        for row in log.takes(newest_first=True, limit=8):
            log.cancel_take(row.id, utc_text(START), "undo")
    (one,) = found("progress", "--player", "tess", "--data", folder)
    assert len(one["days"]) == 15


def test_a_rehearsal_written_to_a_folder_has_progress(tmp_path, said):
    said("rehearse", "--fast", "--seed", 3, "--data", tmp_path, "Am E", "F")
    words = said("progress", "--player", "rehearsal", "--data", tmp_path)
    assert words.index("F, landed again") < words.index("Am – E")  # newest first
    assert words.count("Too early to say: 1 sitting so far") == 2


@pytest.mark.parametrize(("name", "begins"), [("p.png", b"\x89PNG"), ("p.svg", b"<?xml")])
def test_the_command_draws_a_picture(folder, said, name, begins):
    words = ("--player", "tess", "--data", folder, "--target", 120)
    said("progress", "Am E", *words, "--picture", folder / name)
    assert (folder / name).read_bytes().startswith(begins)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("C G", "--player", "tess"), "its drills are “change Am E”"),
        (("--player", "nobody"), "name a player with --player: tess"),
        (("Am E", "--player", "tess", "--picture", "p.gif"), "ending in .png or .svg"),
        (("Am E", "--player", "tess", "--target", "5"), "from 20 to 300 BPM"),
        (("Am E", "--player", "tess", "--picture", "/none/such/p.png"), "/none/such/p.png"),
    ],
)
def test_bad_input_is_one_sentence(folder, refused, words, sentence):
    assert sentence in refused("progress", *words, "--data", folder)


def test_drills_of_a_newer_program_are_named_in_one_sentence():
    said = progress_words.unread_words(("backwards F Am", "sideways C"))
    assert "“backwards F Am”, “sideways C”; update it" in said
