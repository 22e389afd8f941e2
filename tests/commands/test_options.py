"""What a session is run with: the words, what is remembered, and what the log knows."""

from __future__ import annotations

from datetime import date

import pytest

from pedaltrainer import cli
from pedaltrainer.commands import options
from pedaltrainer.commands.whose import desk_of, rehearsal_desk
from pedaltrainer.errors import InputError
from pedaltrainer.live import fast
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records import preferences
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.songs import shelf


def read(*words: str) -> options.Options:
    asked = cli.parser().parse_args(["play", *words])
    return options.session_options(asked, desk_of(asked))


def played(folder, *drills: str, skill: float = 90, player: str = "tess") -> float:
    """A fast rehearsal kept in a folder under a player's name; returns the fastest rung passed."""
    words = cli.parser().parse_args(["rehearse", *drills, "--data", str(folder), "--player", player])
    chosen = options.session_options(words, rehearsal_desk(words, folder), MadeUpPlayer(skill, 3))
    with Log.open(folder) as log:
        return fast.rehearse(chosen, log).state.results[0].result.best_bpm


def test_without_a_word_the_first_session_is_a_common_change_at_a_slow_tempo(tmp_path):
    chosen = read("--data", str(tmp_path))
    assert [drill.key for drill in chosen.settings.drills] == ["change Am E"]
    assert chosen.settings.starts_bpm == (60,)
    assert chosen.settings.answer_style is AnswerStyle.ASK


def test_the_first_session_shows_the_cautions_and_asks_about_the_screen(tmp_path):
    assert read("--data", str(tmp_path)).settings.show_cautions
    assert read("--data", str(tmp_path)).settings.ask_sight
    preferences.save(tmp_path, preferences.Preferences(cautions_seen_utc="2026-03-01T18:05:09.250Z"))
    assert not read("--data", str(tmp_path)).settings.show_cautions
    assert not read("--data", str(tmp_path)).settings.ask_sight


def test_without_a_word_the_last_drills_are_practised_again(tmp_path):
    played(tmp_path, "C G", "F")
    chosen = read("--data", str(tmp_path), "--player", "tess")
    assert [drill.key for drill in chosen.settings.drills] == ["change C G", "re-land F"]


def test_a_known_drill_starts_two_steps_below_the_last_best(tmp_path):
    best_bpm = played(tmp_path, "C G")
    chosen = read("C G", "D A", "--data", str(tmp_path), "--player", "tess", "--step", "6")
    assert chosen.settings.starts_bpm == (best_bpm - 12, 60)


def test_one_players_log_does_not_move_anothers_start(tmp_path):
    played(tmp_path, "C G", player="tess")
    assert read("C G", "--data", str(tmp_path), "--player", "uli").settings.starts_bpm == (60,)


def test_a_start_that_was_asked_for_is_taken(tmp_path):
    played(tmp_path, "C G")
    chosen = read("C G", "--data", str(tmp_path), "--player", "tess", "--start", "72")
    assert chosen.settings.starts_bpm == (72,)


def test_what_is_remembered_holds_until_the_words_say_otherwise(tmp_path):
    kept = preferences.Preferences(volume=0.2, answer_style="speak-up", reaction_ms=300, screen_inches=24)
    preferences.save(tmp_path, kept)
    chosen = read("--data", str(tmp_path))
    assert (chosen.volume, chosen.sight.screen_inches) == (0.2, 24)
    assert chosen.settings.answer_style is AnswerStyle.SPEAK_UP
    assert chosen.settings.reaction_s == pytest.approx(0.3)
    said = read("--data", str(tmp_path), "--volume", "0.5", "--answer", "ask", "--screen-inches", "13")
    assert (said.volume, said.sight.screen_inches) == (0.5, 13)
    assert said.settings.answer_style is AnswerStyle.ASK


def test_the_metre_is_read_as_players_write_it(tmp_path):
    for words, metre in (("3/4", "3/4"), ("6", "6/4"), ("6/8", "6/8"), ("6/8 in 6", "6/8 in 6")):
        settings = read("Am E", "F", "--metre", words, "--data", str(tmp_path)).settings
        assert [str(settings.metre_of(drill)) for drill in range(2)] == [metre] * 2


def test_a_wireless_delay_is_given_in_milliseconds(tmp_path):
    assert read("--sound-delay", "180", "--data", str(tmp_path)).sound.delay_s == pytest.approx(0.18)


# --- today ----------------------------------------------------------------------


@pytest.fixture
def with_a_song(tmp_path):
    chart = tmp_path / "low water.chart"
    chart.write_text("title: Low Water\ntempo: 84\n\n| Am / / / | F / C / | G / / / | Am / / / |\n")
    shelf.add(tmp_path, chart, date(2026, 3, 1))
    return tmp_path


