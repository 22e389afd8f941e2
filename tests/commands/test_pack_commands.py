"""`pedaltrainer pack` as teachers and pupils run it, and what a pack does to a session."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from pedaltrainer import cli
from pedaltrainer.commands import options
from pedaltrainer.commands.whose import desk_of, rehearsal_desk
from pedaltrainer.errors import InputError
from pedaltrainer.history import today
from pedaltrainer.history.asked import tasks_of
from pedaltrainer.live import fast
from pedaltrainer.packs.pack import read_pack
from pedaltrainer.practice.coach.plan_lines import Mode, Why
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.showing.plan_words import reason_words
from pedaltrainer.songs.shipped import configs_folder, demo_songs
from tests.history.desks import desk_with

EXAMPLE = configs_folder() / "packs" / "example.toml"
NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    folder = tmp_path / "home"
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: folder)
    monkeypatch.setattr("pedaltrainer.commands.asking.player_name", lambda: "Robin")
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    return folder


def played(folder, *drills, player="Robin"):
    words = cli.parser().parse_args(["rehearse", *drills, "--data", str(folder), "--player", player])
    chosen = options.session_options(words, rehearsal_desk(words, folder), MadeUpPlayer(90, 3))
    with Log.open(folder) as log:
        fast.rehearse(chosen, log)


def session(*words):
    asked = cli.parser().parse_args(words)
    return options.session_options(asked, desk_of(asked))


def pack_of(text):
    pack, troubles = read_pack('title = "Week 3"\n' + text, "pack.toml")
    assert not troubles
    return pack


def planned(folder, *packs, songs=(), minutes=20):
    return today.plan_for(desk_with(folder, "Robin", songs, packs), minutes, NOW).plan


# --- the commands -------------------------------------------------------------------------


def test_a_teacher_starts_from_an_example_that_is_in_order(said, refused):
    said("pack", "new", "mine.toml")
    assert "mine.toml is in order." in said("pack", "check", "mine.toml")
    assert "is there already" in refused("pack", "new", "mine.toml")


def test_check_tells_every_trouble_a_line_each(tmp_path, ran, refused):
    (tmp_path / "bad.toml").write_text('minutes = 0\n[[drill]]\nwords = "C F G"\n', encoding="utf-8")
    code, out, trouble = ran("pack", "check", "bad.toml")
    told = trouble.splitlines()
    assert (code, out) == (2, "")
    assert len(told) == 3
    assert all(line.startswith("pedaltrainer: bad.toml, line ") for line in told)
    assert "3 troubles in all" in refused("pack", "use", "bad.toml")


def test_a_pupil_is_told_what_changes_and_may_look_first(said, home):
    looked = said("pack", "use", EXAMPLE, "--dry-run")
    assert looked.startswith(
        "Would use: The first barred F.\nNew songs: Salt and Rope (slow).\nNew shapes: F.\n"
    )
    assert not home.exists()
    assert said("pack", "use", EXAMPLE).startswith("In use: The first barred F.")
    listed = said("pack", "list")
    assert "for the Thursday group; 15 minutes a day" in listed
    assert "Press no harder than the note needs." in listed
    assert "C – F: 70 BPM (Let the first finger land first.)" in listed
    assert [one["title"] for one in json.loads(said("pack", "list", "--json"))] == ["The first barred F"]
    assert "no longer in use" in said("pack", "drop", "barred")
    assert said("pack", "list").startswith("No packs in use.")


def test_a_pack_made_from_what_a_teacher_has_can_be_used_by_a_pupil(said, home, tmp_path):
    played(home, "C G", "F")
    said("song", "add", configs_folder() / "songs" / "low-water.chart")
    told = said("pack", "export", "out.toml", "--title", "Term 1", "--for", "Uli")
    assert "Term 1, 2 drills, 1 songs, 0 shapes" in told
    said("pack", "use", "out.toml", "--data", tmp_path / "uli")
    (pack,) = json.loads(said("pack", "list", "--data", tmp_path / "uli", "--json"))
    assert (pack["teacher"], pack["for"], pack["songs"]) == ("Robin", "Uli", ["Low Water"])
    assert sorted(one["words"] for one in pack["drills"]) == ["C G", "F"]
    assert all(60 < one["target_bpm"] < 130 for one in pack["drills"])


def test_the_log_that_goes_back_has_this_players_takes_and_nobody_elses(said, home, tmp_path, capsys):
    played(home, "C G")
    played(home, "Am E", player="Uli")
    with Log.open(home, read_only=True) as log:
        takes, inputs = log.takes(player="Robin"), log.inputs(log.sessions("Robin")[0].id)
    told = said("pack", "return", "robin.sqlite3")
    assert f"{len(takes)} takes of Robin and nobody else's" in told
    assert [path.name for path in tmp_path.iterdir() if path.name != "home"] == ["robin.sqlite3"]
    (tmp_path / "teacher").mkdir()
    (tmp_path / "robin.sqlite3").rename(tmp_path / "teacher" / "log.sqlite3")
    assert b"Uli" not in (tmp_path / "teacher" / "log.sqlite3").read_bytes()
    with Log.open(tmp_path / "teacher", read_only=True) as log:
        assert log.takes() == takes
        assert log.inputs(log.sessions()[0].id) == inputs


def test_nothing_is_written_over_by_a_returned_log(home, tmp_path, refused):
    played(home, "C G")
    (tmp_path / "there").write_text("mine")
    assert "is there already" in refused("pack", "return", "there")
    assert "no takes of Ada" in refused("pack", "return", "new", "--player", "Ada")
    assert (tmp_path / "there").read_text() == "mine"


# --- a session by packs -------------------------------------------------------------------


def test_a_change_with_a_target_is_practised_as_a_song_would_ask(tmp_path):
    plan = planned(tmp_path, pack_of('[[drill]]\nwords = "C F"\ntarget = 90\n'))
    assert "change C F" in [line.drill.key for line in plan.lines]
    assert any("Week 3 asks for 90 BPM" in reason_words(line) for line in plan.lines)


def test_a_change_wanted_by_a_pack_and_a_song_is_one_task_at_the_faster_tempo():
    pack = pack_of('[[drill]]\nwords = "C D"\ntarget = 200\n')
    (task,) = [one for one in tasks_of(demo_songs(), [pack]) if one.drill.key == "change C D"]
    assert task.target_bpm == 200
    assert task.sources == ("Week 3", "Low Water")


def test_what_the_teacher_set_comes_first_and_then_takes_its_turn_with_the_songs(tmp_path):
    words = ["pressure F", "shared C Am +1", "F"]
    pack = pack_of("".join(f'[[drill]]\nwords = "{one}"\n' for one in words))
    plan = planned(tmp_path, pack, songs=demo_songs())
    warm_up, *blocks = plan.lines
    assert warm_up.why is Why.WARM_UP
    assert [line.drill.words for line in blocks[:3]] == words
    assert blocks[0].mode is Mode.SLOW
    titles = {song.title for song in demo_songs()}
    assert all(line.why is Why.NEW and titles & set(line.sources) for line in blocks[3:])
    assert sum(line.minutes for line in plan.lines) == pytest.approx(20)


def test_a_pack_without_songs_or_targets_fills_the_session(tmp_path):
    plan = planned(
        tmp_path, pack_of('[[drill]]\nwords = "pressure F"\n[[drill]]\nwords = "Am E"\n'), minutes=13
    )
    assert {line.drill.words for line in plan.lines if line.why is not Why.WARM_UP} == {"pressure F", "Am E"}
    assert sum(line.minutes for line in plan.lines) == 13


def test_a_drill_that_was_left_longest_is_set_first(tmp_path):
    played(tmp_path, "F")
    plan = planned(tmp_path, pack_of('[[drill]]\nwords = "F"\ntarget = 300\n[[drill]]\nwords = "Bm"\n'))
    assert [line.drill.words for line in plan.lines if line.why is not Why.WARM_UP][:2] == ["Bm", "F"]
    assert any(reason_words(line).endswith("of 300 BPM, for Week 3") for line in plan.lines)


def test_without_a_word_todays_session_is_for_the_packs_and_as_long_as_they_say(said):
    said("pack", "use", EXAMPLE)
    settings = session("play").settings
    assert sum(settings.minutes_each) == pytest.approx(15)
    assert {"pressure F", "shared C Am +1"} <= {drill.words for drill in settings.drills}
    named = session("play", "Am E").settings
    assert [drill.words for drill in named.drills] == ["Am E"]


def test_the_plan_says_what_the_teacher_says(said):
    said("pack", "use", EXAMPLE)
    told = said("plan")
    assert told.startswith("Today, 15 minutes")
    assert "The first barred F (The Harbour Lanterns' workshop): Press no harder" in told
    assert told.endswith("To begin: pedaltrainer\n")


def test_without_songs_or_packs_there_is_nothing_to_plan(tmp_path):
    with pytest.raises(InputError, match="no song yet"):
        planned(tmp_path)


def test_a_drill_that_the_shapes_cannot_be_put_to_is_refused_at_use_and_hinders_no_session(tmp_path, refused):
    text = '[[drill]]\nwords = "shared C Am +4"\n[[drill]]\nwords = "Am E"\n'
    (tmp_path / "p.toml").write_text('title = "Week 3"\n' + text, encoding="utf-8")
    assert "“shared C Am +4”: these shapes have" in refused("pack", "use", "p.toml")
    lines = planned(tmp_path, pack_of(text)).lines
    assert [line.drill.words for line in lines if line.why is not Why.WARM_UP] == ["Am E"]
