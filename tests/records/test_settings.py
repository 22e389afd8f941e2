from __future__ import annotations

import os
import stat
import tomllib
from dataclasses import asdict, replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.records.preferences import FILE_NAME, Preferences, load, save

any_settings = st.builds(
    Preferences,
    screen_inches=st.floats(3, 200),
    distance_m=st.floats(0.2, 10),
    cautions_seen_utc=st.sampled_from(["", "2026-03-01T18:05:09.250Z"]),
    reaction_ms=st.floats(0, 2000),
    volume=st.floats(0, 1),
    answer_style=st.sampled_from(["ask", "count", "speak-up"]),
    answer_sounds=st.booleans(),
    sound_delays=st.dictionaries(st.sampled_from(['Lamp "2"', "Büro, links = 3", "x]"]), st.floats(0, 1000)),
    made_private_utc=st.sampled_from(["", "2026-03-01T18:05:09.250Z"]),
)


def test_without_a_file_everything_has_its_default(tmp_path: Path) -> None:
    assert load(tmp_path / "absent") == Preferences()
    assert list(tmp_path.iterdir()) == []


@given(first=any_settings, second=any_settings)
def test_what_was_saved_last_comes_back(
    first: Preferences, second: Preferences, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("settings")
    save(folder, first)
    assert load(folder) == first
    save(folder, second)
    assert load(folder) == second
    # Read by the standard library's TOML reader, not ours, as well.
    assert tomllib.loads((folder / FILE_NAME).read_text()) == asdict(second)
    assert [path.name for path in folder.iterdir()] == [FILE_NAME]


def test_the_file_reads_as_one_setting_a_line(tmp_path: Path) -> None:
    save(tmp_path / "new folder", Preferences())
    assert (tmp_path / "new folder" / FILE_NAME).read_text().splitlines()[1:] == [
        "screen_inches = 15.6",
        "distance_m = 2.0",
        'cautions_seen_utc = ""',
        "reaction_ms = 250.0",
        "volume = 0.4",
        'answer_style = "ask"',
        "answer_sounds = true",
        "left_handed = false",
        'boxes = "in-take"',
        'tuning = "E A D G B E"',
        'made_private_utc = ""',
        "sound_delay_ms = 0.0",
        "sound_delays = {}",
        'sound_device = ""',
        "sound_buffer = 512",
        'player = ""',
        "first_tempo_bpm = 0.0",
        'ear = "off"',
        'ear_input = ""',
        'backing = "off"',
        "backing_level = 0.6",
        "backing_pad = false",
        'clock_out = ""',
        "clock_offset_ms = 0.0",
    ]


def test_saving_keeps_the_players_own_comments_order_and_untouched_lines(tmp_path: Path) -> None:
    path = tmp_path / FILE_NAME
    path.write_text(
        "# in the kitchen\nvolume = 0.2   # neighbours\n\n  'distance_m' = 1\nanswer_sounds=false\n"
    )
    assert load(tmp_path) == Preferences(volume=0.2, distance_m=1.0, answer_sounds=False)
    save(tmp_path, replace(load(tmp_path), distance_m=1.5))
    assert path.read_text().splitlines()[:5] == [
        "# in the kitchen",
        "volume = 0.2   # neighbours",
        "",
        "distance_m = 1.5",
        "answer_sounds=false",
    ]
    assert load(tmp_path) == Preferences(volume=0.2, distance_m=1.5, answer_sounds=False)


def test_a_value_spread_over_lines_is_saved_on_one(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text('answer_style = """\nask"""\n')
    assert load(tmp_path) == Preferences()
    save(tmp_path, Preferences(answer_style="speak-up"))
    assert load(tmp_path) == Preferences(answer_style="speak-up")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"\xef\xbb\xbfvolume = 0.1\r\ndistance_m = 3\r\n")
    assert load(tmp_path) == Preferences(volume=0.1, distance_m=3.0)


@pytest.mark.parametrize(
    ("content", "line", "words"),
    [
        (b"volume = 0.1\nvolume louder\n", 2, "name = value"),
        (b"volume = ", 1, "name = value"),
        (b"volume = 0.1\nvolume = 0.2\n", 2, "name = value"),
        (b"# mine\n\nvolme = 0.1\n", 3, "'volme' is no setting"),
        (b"[volume]\n", 1, "a number from 0 to 1"),
        (b"distance_m = 2\n[stage]\nx = 1\n", 2, "'stage' is no setting"),
        (b"volume = 11\n", 1, "a number from 0 to 1, not 11"),
        (b"\nvolume = nan\n", 2, "a number from 0 to 1"),
        (b"volume = true\n", 1, "a number from 0 to 1, not true"),
        (b'volume = "loud"\n', 1, 'not "loud"'),
        (b"distance_m = 2\nscreen_inches = 2\n", 2, "from 3 to 200"),
        (b'answer_style = "shout"\n', 1, '"ask", "count" or "speak-up"'),
        (b"answer_style = ['ask']\n", 1, '"ask", "count" or "speak-up"'),
        (b'answer_sounds = "yes"\n', 1, "true or false"),
        (b'cautions_seen_utc = "last week"\n', 1, "2026-03-01T18:05:09.250Z"),
        (b"cautions_seen_utc = 2026-03-01T18:05:09Z\n", 1, "2026-03-01T18:05:09.250Z"),
        (b"volume = 0.1\n# caf\xe9\n", 2, "UTF-8"),
    ],
)
def test_a_wrong_edit_is_told_by_file_line_and_mend_and_is_left_alone(
    tmp_path: Path, content: bytes, line: int, words: str
) -> None:
    path = tmp_path / FILE_NAME
    path.write_bytes(content)
    for use in (lambda: load(tmp_path), lambda: save(tmp_path, Preferences())):
        with pytest.raises(InputError) as caught:
            use()
        message = str(caught.value)
        assert message.startswith(f"{path}, line {line}: ")
        assert words in message
        assert "\n" not in message
    assert path.read_bytes() == content


pieces = st.sampled_from(
    [
        "volume",
        "distance_m",
        "answer_style",
        "=",
        " ",
        "0.5",
        "1",
        '"ask"',
        "'",
        '"',
        '"""',
        "\n",
        "\r",
        "#",
        "[",
        "]",
    ]
)


@given(text=st.text() | st.lists(pieces, max_size=12).map("".join))
def test_any_text_is_settings_or_an_input_error(text: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("settings")
    (folder / FILE_NAME).write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        found = load(folder)
    except InputError as error:
        assert str(folder / FILE_NAME) in str(error)  # noqa: PT017 - both ends are right
    else:
        save(folder, replace(found, volume=0.125))
        assert load(folder) == replace(found, volume=0.125)


def test_a_setting_out_of_its_range_is_never_saved(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="volume must be a number from 0 to 1"):
        save(tmp_path, Preferences(volume=1.5))
    assert list(tmp_path.iterdir()) == []


def test_a_save_that_is_cut_short_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(tmp_path, Preferences())
    before = (tmp_path / FILE_NAME).read_bytes()

    def no_space(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_space)
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\)"):
        save(tmp_path, Preferences(volume=0.1))
    assert (tmp_path / FILE_NAME).read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


def test_settings_in_a_folder_that_is_a_file_are_told(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(InputError, match=r"settings\.toml cannot be"):
        save(tmp_path / "notes", Preferences())
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(InputError, match=r"settings\.toml cannot be read"):
        load(tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="links and modes are those of POSIX")
def test_a_link_to_settings_kept_elsewhere_stays_a_link(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere.toml"
    elsewhere.write_text("volume = 0.1\n")
    elsewhere.chmod(0o644)
    (tmp_path / FILE_NAME).symlink_to(elsewhere)
    save(tmp_path, Preferences(volume=0.3))
    assert (tmp_path / FILE_NAME).is_symlink()
    assert "volume = 0.3" in elsewhere.read_text()
    assert stat.S_IMODE(elsewhere.stat().st_mode) & 0o600 == 0o600
