"""The player's songs on disk: kept as written, found by a few words, never lost."""

import dataclasses
from datetime import date
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.songs import shelf
from pedaltrainer.songs.keys import in_key
from tests.songs.as_written import CHARTS

TODAY = date(2026, 11, 25)
DATA = Path(__file__).parents[1] / "data"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "data"


def write(tmp_path: Path, text: str, name: str = "mine.txt") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def add(folder: Path, tmp_path: Path, title: str, bars: str = "| Am | G |", replace: bool = False) -> None:
    path = write(tmp_path, f"title: {title}\n{bars}\n")
    shelf.add(folder, path, TODAY, replace=replace)


def titles(folder: Path) -> list[str]:
    return [song.title for song in shelf.songs(folder)]


def test_a_chart_is_kept_as_the_player_wrote_it(folder: Path, tmp_path: Path) -> None:
    text = "# for the pier\ntitle: Low Water\n|: Am | %  :| x2   # quietly\n"
    song = shelf.add(folder, write(tmp_path, text), TODAY)
    assert (folder / "songs" / "low-water.chart").read_text(encoding="utf-8") == text
    assert shelf.songs(folder) == (song,)


def test_a_day_without_a_year_is_kept_with_the_year_it_meant(folder: Path, tmp_path: Path) -> None:
    shelf.add(folder, write(tmp_path, "title: A\nby: 12 December  # the pier\n| Am |\n"), TODAY)
    assert "by: 2026-12-12  # the pier\n" in (folder / "songs" / "a.chart").read_text(encoding="utf-8")
    assert shelf.find(folder, "a").by == date(2026, 12, 12)


def test_a_chart_without_a_title_is_called_as_its_file(folder: Path, tmp_path: Path) -> None:
    shelf.add(folder, write(tmp_path, "| Am |", "Salt & Rope.txt"), TODAY)
    assert titles(folder) == ["Salt & Rope"]


@pytest.mark.parametrize("name", ["lantern_reel.xml", "low_water.musicxml"])
def test_a_score_is_kept_as_a_chart_of_the_same_song(folder: Path, name: str) -> None:
    song = shelf.add(folder, DATA / name, TODAY)
    assert shelf.songs(folder) == (song,)


