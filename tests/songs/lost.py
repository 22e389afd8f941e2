"""A count that asks of each word of a chart whether anything came of it, without knowing how charts are read.

A word is *read* when the chart without it is another song or no chart, *told* when the song is the same and
something else is told, and *lost* when it might as well not stand there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import NamedTuple

from pedaltrainer.errors import InputError
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.song import Song


class Fate(StrEnum):
    """What became of a word."""

    READ = "read"
    TOLD = "told"
    REFUSED = "refused"
    IDLE = "idle"
    """It stands there twice, or is a Fine where all ends, or is in bars of which it is told that they are
    never played."""
    LOST = "lost"


_WORD = re.compile(r"\[[^\]\n]*\]|:\|+:?|\|+:|[^\s|\[\]]+")
"""Whatever stands between spaces and bar lines; plain bar lines only part the others."""
_CHORD = re.compile(r"[>(]?[A-Ga-g](?![a-ce-ln-z])\S*|N\.?C\.?|[b#]?[1-7]\S*")
_IDLE = frozenset({"al", ":", "(play"})
"""Words that are written and may be left out."""
_ENDS = re.compile(r"\|\s*[\[(]?1")


def outcome(chart: str) -> Song | str:
    """The song, or the sentence by which the chart is refused."""
    try:
        return parse_chart(chart, "a.chart")
    except InputError as trouble:
        return str(trouble)


class _Word(NamedTuple):
    """A word, what stands before it in its chart, and what behind it."""

    text: str
    before: str
    behind: str


def words_of_chart(chart: str) -> Iterator[_Word]:
    """Each word of a chart. A line without bars and chords is one word. Left out: what parts chords without
    bar lines, rules, idle words, and the :| of an ending, that the next one closes as well."""
    place = 0
    for line in chart.splitlines(keepends=True):
        words = [word for word in _WORD.finditer(line) if word[0] not in {",", "-", "–", "->"} or "|" in line]
        of_chords = sum(_CHORD.fullmatch(word[0]) is not None for word in words)
        if "|" in line or "[" in line or 2 * of_chords > len(words):
            for word in words:
                if word[0] not in _IDLE and not (word[0] == ":|" and _ENDS.search(chart)):
                    yield _Word(word[0], chart[: place + word.start()], chart[place + word.end() :])
        elif set(line.strip()) - {"-", "="}:
            yield _Word(line.strip(), chart[:place], chart[place + len(line.rstrip()) :])
        place += len(line)


def fates(chart: str) -> list[tuple[str, Fate]]:
    """What became of each word of a chart."""
    song = outcome(chart)
    if isinstance(song, str):
        return [(word.text, Fate.REFUSED) for word in words_of_chart(chart)]
    return [(word.text, _fate(word, song)) for word in words_of_chart(chart)]


def _fate(word: _Word, song: Song) -> Fate:
    text, before, behind = word
    other = outcome(before + behind)
    if other != song:
        return Fate.READ
    if isinstance(other, Song) and other.told != song.told:
        return Fate.TOLD
    # A repeat from the beginning on may begin without a sign, and is played twice without a number.
    here = f"{before}| B7b9 "
    if text.endswith("|:") and outcome(f"{here}{text}{behind}") != outcome(f"{here}|{behind}"):
        return Fate.READ
    more = re.sub("[0-9]+", lambda number: str(int(number[0]) + 1), text)
    if more != text and outcome(before + more + behind) != song:
        return Fate.READ
    line = before.rpartition("\n")[2] + text + behind.partition("\n")[0]
    # One word of a line of which it is told that its words are not kept.
    if "[" not in text and any(sentence.endswith("not kept.") for sentence in song.told) and "[" in line:
        return Fate.TOLD
    is_twice = _in_words(before + text + behind).count(_in_words(text)) > 1
    in_vain = any("never played" in sentence for sentence in song.told)
    return Fate.IDLE if is_twice or in_vain or "Fine" in text else Fate.LOST


def _in_words(text: str) -> str:
    """With the signs that are drawn in words."""
    return text.replace("𝄋", "Segno").replace("⊕", "To Coda")


def lost_words(chart: str) -> list[str]:
    return [word for word, fate in fates(chart) if fate is Fate.LOST]
