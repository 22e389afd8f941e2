"""The commands of the neck as a player runs them: `shape`, `moves`, `route`."""

from __future__ import annotations

import io
import re
import sys
import xml.etree.ElementTree as ET

import pytest

from pedaltrainer.cli import main
from pedaltrainer.neck.chords.spelling import spell
from pedaltrainer.neck.chords.tuning import parse_tuning
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.songs.shipped import shape_book


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    """A player without settings of their own, at a terminal of 80 columns."""
    monkeypatch.setattr("pedaltrainer.records.log.default_folder", lambda: tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


# --- shape ---------------------------------------------------------------------------


def test_shapes_are_drawn_side_by_side_with_fingers_notes_and_intervals(said):
    out = said("shape", "Bm7b5", "--count", 3)
    assert out.startswith("Bm7b5 is B D F A (1 b3 b5 b7).\n")
    assert max(map(len, out.splitlines())) <= 80
    assert "1. Bm7b5" in out
    assert "3. Bm7b5" in out
    assert "b5" in out.splitlines()[-8] or "b5" in out
    assert 'pedaltrainer play "Bm7b5' in out


@pytest.mark.parametrize(
    ("symbol", "frets"), [("C", [None, 3, 2, 0, 1, 0]), ("F", [1, 3, 3, 2, 1, 1]), ("Em", [0, 2, 2, 0, 0, 0])]
)
def test_the_shape_that_players_know_comes_first(found, symbol, frets):
    """Common practice, no published source."""
    assert found("shape", symbol)["shapes"][0]["frets"] == frets


def test_every_shape_of_json_sounds_the_chord(found):
    shapes = found("shape", "F#m7", "--count", 12)["shapes"]
    chord = spell("F#m7").pitch_classes
    assert 1 <= len(shapes) <= 12
    for shape in shapes:
        assert shape.keys() >= {"frets", "fingers", "midi", "notes", "degrees", "position", "barres", "name"}
        assert {note % 12 for note in shape["midi"] if note is not None} <= chord
        assert {note for note in shape["notes"] if note} <= {"F#", "A", "C#", "E"}
        assert len(shape["frets"]) == len(shape["fingers"]) == 6


def test_shapes_near_a_fret_lie_near_it(found):
    shapes = found("shape", "C", "--near", 8, "--count", 3)["shapes"]
    assert all(abs(shape["position"] - 8) <= 4 for shape in shapes)


def test_another_tuning_changes_what_the_strings_sound(found):
    dropped = found("shape", "D5", "--tuning", "D A D G B E", "--count", 1)
    assert dropped["tuning"]["name"] == "D A D G B E"
    assert dropped["tuning"]["open_midi"][0] == 38


def test_a_narrow_hand_gets_narrower_shapes(found):
    from pedaltrainer.neck.geometry import USUAL_NECK

    for shape in found("shape", "Cmaj7", "--span", 60, "--count", 8)["shapes"]:
        pressed = [fret for fret in shape["frets"] if fret]
        if len(pressed) > 1:
            assert USUAL_NECK.span_mm(min(pressed), max(pressed)) <= 60


def test_above_a_capo_the_symbol_is_how_it_sounds_and_the_hand_makes_another(said, found):
    assert "Capo at fret 2: the hand makes G there." in said("shape", "A", "--capo", 2)
    there = found("shape", "A", "--capo", 2, "--count", 1)
    open_g = found("shape", "G", "--count", 1)
    assert there["hand_makes"] == "G"
    assert there["shapes"][0]["frets"] == open_g["shapes"][0]["frets"]
    assert {note for note in there["shapes"][0]["notes"] if note} == {"A", "C#", "E"}


@pytest.mark.parametrize("strings", [4, 5, 7, 8])
def test_necks_of_four_to_eight_strings_are_known(found, strings):
    assert len(found("shape", "Em", "--strings", strings, "--count", 1)["shapes"][0]["frets"]) == strings


def test_chosen_frets_give_their_fingerings_only(found):
    shapes = found("shape", "G[320003]")["shapes"]
    assert len(shapes) > 1
    assert {tuple(shape["frets"]) for shape in shapes} == {(3, 2, 0, 0, 0, 3)}


def test_chosen_frets_that_are_another_chord_are_told(said):
    assert "B is not of C; the interval stands in parentheses." in said("shape", "C[x32000/032000]")


def test_left_handed_boxes_are_mirrored_and_the_setting_is_remembered(said, at_home):
    asked = said("shape", "C[x32010/032010]", "--left-handed")
    (at_home / "settings.toml").write_text("left_handed = true\n", encoding="utf-8")
    assert said("shape", "C[x32010/032010]") == asked
    right = said("shape", "C[x32010/032010]", "--no-left-handed")
    assert "   ×           ○       ○\n" in right
    assert "   ○       ○           ×\n" in asked


def test_the_remembered_tuning_is_used(found, at_home):
    (at_home / "settings.toml").write_text('tuning = "D A D G B E"\n', encoding="utf-8")
    assert found("shape", "D", "--count", 1)["tuning"]["open_midi"][0] == 38
    assert found("shape", "D", "--tuning", "EADGBE", "--count", 1)["tuning"]["open_midi"][0] == 40


def test_a_terminal_of_plain_letters_gets_plain_letters(monkeypatch):
    for words in (["shape", "F"], ["moves", "C Am"], ["route", "Em C G D"]):
        raw = io.BytesIO()
        monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
        assert main(words) == 0
        sys.stdout.flush()
        assert b"+===+" in raw.getvalue()
        assert b"?" not in raw.getvalue()


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("words", [["shape", "Am7"], ["moves", "C Am"], ["route", "Em C G D"]])
def test_nothing_is_wider_than_the_terminal(said, monkeypatch, columns, words):
    monkeypatch.setenv("COLUMNS", str(columns))
    # A command to type cannot be broken.
    lines = [line for line in said(*words).splitlines() if not line.startswith("  pedaltrainer play")]
    assert max(map(len, lines)) <= columns


# --- moves ---------------------------------------------------------------------------


def test_a_change_tells_who_stays_who_goes_and_how_to_practise_it(said):
    out = said("moves", "C Am")
    assert "Index: stays on the B string, fret 1." in out
    assert "Ring: lifts from the A string, fret 3, to the G string, fret 2; " in out
    assert "In short: 1 to place, 2 stay, the hand stays." in out
    assert "(2) stays where it is" in out
    assert '  pedaltrainer play "C Am"\n' in out
    assert '  pedaltrainer play "shared C Am"\n' in out


def test_chosen_fingers_are_the_ones_that_move(found):
    change = found("moves", "G[320003/320004] C")
    assert change["here"]["fingers"] == [3, 2, 0, 0, 0, 4]
    assert {f["finger"]: f["deed"] for f in change["fingers"]} == {
        1: "is added", 2: "block", 3: "block", 4: "leaves"
    }  # fmt: skip
    assert change["pattern"] == {"fingers": [2, 3], "shift": [1, 0]}


def test_on_a_shorter_neck_the_fingers_travel_less(found):
    words = "moves", "F[133211/134211] Bb[x13331/012341]"
    assert found(*words, "--scale", 550)["travel_mm"] < found(*words)["travel_mm"]


def test_the_place_among_all_ways_is_told_and_the_others_are_in_order(found):
    change = found("moves", "G C", "--count", 5)
    costs = [other["cost_in_all"] for other in change["others"]]
    assert costs == sorted(costs)
    assert 1 <= change["place"] <= change["tried"]
    assert sum(cost < change["cost_in_all"] for cost in costs) == min(change["place"] - 1, 5)


@pytest.mark.parametrize("change", ["C G", "D A", "Am F", "Bm A", "E A", "G D"])
def test_what_is_called_easier_costs_less_to_change_and_in_all(said, found, change):
    plain, told = found("moves", change, "--count", 60), " ".join(said("moves", change).split())
    easier = sum(
        other["cost"] < plain["cost"] and other["cost_in_all"] < plain["cost_in_all"]
        for other in plain["others"]
    )
    assert f"{easier or 'none'} {'is' if easier <= 1 else 'are'} easier, to change and in all" in told
    assert ("the easiest way to finger it" in told) == (easier > 0)


def test_a_player_is_told_no_costs(said):
    for words in (("moves", "C F"), ("route", "Em C G D", "--loop")):
        assert not re.search(r"\d\.\d", said(*words))


def test_an_easier_fingering_is_offered_for_practice(said):
    """Common practice, no published source: G with the fingers 2-3-4 on the way to C."""
    assert 'pedaltrainer play "G[320003/320004] C"\n      the easiest way' in said("moves", "G C")


def test_other_shapes_are_compared_only_when_asked_for(found):
    def frets(change: dict) -> set[str]:
        return {other["here"].split("/")[0] for other in change["others"]}

    assert frets(found("moves", "G C", "--count", 60)) == {"G[320003"}
    assert len(frets(found("moves", "G C", "--count", 60, "--any-shape"))) > 1


def test_a_change_along_the_neck_offers_the_level_drill(said, found):
    out = said("moves", "F[133211/134211] C[x35553/012341]")
    assert "The hand moves two frets up the neck" in out
    assert 'pedaltrainer play "level F C[x35553/012341]"' in out
    change = found("moves", "F[133211/134211] C[x35553/012341]")
    assert change["level"]["frets"] == [None, 1, 3, 3, 3, 1]


def test_where_an_open_string_forbids_the_level_drill_it_says_why(said):
    out = said("moves", "Gm[355333/134111] C[x32010/032010]")
    assert 'play "level' not in out
    assert "No level drill: The second shape has an open string" in " ".join(out.split())


# --- route ---------------------------------------------------------------------------


def test_between_g_c_and_d_the_route_leaves_middle_and_ring_their_pattern(found):
    """Common practice, no published source: G with the fingers 2-3-4 beside C and D."""
    plan = found("route", "G C D G", "--loop")
    assert plan["shapes"][0]["fingers"] == [3, 2, 0, 0, 0, 4]
    assert plan["cost"] <= plan["textbook_cost"]
    assert plan["saving"] == pytest.approx(plan["textbook_cost"] - plan["cost"], abs=0.02)


def test_chords_stay_in_their_usual_places_unless_any_shape_may_be_taken(found):
    kept = found("route", "Eb Ab Bb", "--loop")
    assert [shape["frets"] for shape in kept["shapes"]] == [shape["frets"] for shape in kept["textbook"]]
    free = found("route", "Eb Ab Bb", "--loop", "--any-shape")
    assert any(
        ours["frets"] != usual["frets"] for ours, usual in zip(free["shapes"], free["textbook"], strict=True)
    )


def test_the_textbook_is_the_book_of_shapes(found, at_home):
    (at_home / "shapes.toml").write_text(
        '[G]\nfrets = "3 2 0 0 3 3"\nfingers = "2 1 0 0 3 4"\n', encoding="utf-8"
    )
    plan = found("route", "G C")
    assert [shape["name"] for shape in plan["textbook"]] == ["G[320033/210034]", "C[x32010/032010]"]


def test_a_route_prints_what_it_saves_change_by_change_and_how_to_practise(said):
    out = said("route", "Em C G D", "--loop")
    for change in ("Em - C", "C - G", "G - D", "D - Em"):
        assert change in out
    assert "Easier than the usual fingering of each chord (6 fingers to place, else 11):" in out
    assert re.search(r"^Em - C +2 to place, 1 stays, the hand stays +easier$", out, re.MULTILINE)
    assert 'pedaltrainer play "' in out


def test_a_chord_that_is_held_on_is_no_change(said):
    out = said("route", "G G C")
    assert "G - C" in out
    assert "G - G" not in out


def test_a_known_shape_inside_a_new_one_is_told(said):
    out = " ".join(said("shape", "Cm7b5[x3434x/013240]").split())
    assert "1. The shape you know as Bm7b5, moved one fret up the neck." in out


def test_a_row_that_repeats_has_one_change_more(found):
    assert len(found("route", "Em C G D")["changes"]) == 3
    assert len(found("route", "Em C G D", "--loop")["changes"]) == 4


def test_a_text_file_of_chords_is_read_past_its_bar_lines(found, tmp_path):
    chart = tmp_path / "chart.txt"
    chart.write_text("# verse\n| Em . C/G . |\n| G / D / |\n| % |:C#m D/F#:|\n", encoding="utf-8")
    assert found("route", chart)["symbols"] == ["Em", "C/G", "G", "D", "C#m", "D/F#"]


def test_a_long_row_shows_each_shape_once_and_counts_its_changes(said):
    pinned = "Am[x02210/002310] F[133211/134211] "
    out = said("route", pinned * 10)
    assert out.count("┍") == 2
    assert "Am - F (x10)" in out
    assert "F - Am (x9)" in out


def test_a_row_may_be_as_long_as_a_song(found):
    assert len(found("route", "Am F C G " * 50)["shapes"]) == 200


def test_a_file_that_is_no_text_is_refused_and_named(capsys, tmp_path):
    (tmp_path / "chart.bin").write_bytes(bytes(range(256)))
    assert main(["route", str(tmp_path / "chart.bin")]) == 2
    assert "chart.bin, line 2: this is not UTF-8 text" in capsys.readouterr().err


def test_a_chord_with_chosen_frets_keeps_them(found):
    plan = found("route", "G[320003/210003] C G[320003/210003]")
    assert [shape["fingers"] for shape in plan["shapes"][::2]] == [[2, 1, 0, 0, 0, 3]] * 2


@pytest.mark.parametrize(
    "words",
    [
        ["moves", "G C"],
        ["moves", "F[133211/134211] C[x35553/012341]"],
        ["moves", "A Bm", "--capo", "2"],
        ["moves", "D G", "--tuning", "D A D G B E"],
        ["route", "Em C G D", "--loop"],
        ["route", "B E F#m", "--capo", "2"],
    ],
)
def test_what_is_offered_for_practice_is_what_a_session_plays(said, words):
    offered = re.findall(r'pedaltrainer play "([^"]+)"(?: --tuning "([^"]+)")?', said(*words))
    assert offered
    for drill, tuning in offered:
        book = shape_book(tuning=parse_tuning(tuning or "E A D G B E"))
        assert all(hand.shape is not None for hand in hands(parse_drill(drill), book))


# --- pictures ------------------------------------------------------------------------


def svg_words(path) -> set[str]:
    """What an SVG draws as words: each is named in a comment beside its outlines."""
    tree = ET.parse(path, ET.XMLParser(target=ET.TreeBuilder(insert_comments=True)))
    return {node.text.strip() for node in tree.iter() if node.tag is ET.Comment}


@pytest.mark.parametrize(
    ("words", "drawn"),
    [
        (["shape", "Bm7b5"], {"1. Bm7♭5", "B", "♭5"}),
        (["moves", "C Am"], {"C", "Am", "A ring: stays where it is"}),
        (["route", "Em C G D"], {"Em", "C", "G", "D"}),
    ],
)
def test_each_finding_can_be_drawn(said, tmp_path, words, drawn):
    path = tmp_path / "drawn.svg"
    assert f"Drawn in {path}." in said(*words, "--picture", path)
    assert drawn <= svg_words(path)


# --- bad input -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["shape", "H7"], "“H7” is not a chord symbol"),
        (["shape", "Am", "--strings", "3"], "3 strings"),
        (["shape", "Am", "--strings", "9"], "9 strings"),
        (["shape", "Am", "--tuning", "E A D"], "has 3 strings"),
        (["shape", "Am", "--tuning", "E A D G B H"], "is not a tuning"),
        (["shape", "Am", "--tuning", "DADGBE", "--strings", "7"], "leave out --strings"),
        (["shape", "Am", "--capo", "30"], "capo at fret 30"),
        (["shape", "Am", "--near", "30"], "no fret 30"),
        (["shape", "Am[0.30.0.0.0.0]"], "the fret “30”"),
        (["shape", "C13", "--tuning", "C C C C C C"], "C13"),
        (["shape", "Am", "--span", "5"], "from 50 to 150 mm"),
        (["shape", "Am", "--scale", "10"], "scale length of 10 mm"),
        (["shape", "Am", "--picture", "x.bmp"], "x.bmp"),
        (["moves", "C"], "names 1 of the two chords"),
        (["moves", "C[32010] Am"], "5 frets"),
        (["moves", "C Am F"], "names 3 of the two chords"),
        (["route", ""], "no chord"),
        (["route", "Em X"], "“X” is not a chord symbol"),
        (["route", "none-such.txt"], "no file none-such.txt"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(capsys, words, named):
    try:
        code = main(words)
    except SystemExit as refused:
        code = int(refused.code or 0)
    told = capsys.readouterr()
    assert (code, told.out) == (2, "")
    assert named in told.err
    assert len(told.err.strip().splitlines()) == 1
