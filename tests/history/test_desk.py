"""Whose practice and where: what a desk gives, and that it is read once."""

from __future__ import annotations

import shutil

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING
from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.shipped import demo_songs
from tests.history.desks import desk_with

SONG = parse_chart("title: Low Water\ntempo: 84\n\n| Am / / / | F / C / |\n", "low water")
PACK = Pack("Week nine", drills=(PackDrill(parse_drill("Am F"), 60), PackDrill(parse_drill("G D"), 150)))


def test_it_gives_the_songs_the_packs_and_what_they_ask_for(tmp_path):
    desk = desk_with(tmp_path, songs=[SONG], packs=[PACK])
    assert [song.title for song in desk.songs] == ["Low Water"]
    assert desk.packs == (PACK,)
    assert desk.troubles == ()
    assert [one.drill.words for one in desk.set_drills] == ["Am F", "G D"]
    assert desk.targets_bpm["change Am F"] == 84, "the fastest that anything asks"
    assert desk.targets_bpm.keys() > {"change Am F", "change D G"}


def test_a_file_that_cannot_be_read_is_named_and_hinders_no_other(tmp_path):
    desk = desk_with(tmp_path, songs=[SONG], packs=[PACK])
    (tmp_path / "songs" / "x.chart").write_text("| Q |", encoding="utf-8")
    (tmp_path / "packs" / "x.toml").write_text("title = 3", encoding="utf-8")
    assert len(desk.songs) == len(desk.packs) == 1
    assert [trouble.partition(",")[0] for trouble in desk.troubles] == [
        str(tmp_path / "packs" / "x.toml"),
        str(tmp_path / "songs" / "x.chart"),
    ]


def test_the_tuning_is_the_one_remembered_unless_another_is_named(tmp_path):
    (tmp_path / "settings.toml").write_text('tuning = "D A D G B E"\n', encoding="utf-8")
    assert Desk(tmp_path, "tess").shapes.tuning.name == "D A D G B E"
    assert Desk(tmp_path, "tess", STANDARD_TUNING).shapes.tuning == STANDARD_TUNING


def test_what_was_read_stays_as_it_was_also_for_another_player_there(tmp_path):
    desk = desk_with(tmp_path, songs=[SONG])
    songs = desk.songs
    shutil.rmtree(tmp_path / "songs")
    assert desk.of("uli").songs is songs
    assert (desk.of("uli").player, desk.player) == ("uli", "tess")
    assert Desk(tmp_path, "tess").songs == ()


def test_the_log_is_the_folders_or_a_file_of_any_name(tmp_path):
    desk = Desk(tmp_path / "own", "tess")
    assert not desk.has_log
    with pytest.raises(InputError):
        desk.log()
    Log.open(desk.folder).close()
    assert desk.has_log
    shutil.copy(desk.folder / FILE_NAME, tmp_path / "copy.backup")
    elsewhere = Desk(tmp_path / "own", "tess", log_at=tmp_path / "copy.backup")
    assert elsewhere.has_log
    with elsewhere.log() as log:
        assert log.players() == []


def test_a_made_up_player_plays_the_made_up_bands_songs_and_by_no_pack(tmp_path):
    desk_with(tmp_path, songs=[SONG], packs=[PACK])
    desk = Desk(tmp_path, "rehearsal", rehearses=True)
    assert (desk.songs, desk.packs, desk.troubles) == (demo_songs(), (), ())
