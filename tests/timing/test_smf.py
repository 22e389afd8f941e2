from __future__ import annotations

import mido
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track, song_track
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.timing.smf import as_midi_file, write_smf
from tests.timing.tracks import SONGS, TURNS


def messages(track, kind, number=0):
    tick, found = 0, []
    for message in as_midi_file(track).tracks[number]:
        tick += message.time
        if message.type == kind:
            found.append((tick, message))
    return found


def test_the_beat_of_six_eight_is_a_dotted_quarter_of_720_ticks():
    track = song_track(SONGS["Salt and Rope"], "Verse")
    ((_, metre),) = messages(track, "time_signature")
    assert (metre.numerator, metre.denominator, metre.clocks_per_click) == (6, 8, 36)
    ((_, tempo),) = messages(track, "set_tempo")
    assert tempo.tempo == 625_000  # 64 dotted quarters are 96 quarters a minute
    clicks = [tick for tick, one in messages(track, "note_on", 1) if one.velocity and one.note != 42]
    assert clicks[:4] == [0, 720, 1440, 2160]


def test_tempo_and_metre_are_told_where_they_change_and_nowhere_else():
    track = song_track(TURNS)
    bar = 4 * 480
    assert [(tick, round(60e6 / one.tempo, 1)) for tick, one in messages(track, "set_tempo")] == [
        (0, 97.3),
        (3 * bar, 106.5),
        (3 * bar + 2 * 1440, 71.0),
    ]
    metres = [(tick, one.numerator, one.denominator) for tick, one in messages(track, "time_signature")]
    assert metres == [(0, 4, 4), (3 * bar, 6, 8), (3 * bar + 2 * 1440, 3, 4)]


def test_a_chord_that_falls_between_ticks_is_on_the_nearest():
    texts = messages(drill_track(parse_drill("passage Am:8/7 G:20/7"), 90), "text", 1)
    assert [tick - 1920 for tick, _ in texts[:4]] == [0, 549, 1920, 2469]  # 480 * 8 / 7 is 548.57


def test_sections_and_takes_are_markers():
    marks = [(tick // 1920, one.text) for tick, one in messages(song_track(SONGS["Low Water"]), "marker")]
    assert marks[:4] == [(0, "Count-in"), (1, "Intro"), (3, "Verse"), (11, "Verse")]
    takes = drill_track(parse_drill("Am F"), 84, takes=3)
    assert [(tick // 1920, one.text) for tick, one in messages(takes, "marker")] == [
        (0, "Take 1"),
        (3, "Take 2"),
        (6, "Take 3"),
    ]


def test_a_tempo_that_three_bytes_cannot_hold_is_refused_and_nothing_is_written(tmp_path):
    slow = parse_chart("tempo: 10\nmetre: 4/32\n| G C |", "slow")
    with pytest.raises(InputError, match="as slow as 10 beats"):
        write_smf(tmp_path / "slow.mid", song_track(slow))
    assert not list(tmp_path.iterdir())


def test_every_note_ends_and_the_tracks_end_with_the_last_bar(tmp_path):
    track = song_track(TURNS)
    write_smf(tmp_path / "turns.mid", track)
    file = mido.MidiFile(tmp_path / "turns.mid")
    notes = [one for one in file.tracks[1] if one.type == "note_on"]
    assert sum(bool(one.velocity) for one in notes) * 2 == len(notes)
    assert {sum(one.time for one in each) for each in file.tracks} == {3 * 1920 + 4 * 1440}


def test_a_title_in_any_alphabet_is_kept(tmp_path):
    write_smf(tmp_path / "a.mid", song_track(parse_chart("title: Čaj o páté\n| G |", "a")))
    assert "Čaj o páté" in mido.MidiFile(tmp_path / "a.mid", charset="utf-8").tracks[0].name
