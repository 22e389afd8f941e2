"""A teacher's pack: what is read of it, what is told of it, and what becomes of it on the pupil's machine."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.neck.shapes import Shape
from pedaltrainer.packs import shelf as pack_shelf
from pedaltrainer.packs.pack import Pack, PackDrill, PackSong, read_pack, write_pack
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.songs import shelf
from pedaltrainer.songs.shipped import configs_folder, demo_songs, shape_book
from pedaltrainer.songs.writing import write_chart

TODAY = date(2026, 11, 25)
EXAMPLE = configs_folder() / "packs" / "example.toml"
SHAPES = {
    "G": Shape((3, 2, 0, 0, 3, 3), (2, 1, 0, 0, 3, 4)),
    "F#m": Shape((2, 4, 4, 2, 2, 2), (1, 3, 4, 1, 1, 1)),
}


def pack_of(text):
    pack, troubles = read_pack(text, "pack.toml")
    assert not troubles
    return pack


def troubles_of(text):
    pack, troubles = read_pack(text, "pack.toml")
    assert pack is None
    return list(troubles)


# --- reading and writing ------------------------------------------------------------------


def test_the_example_is_in_order_and_says_what_it_says():
    pack = pack_shelf.read_whole(EXAMPLE)
    assert (pack.title, pack.minutes) == ("The first barred F", 15)
    assert [(one.drill.words, one.target_bpm) for one in pack.drills] == [
        ("C F", 70),
        ("Am F", 80),
        ("pressure F", None),
        ("shared C Am +1", None),
    ]
    (song,) = pack.songs
    assert (song.song.title, song.song.bars[0].tempo_bpm, song.song.by) == (
        "Salt and Rope (slow)",
        54,
        date(2030, 6, 1),
    )
    assert pack.shapes["F"].frets == (None, None, 3, 2, 1, 1)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
LINES = TEXTS.map(lambda text: " ".join(text.split()))
NOTES = TEXTS.map(lambda text: text.replace("\r\n", "\n").replace("\r", "").strip())
DRILLS = st.builds(
    PackDrill,
    st.sampled_from(
        ["Am F", "F x4", "pressure F", "shared C Am +1", "C F instant", "passage Am:2 G:3/2"]
    ).map(parse_drill),
    st.none() | st.integers(20, 300).map(float),
    NOTES,
)
SONGS = st.lists(st.sampled_from(demo_songs()), unique=True, max_size=3).map(
    lambda songs: tuple(PackSong(song, write_chart(song)) for song in songs)
)


@given(
    st.builds(
        Pack,
        LINES.filter(bool),
        LINES,
        LINES,
        NOTES,
        st.none() | st.integers(1, 600).map(float),
        st.lists(DRILLS, max_size=4).map(tuple),
        SONGS,
        st.sets(st.sampled_from(sorted(SHAPES))).map(lambda names: {name: SHAPES[name] for name in names}),
    )
)
def test_what_is_written_is_read_as_the_same_pack(pack):
    assert pack_of(write_pack(pack)) == pack


@given(st.text(max_size=200) | st.binary(max_size=200).map(lambda data: data.decode("latin-1")))
def test_whatever_is_in_a_file_it_is_read_or_told_in_sentences(text):
    pack, troubles = read_pack(text, "pack.toml")
    assert (pack is None) == bool(troubles)
    assert all(told.startswith("pack.toml") and told.endswith(".") and "\n" not in told for told in troubles)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9) | st.just("C F"),
    lambda inside: st.lists(inside, max_size=2) | st.dictionaries(st.sampled_from(["words", "G"]), inside),
    max_leaves=5,
)
KEYS = ["title", "teacher", "for", "notes", "minutes", "drill", "song", "shapes", "other"]


@given(st.dictionaries(st.sampled_from(KEYS), VALUES))
def test_whatever_the_values_are_it_is_read_or_told(found):
    def toml(value):
        if isinstance(value, bool | type(None)):
            return "true"
        if isinstance(value, dict):
            return "{" + ", ".join(f"{key} = {toml(one)}" for key, one in value.items()) + "}"
        if isinstance(value, list):
            return f"[{', '.join(map(toml, value))}]"
        return (
            '"' + "".join(f"\\u{ord(c) & 0x7FFF:04x}" for c in value) + '"'
            if isinstance(value, str)
            else repr(value)
        )

    text = "\n".join(f"{key} = {toml(value)}" for key, value in found.items())
    tomllib.loads(text)
    pack, troubles = read_pack(text, "pack.toml")
    assert (pack is None) == bool(troubles)


def test_every_trouble_is_told_with_its_line():
    told = troubles_of(
        'teacher = "Ada"\n'  # 1: no title
        "minutes = 0\n"  # 2
        "colour = 3\n"  # 3
        "[[drill]]\n"
        'words = "C F G"\n'  # 5
        "[[drill]]\n"
        'words = "C F"\n'
        "target = 900\n"  # 8
        "[[drill]]\n"  # 9: no words
        "target = 90\n"
        "[[song]]\n"  # 11: neither chart nor file
        "[[song]]\n"
        'chart = """\n'
        "title: Low Water\n"
        "| C | G / |\n"
        "| [Verse] |\n"  # 16
        '"""\n'
        "[[song]]\n"
        'file = "../../secrets.txt"\n'  # 19
        '[shapes."F#m"]\n'
        'frets = "2 4 4 2 2"\n'  # of the table in 20
        'fingers = "1 3 4 1 1"\n'
    )
    lines = [int(one.split(", line ")[1].split(",")[0].split(":")[0]) for one in told]
    assert sorted(lines) == [1, 2, 3, 5, 8, 9, 11, 16, 19, 20]
    assert "minutes must be a number from 1 to 600" in told[0] + told[1]
    assert all(one.count("pack.toml") == 1 for one in told)