def test_a_score_is_known_by_its_content_too(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "reel.txt"
    path.write_bytes((DATA / "lantern_reel.xml").read_bytes())
    assert shelf.add(folder, path, TODAY).title == "Lantern Reel"


def test_a_song_of_the_same_title_is_replaced_only_when_asked(folder: Path, tmp_path: Path) -> None:
    add(folder, tmp_path, "Low Water")
    with pytest.raises(InputError, match="--replace"):
        add(folder, tmp_path, "low  water", "| C |")
    assert len(shelf.songs(folder)[0].bars) == 2
    add(folder, tmp_path, "low water", "| C |", replace=True)
    assert len(shelf.songs(folder)[0].bars) == 1
    (old,) = (folder / "songs" / "removed").iterdir()
    assert "| Am | G |" in old.read_text(encoding="utf-8")


def test_a_song_that_cannot_be_written_leaves_the_old_one(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(folder, tmp_path, "Low Water")

    def full(path: Path, text: str) -> None:
        raise InputError(f"{path} cannot be written (no space left).")

    monkeypatch.setattr(shelf, "write_whole", full)
    with pytest.raises(InputError, match="no space"):
        add(folder, tmp_path, "Low Water", "| C |", replace=True)
    assert len(shelf.songs(folder)[0].bars) == 2


def test_two_titles_that_make_one_file_name_are_two_songs(folder: Path, tmp_path: Path) -> None:
    add(folder, tmp_path, "Low Water")
    add(folder, tmp_path, "Low Water!")
    assert titles(folder) == ["Low Water", "Low Water!"]


@pytest.mark.parametrize("title", ["../../up", "CON/: *?", "海の灯", "...", "a" * 120])
def test_any_title_makes_a_file_in_the_folder(folder: Path, tmp_path: Path, title: str) -> None:
    add(folder, tmp_path, title)
    assert titles(folder) == [title]
    assert [path.parent for path in folder.rglob("*.chart")] == [folder / "songs"]


def test_no_song_gets_the_name_of_a_device(folder: Path, tmp_path: Path) -> None:
    # Names that Windows reserves: Microsoft, "Naming Files, Paths, and Namespaces" (from memory).
    add(folder, tmp_path, "Aux")
    assert [path.name for path in folder.rglob("*.chart")] == ["song-aux.chart"]


def test_a_broken_file_gives_a_sentence_and_hides_no_other(folder: Path, tmp_path: Path) -> None:
    add(folder, tmp_path, "Low Water")
    (folder / "songs" / "broken.chart").write_text("| Am | H |\n", encoding="utf-8")
    (folder / "songs" / "raw.chart").write_bytes(b"| Am \xff |\n")
    found = shelf.look(folder)
    assert [song.title for song in found.songs] == ["Low Water"]
    assert len(found.troubles) == 2
    assert "broken.chart, line 1, bar 2" in found.troubles[0]
    assert "raw.chart, line 1" in found.troubles[1]


def test_an_empty_shelf_has_no_songs(folder: Path) -> None:
    assert shelf.look(folder) == shelf.Shelf((), ())
    with pytest.raises(InputError, match="song add"):
        shelf.find(folder, "low")


def test_a_song_is_found_by_some_words_of_its_title(folder: Path, tmp_path: Path) -> None:
    for title in ("Low Water", "Low Water Reel", "Salt and Rope"):
        add(folder, tmp_path, title)
    assert shelf.find(folder, "rope SALT").title == "Salt and Rope"
    assert shelf.find(folder, "low water").title == "Low Water"
    with pytest.raises(InputError, match="“Low Water”, “Low Water Reel”"):
        shelf.find(folder, "low")
    with pytest.raises(InputError, match="no song “tide”"):
        shelf.find(folder, "tide")


def test_a_removed_song_is_only_put_aside(folder: Path, tmp_path: Path) -> None:
    for _ in range(2):
        add(folder, tmp_path, "Low Water")
        assert shelf.remove(folder, "water").title == "Low Water"
    assert titles(folder) == []
    assert len(list((folder / "songs" / "removed").glob("*.chart"))) == 2


def test_a_new_day_leaves_the_rest_of_the_chart_as_it_was(folder: Path, tmp_path: Path) -> None:
    shelf.add(folder, write(tmp_path, "title: A\n# slow\n| Am |\n"), TODAY, by=date(2026, 12, 1))
    file = folder / "songs" / "a.chart"
    assert file.read_text(encoding="utf-8") == "title: A\nby: 2026-12-01\n# slow\n| Am |\n"
    assert shelf.set_day(folder, "a", date(2027, 1, 2)).by == date(2027, 1, 2)
    assert shelf.find(folder, "a").by == date(2027, 1, 2)
    shelf.set_day(folder, "a", None)
    assert file.read_text(encoding="utf-8") == "title: A\n# slow\n| Am |\n"


def test_a_folder_or_a_picture_is_no_song(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        shelf.add(folder, tmp_path, TODAY)
    picture = tmp_path / "a.png"
    picture.write_bytes(b"\x89PNG\r\n")
    with pytest.raises(InputError, match="neither UTF-8 text nor MusicXML"):
        shelf.add(folder, picture, TODAY)


def test_another_tempo_changes_the_tempo_lines_alone(tmp_path):
    chart = "title: Two Speeds\nTempo : 90 BPM  # as at the dance\n| C | F |\n[End]\ntempo: 60\n| C |\n"
    kept(tmp_path, chart)
    song = shelf.set_tempo(tmp_path, "Two Speeds", 1.2)
    (file,) = (tmp_path / "songs").glob("*.chart")
    assert file.read_text() == chart.replace("90 BPM", "108 BPM").replace("60", "72")
    assert [bar.tempo_bpm for bar in song.bars] == [108, 108, 72]


def test_a_chart_without_a_tempo_gets_one_and_one_that_would_be_none_is_refused(tmp_path):
    kept(tmp_path, "title: Plain\n| C | F |\n")
    assert shelf.set_tempo(tmp_path, "Plain", 1.1).bars[0].tempo_bpm == 110
    before = next((tmp_path / "songs").glob("*.chart")).read_text()
    with pytest.raises(InputError, match="tempo"):
        shelf.set_tempo(tmp_path, "Plain", 40)
    assert next((tmp_path / "songs").glob("*.chart")).read_text() == before


def test_a_song_that_is_written_anew_leaves_the_old_one_among_the_removed(tmp_path):
    kept(tmp_path, "title: Plain\n# my own words\n| C | F |\n")
    shelf.rewrite(tmp_path, "Plain", in_key(shelf.find(tmp_path, "Plain"), 2))
    assert [slot.chord for bar in shelf.find(tmp_path, "Plain").bars for slot in bar.slots] == ["D", "G"]
    (removed,) = (tmp_path / "songs" / "removed").glob("*.chart")
    assert "my own words" in removed.read_text()


def kept(folder, chart):
    file = folder / "songs" / "one.chart"
    file.parent.mkdir()
    file.write_text(chart)


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_as_players_write_it_is_kept_as_the_song_that_it_was(
    folder: Path, tmp_path: Path, name: str
) -> None:
    path = write(tmp_path, CHARTS[name].chart)
    song = shelf.add(folder, path, TODAY)
    assert shelf.songs(folder) == (song,)
    day = date(2027, 5, 1)
    shelf.set_day(folder, song.title, day)
    assert shelf.songs(folder) == (dataclasses.replace(song, by=day),)
    slower = shelf.set_tempo(folder, song.title, 0.5)
    assert shelf.songs(folder) == (slower,)
    assert [bar.slots for bar in slower.bars] == [bar.slots for bar in song.bars]
    assert [bar.tempo_bpm for bar in slower.bars] == [bar.tempo_bpm / 2 for bar in song.bars]
    shelf.set_bars_a_chord(folder, song.title, "1")
    assert shelf.find(folder, song.title).title == song.title