def test_with_songs_and_without_a_word_today_is_practised(with_a_song):
    settings = read("--data", str(with_a_song), "--minutes", "12").settings
    assert sum(settings.minutes_each) == pytest.approx(12)
    assert all(settings.reasons)
    assert {drill.chords[0] for drill in settings.drills} <= {"Am", "F", "C", "G"}


def test_a_song_is_practised_in_its_own_metre_unless_another_one_is_named(tmp_path):
    for title, metre, chords in (("Waltz", "3/4", "Am / / | F / /"), ("Swell", "6/8", "D / | A /")):
        chart = tmp_path / f"{title}.chart"
        chart.write_text(f"title: {title}\ntempo: 90\nmetre: {metre}\n\n| {chords} |\n")
        shelf.add(tmp_path, chart, date(2026, 3, 1))
    metres = {"Am": "3/4", "F": "3/4", "D": "6/8", "A": "6/8"}
    for chosen in (read("--data", str(tmp_path)), read("F Am", "D A", "--data", str(tmp_path))):
        drills = chosen.settings.drills
        assert len({drill.key for drill in drills}) >= 2
        for index, drill in enumerate(drills):
            assert str(chosen.settings.metre_of(index)) == metres[drill.chords[0]]
    named = read("--metre", "5/4", "--data", str(tmp_path)).settings
    assert {str(named.metre_of(index)) for index in range(len(named.drills))} == {"5/4"}
    assert str(read("C G", "--data", str(tmp_path)).settings.metre_of(0)) == "4/4"


def test_a_song_that_cannot_be_read_is_said_as_the_plan_says_it_and_the_others_are_practised(
    with_a_song, capsys
):
    broken = with_a_song / "songs" / "broken.chart"
    broken.write_text("title: Broken\n\n| Am / / / | Q / / / |\n", encoding="utf-8")
    chosen = read("--data", str(with_a_song))
    (sentence,) = chosen.notices
    assert sentence.startswith(f"{broken}, line 3, bar 2: ")
    assert {drill.chords[0] for drill in chosen.settings.drills} <= {"Am", "F", "C", "G"}
    assert cli.main(["plan", "--data", str(with_a_song)]) == 0
    assert capsys.readouterr().err == f"pedaltrainer: {sentence}\n"
    assert read("D A", "--data", str(with_a_song)).notices == ()


def test_when_no_song_can_be_read_the_last_drills_are_practised_and_it_is_said(tmp_path):
    played(tmp_path, "C G")
    broken = tmp_path / "songs" / "broken.chart"
    broken.parent.mkdir()
    broken.write_text("| Q |", encoding="utf-8")
    chosen = read("--data", str(tmp_path), "--player", "tess")
    assert [drill.key for drill in chosen.settings.drills] == ["change C G"]
    assert str(broken) in chosen.notices[0]


def test_today_lasts_twenty_minutes_unless_the_player_has_others(with_a_song):
    assert sum(read("--data", str(with_a_song)).settings.minutes_each) == pytest.approx(20)


def test_a_drill_that_is_named_is_practised_instead(with_a_song):
    settings = read("D A", "--data", str(with_a_song)).settings
    assert [drill.key for drill in settings.drills] == ["change A D"]
    assert not settings.reasons


def test_the_answer_style_and_the_ladder_hold_for_today_too(with_a_song):
    settings = read("--data", str(with_a_song), "--answer", "speak-up", "--ladder", "steps").settings
    assert settings.answer_style is AnswerStyle.SPEAK_UP
    assert settings.ladder == "steps"


def test_what_was_measured_before_is_known_today(with_a_song):
    played(with_a_song, "Am F")
    settings = read("--data", str(with_a_song), "--player", "tess").settings
    known = [history for drill, history in zip(settings.drills, settings.histories, strict=True) if history]
    assert known


# --- tunings and hands ------------------------------------------------------------


def test_a_drill_that_the_shapes_do_not_allow_is_refused_before_anything_opens(tmp_path):
    with pytest.raises(InputError, match="“level F C”"):
        read("level F C", "--data", str(tmp_path))


def test_the_boxes_leave_the_take_by_an_option_or_by_what_is_remembered(tmp_path):
    assert read("--data", str(tmp_path)).boxes_in_take
    assert not read("--data", str(tmp_path), "--boxes", "between").boxes_in_take
    preferences.save(tmp_path, preferences.Preferences(boxes="between"))
    assert not read("--data", str(tmp_path)).boxes_in_take
    assert read("--data", str(tmp_path), "--boxes", "in-take").boxes_in_take


def test_the_tuning_and_the_hand_are_asked_for_or_remembered(tmp_path):
    assert read("--data", str(tmp_path), "--tuning", "D A D G B E").desk.shapes.tuning.name == "D A D G B E"
    assert read("--data", str(tmp_path), "--left-handed").left_handed
    preferences.save(tmp_path, preferences.Preferences(left_handed=True, tuning="D A D G B E"))
    assert read("--data", str(tmp_path)).desk.shapes.tuning.name == "D A D G B E"
    assert read("--data", str(tmp_path)).left_handed