def test_what_is_no_toml_is_told_with_its_line():
    assert troubles_of('title = "a"\nminutes = ') == [
        "pack.toml, line 2: this is not TOML; mend quotation marks and brackets there."
    ]
    assert "line 1" in troubles_of("title = " + "[" * 5000)[0]
    assert "line 1" in troubles_of("minutes = " + "9" * 5000)[0]


def test_a_song_gets_its_title_tempo_and_day_from_the_pack():
    pack = pack_of(
        'title = "a"\n[[song]]\ntitle = "Ferry"\ntempo = 72.5\nby = "12 December 2030"\n'
        "chart = '''| G | C |'''"
    )
    (one,) = pack.songs
    assert (one.song.title, one.song.by, one.song.bars[0].tempo_bpm) == ("Ferry", date(2030, 12, 12), 72.5)


def test_a_tempo_beside_a_chart_that_changes_its_own_is_refused():
    told = troubles_of(
        'title = "a"\n[[song]]\ntempo = 72\nchart = """title: b\ntempo: 9\n| G |\ntempo: 80\n| G |"""'
    )
    assert "not 10 to 600" in told[0]
    told = troubles_of(
        'title = "a"\n[[song]]\ntempo = 72\nchart = """title: b\ntempo: 90\n| G |\ntempo: 80\n| G |"""'
    )
    assert "changes its tempo" in told[0]


def test_a_song_may_be_a_chart_beside_the_pack_and_nowhere_else(tmp_path):
    (tmp_path / "low.chart").write_text("title: Low\n| G | C |\n", encoding="utf-8")
    pack = tmp_path / "pack.toml"
    pack.write_text('title = "a"\n[[song]]\nfile = "low.chart"\n', encoding="utf-8")
    assert pack_shelf.read_whole(pack).songs[0].song.title == "Low"
    for name in ("../low.chart", "/etc/passwd", "c:low.chart", "..\\\\low.chart"):
        pack.write_text(f'title = "a"\n[[song]]\nfile = "{name}"\n', encoding="utf-8")
        with pytest.raises(InputError, match=r"line 3: .* not beside the pack"):
            pack_shelf.read_whole(pack)


# --- in use -------------------------------------------------------------------------------


def used(folder, pack, replace=False):
    what = pack_shelf.taking(folder, pack, replace)
    pack_shelf.use(folder, what, TODAY)
    return what


def test_a_pack_in_use_brings_its_songs_and_shapes_and_is_kept(tmp_path):
    pack = pack_shelf.read_whole(EXAMPLE)
    used(tmp_path, pack)
    assert [song.title for song in shelf.songs(tmp_path)] == ["Salt and Rope (slow)"]
    assert read_shape_book(tmp_path / "shapes.toml").shapes == pack.shapes
    assert pack_shelf.in_use(tmp_path).packs == (pack,)


