"""Tracks to test with: drills, and songs of an invented band."""

from __future__ import annotations

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import drill_track, song_track
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.metre import parse_metre
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.timing.track import Track

TURNS = parse_chart(
    "title: Turns\ntempo: 97.3\n[Round]\n| Am / / G | F . E7 . |\nmetre: 6/8\ntempo: 71\n| C G | N.C. |\n"
    "metre: 3/4\n| Am - - |\n[Out]\n| G / C / Am C |\n",
    "turns",
)
SONGS = {song.title: song for song in demo_songs()}


def tracks() -> dict[str, Track]:
    """By name, what is put to the outside judges."""
    six_eight = parse_metre("6/8")
    assert six_eight is not None
    return {
        "a change": drill_track(parse_drill("Am F"), 84, takes=3),
        "a waltz": drill_track(parse_drill("D A x3"), 133.5, metre=six_eight._replace(beats=3)),
        "dotted quarters": drill_track(parse_drill("C G instant"), 64, takes=2, metre=six_eight),
        "a passage": drill_track(parse_drill("passage Am:3 G F:8/7 E7:20/7"), 97, bars=12),
        "a song": song_track(SONGS["Low Water"]),
        "a section, slower": song_track(SONGS["Salt and Rope"], "Verse", 51, takes=2),
        "a song that turns": song_track(TURNS),
    }
