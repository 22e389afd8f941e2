"""Kinds of drill of one's own: a TOML file of rows, played and kept like the program's own."""

from __future__ import annotations

import json
import re
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.cli import main
from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import of_drills
from pedaltrainer.packs.own_kinds import kind_from_plain, kind_to_plain, own_kinds, read_kinds
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.kinds import KINDS, KindRow
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.replay import event_from_json, replay, settings_from_json, settings_to_json
from pedaltrainer.session.settings import Settings
from pedaltrainer.showing.beat import stages_of

ROLL = """\
[roll]
chords = [1, 2]
example = "C G"
what = "rolled from the lowest string to the highest"
miss = "a string that is late"
stages = [
    { word = "land", says = "{chord}: land" },
    { word = "roll", says = "{chord}: roll it, then {next}" },
]

[slow-roll]
chords = [1, 1]
example = "F"
what = "rolled as slowly as can be"
beats = 4
slow_bpm = 44
smaller = true
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "drills.toml").write_text(ROLL, encoding="utf-8")
    return tmp_path


def play(folder, words: str):
    """A session of a made-up player; what it came to, and its row and inputs in the log."""
    desk = Desk(folder, "Robin")
    settings = of_drills(Settings((parse_drill("F"),), ladder="seek", minutes=2), desk, [desk.drill(words)])
    with Log.open(folder) as log:
        state = fast.rehearse(Options(settings, desk, made_up=MadeUpPlayer(80, 5)), log).state
        row = log.sessions("Robin")[-1]
        return state, row, log.inputs(row.id)


def test_a_kind_of_ones_own_is_typed_by_its_name_and_has_what_its_row_says(folder):
    drill = parse_drill("roll C G", own=own_kinds(folder))
    assert drill.beats_per_chord == 2
    assert drill.title == "C – G, roll"
    assert [stage.word for stage in stages_of(drill, None)] == ["land", "roll"]
    assert parse_drill("slow-roll F", own=own_kinds(folder)).row.slow_bpm == 44


@pytest.mark.parametrize("words", ["roll C G", "roll F unseen", "slow-roll F"])
def test_its_name_in_the_log_reads_back_without_the_file(words, folder):
    drill = parse_drill(words, own=own_kinds(folder))
    for named in (drill.key, drill.words):
        without = parse_drill(named)
        assert without == drill
        assert without.key == drill.key
        assert without.title == drill.title
        assert without.beats_per_landing == drill.beats_per_landing
        assert without.row.measures_nothing == drill.row.measures_nothing


@pytest.mark.parametrize("words", ["roll C G", "slow-roll F"])
def test_a_session_of_it_is_played_kept_and_told_again_when_the_file_has_gone_or_says_other_things(
    words, folder
):
    state, row, inputs = play(folder, words)
    assert len(state.answers) > 2
    (folder / "drills.toml").write_text(ROLL.replace("beats = 4", "beats = 8"), encoding="utf-8")
    settings = settings_from_json(row.settings)
    assert settings.drills[0].row == state.settings.drills[0].row
    *_, (again, _) = replay(settings, map(event_from_json, inputs))
    assert [one.take for one in again.answers] == [one.take for one in state.answers]


def test_progress_finds_it_by_its_name_also_when_the_file_has_gone(folder, capsys):
    play(folder, "roll C G")
    asked = ["--player", "Robin", "--data", str(folder)]
    assert main(["progress", "roll C G", *asked]) == 0
    assert capsys.readouterr().out.startswith("C – G, roll\n")
    (folder / "drills.toml").unlink()
    assert main(["progress", *asked]) == 0
    assert capsys.readouterr().out.startswith("C – G, roll\n")


def test_a_kind_that_the_file_does_not_have_is_refused_where_it_is_to_be_played(folder):
    with pytest.raises(
        InputError, match=r"drills\.toml has no kind of drill named zz; there are: roll, slow-roll"
    ):
        Desk(folder, "Robin").drill("own zz C")


def test_drills_lists_it_in_words_and_as_json(folder, capsys):
    assert main(["drills", "--data", str(folder)]) == 0
    assert 'play "slow-roll F"\n  Rolled as slowly as can be.\n' in capsys.readouterr().out
    assert main(["drills", "--json", "--data", str(folder)]) == 0
    listed = json.loads(capsys.readouterr().out)["drills"]
    assert [one["kind"] for one in listed] == [*KINDS, "roll", "slow-roll"]
    assert [one["measured"] for one in listed[-2:]] == [True, False]


@pytest.mark.parametrize(
    ("text", "line", "complaint"),
    [
        ("[roll]\nchords = [1, 2\n", 3, "not TOML"),
        ('[roll]\nchords = [1, 2]\nexample = "C"\n', 1, "needs what"),
        ('[roll]\nchords = [0, 2]\nexample = "C"\nwhat = "x"\n', 2, "chords must be the fewest"),
        ('[roll]\nchords = [1, 2]\nexample = "C H"\nwhat = "x"\n', 3, "the example is no such drill"),
        ('[roll]\nchords = [1, 1]\nexample = "C G"\nwhat = "x"\n', 3, "one chord"),
        ('[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\nspeed = 3\n', 5, "“speed” is not known"),
        ('[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\nbeats = 0\n', 5, "a whole number from 1 to 16"),
        ('[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\nearly = "2"\n', 5, "one of 1/2"),
        ('[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\npicks = "90"\n', 5, "an order of strings"),
        (
            '[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\n'
            'stages = [{ word = "a", says = "{chord.x}" }]\n',
            5,
            "in braces nothing but chord",
        ),
        (
            '[roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\nbeats = 2\n'
            'stages = [{ word = "a", says = "b" }]\n',
            5,
            "cannot go together",
        ),
        ('[level]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\n', 1, "no kind already"),
        ('[b12]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\n', 1, "cannot be the name"),
        ('[Roll]\nchords = [1, 1]\nexample = "C"\nwhat = "x"\n', 1, "cannot be the name"),
        ("roll = 3\n", 1, "must be a table"),
    ],
)
def test_a_broken_file_is_refused_with_its_line_and_the_mend(text, line, complaint, folder, capsys):
    (folder / "drills.toml").write_text(text, encoding="utf-8")
    assert main(["drills", "--data", str(folder)]) == 2
    said = capsys.readouterr().err
    assert f"drills.toml, line {line}: " in said
    assert complaint in said
    assert said.count("\n") == 1


def test_no_entry_of_a_row_is_forgotten_between_the_file_and_the_settings(folder):
    """What only the program's own rows can have is its name alone, and that the order of chords matters."""
    full = {
        "chords": [1, 2], "example": "C G", "what": "w", "miss": "m", "early": "1/4", "beats": 3,
        "rounds": True, "gaps": False, "slow_bpm": 50, "drawn_anew": True, "steps": ["one", "two"],
        "landings": 3, "smaller": True,
    }  # fmt: skip
    row = kind_from_plain("roll", full)
    assert kind_to_plain(row) == full
    others = {"by_string", "picks", "stages", "title", "in_order"}
    assert set(full) | others == {one.name for one in fields(KindRow)}
    for more in ({"picks": "b12"}, {"stages": [{"word": "a", "says": "{next}"}]}):
        plain = {key: full[key] for key in ("chords", "example", "what")} | more
        assert kind_to_plain(kind_from_plain("roll", plain)) == plain


def test_it_stands_in_settings_that_are_read_back_whole(folder):
    drill = parse_drill("roll C G", own=own_kinds(folder))
    settings = Settings((drill, parse_drill("Am E")))
    kept = json.loads(json.dumps(settings_to_json(settings)))
    again = settings_from_json(kept)
    assert again == settings
    assert again.drills[0].row == drill.row


@pytest.mark.parametrize("spoilt", [3, {"roll": 3}, {"roll": {"chords": "x"}}, {"level": {}}])
def test_settings_with_a_spoilt_row_are_refused_in_one_sentence(spoilt, folder):
    kept = settings_to_json(Settings((parse_drill("roll C G", own=own_kinds(folder)),)))
    with pytest.raises(InputError, match="not those of a session"):
        settings_from_json({**kept, "own_kinds": spoilt})


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_one_sentence(text):
    said = ""
    try:
        read_kinds(text, "drills.toml")
    except InputError as refusal:
        said = str(refusal)
    assert not said or re.fullmatch(r"drills\.toml, line \d+: [^\n]*\.", said)