def test_using_it_again_changes_nothing_and_leaves_one_in_use(tmp_path):
    pack = pack_shelf.read_whole(EXAMPLE)
    used(tmp_path, pack)
    shapes = (tmp_path / "shapes.toml").read_text()
    what = used(tmp_path, pack)
    assert (what.new_songs, what.other_songs, what.new_shapes, what.other_shapes) == ((), (), {}, {})
    assert (tmp_path / "shapes.toml").read_text() == shapes
    assert pack_shelf.in_use(tmp_path).packs == (pack,)


def own_things(folder):
    folder.mkdir(exist_ok=True)
    (folder / "mine.txt").write_text("title: salt and  rope (slow)\n| Dm |\n", encoding="utf-8")
    shelf.add(folder, folder / "mine.txt", TODAY)
    mine = (
        '# how I like it\n["F"]\nfrets = "1 3 3 2 1 1"\nfingers = "1 3 4 2 1 1"\n\n'
        '[G]  # full\nfrets = "3 2 0 0 0 3"\nfingers = "2 1 0 0 0 3"\n'
    )
    (folder / "shapes.toml").write_text(mine, encoding="utf-8")
    return mine


def test_a_pack_never_writes_over_ones_own_unasked(tmp_path):
    mine = own_things(tmp_path)
    what = used(tmp_path, pack_shelf.read_whole(EXAMPLE))
    assert [one.song.title for one in what.other_songs] == ["Salt and Rope (slow)"]
    assert (tmp_path / "shapes.toml").read_text() == mine
    assert shelf.songs(tmp_path)[0].title == "salt and rope (slow)"


def test_a_chord_that_was_played_keeps_its_shape_and_the_packs_drills_name_theirs(tmp_path):
    """What was played of a drill belongs to the shape it was played with."""
    pack = pack_shelf.read_whole(EXAMPLE)
    what = pack_shelf.taking(tmp_path, pack, False, {"F", "Am"})
    pack_shelf.use(tmp_path, what, TODAY)
    assert not (tmp_path / "shapes.toml").exists()
    (kept,) = pack_shelf.in_use(tmp_path).packs
    book = shape_book(tmp_path)
    for asked, one in zip(pack.drills, kept.drills, strict=True):
        assert one.drill.title == asked.drill.title
        assert (one.drill.key == asked.drill.key) == ("F" not in asked.drill.chords)
        theirs = dict(zip(asked.drill.chords, hands(one.drill, book), strict=True))
        if "F" in theirs:
            assert theirs["F"].shape.frets == pack.shapes["F"].frets
    assert book.find("F") == shape_book().find("F")


def test_with_replace_ones_own_are_kept_aside(tmp_path):
    mine = own_things(tmp_path)
    used(tmp_path, pack_shelf.read_whole(EXAMPLE), replace=True)
    shapes = read_shape_book(tmp_path / "shapes.toml").shapes
    assert shapes["F"].frets == (None, None, 3, 2, 1, 1)
    assert shapes["G"].frets == (3, 2, 0, 0, 0, 3)
    assert (tmp_path / "packs" / "dropped" / "shapes.toml").read_text() == mine
    assert shelf.songs(tmp_path)[0].title == "Salt and Rope (slow)"
    assert len(list((tmp_path / "songs" / "removed").iterdir())) == 1


def test_a_dropped_pack_is_moved_aside(tmp_path):
    used(tmp_path, pack_shelf.read_whole(EXAMPLE))
    assert pack_shelf.drop(tmp_path, "barred").title == "The first barred F"
    assert pack_shelf.in_use(tmp_path).packs == ()
    assert len(list((tmp_path / "packs" / "dropped").iterdir())) == 1
    with pytest.raises(InputError, match="names 0 packs"):
        pack_shelf.drop(tmp_path, "barred")


def test_a_broken_pack_hinders_no_other(tmp_path):
    used(tmp_path, pack_shelf.read_whole(EXAMPLE))
    (tmp_path / "packs" / "a.toml").write_bytes(b"\xff\n")
    assert len(pack_shelf.in_use(tmp_path).packs) == 1
    (told,) = pack_shelf.in_use(tmp_path).troubles
    assert "a.toml, line 1" in told
