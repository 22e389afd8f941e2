"""The songs, the page of one, and what is changed about it by foot. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pedaltrainer.practice.coach.readiness import SongStanding, Standing
from pedaltrainer.session.home import AGAIN, BACK, Errand, Leaf, LeafRow, Verb
from pedaltrainer.showing.home.how_it_goes import day_words
from pedaltrainer.showing.home.pages import do, drills_value, page, play, turn
from pedaltrainer.showing.home.run_over import run_row, run_value
from pedaltrainer.showing.home.song_bars import bars_of, told_share
from pedaltrainer.showing.home.tapping import NEW_SONG, SONG
from pedaltrainer.songs.heads import BARS_BY_FOOT
from pedaltrainer.songs.keys import chords_of, easy_capos, moved_chord
from pedaltrainer.songs.loose_lines import bars_told
from pedaltrainer.songs.song import Song

SONGS_A_PAGE = 6
LONGEST_TITLE_SHOWN = 18
"""Letters of a title in a row; in a headline nearly twice as many."""
NO_SONG = "This is no song"
WEEKS = (1, 2, 3, 4, 6, 8)
BPM_STEP = 2


@dataclass(frozen=True, slots=True)
class SongFacts:
    """A song and how ready it is."""

    song: Song
    standing: SongStanding

    @property
    def title(self) -> str:
        return self.song.title


def shown_title(title: str, most: int = LONGEST_TITLE_SHOWN) -> str:
    """A title, or its beginning where it is long."""
    return title if len(title) <= most else f"{title[: most - 1].rstrip()}…"


# --- the list ---------------------------------------------------------------------------


def songs(
    there: Sequence[SongFacts], today: date, demos: Sequence[str] = (), troubles: int = 0, first: int = 0
) -> Leaf:
    """The songs, the next date first. demos: songs of the made-up band to try, by title. troubles: how many
    files are no songs. first: the place of the first song that is shown."""
    shown = likeliest(there, today)[first : first + SONGS_A_PAGE]
    rows = [turn(_row(one), "song", one.title) for one in shown]
    if len(there) > first + len(shown):
        rows.append(turn("More songs", "songs", str(first + len(shown))))
    rows += [do(f"Try: {shown_title(title)}", "try a song", title, "song", title) for title in demos]
    rows.append(turn("Write a song", "tap", NEW_SONG))
    if troubles:
        rows.append(turn("A file that is no song", "song trouble", "0"))
    lines = () if first else ("Drop a chart or MusicXML here.",)
    title = "Songs" if there else "No songs yet"
    return page("songs", title, rows, value=str(first or ""), lines=lines)


def likeliest(there: Sequence[SongFacts], today: date) -> list[SongFacts]:
    """Those with a date to come, the next first; then the others."""

    def order(one: SongFacts) -> tuple[bool, date, str]:
        by = one.song.by
        is_coming = by is not None and by >= today
        return (not is_coming, by if by is not None and is_coming else today, one.title.casefold())

    return sorted(there, key=order)


def _row(one: SongFacts) -> str:
    by = f", {day_words(one.song.by)}" if one.song.by else ""
    return f"{shown_title(one.title)}: {ready_words(one.standing)}{by}"


def ready_words(standing: SongStanding) -> str:
    """The readiness of its hardest change: "62 %", "ready"; "?" while that is not known."""
    asked = standing.asked
    if asked and all(one.is_ready for one in asked):
        return "ready"
    share = None if standing.bottleneck is None else told_share(standing.bottleneck)
    return "?" if share is None else percent_ready(share)


def percent_ready(share: float) -> str:
    return f"{share * 100:.0f} %"


def song_trouble(sentences: Sequence[str], number: int) -> Leaf:
    """A file that is no song, and why."""
    if not sentences:
        return page("song trouble", "Every file is a song", (), value=str(number))
    number %= len(sentences)
    after = (number + 1) % len(sentences)
    rows = (
        [LeafRow("The next one", Errand(Verb.ACROSS, "song trouble", str(after)))]
        if len(sentences) > 1
        else []
    )
    return page("song trouble", NO_SONG, rows, value=str(number), lines=(sentences[number],))


# --- one song ------------------------------------------------------------------------------


def song(one: SongFacts, playable: Sequence[Standing], today: date, share: int = 100) -> Leaf:
    """A song's page. playable: its changes that can be played with the shapes there are, hardest first.
    share: of its tempo, at which it was run through last, in per cent."""
    open_ones = [each for each in playable if not each.is_ready and not each.need.is_beyond_a_drill]
    rows = []
    if open_ones:
        hardest = open_ones[0].need.drill
        rows.append(play(f"Practise {hardest.title}", "drills", drills_value([hardest])))
    if len(open_ones) > 1:
        drills = [each.need.drill for each in open_ones]
        rows.append(play(f"Practise all {len(drills)} open", "drills", drills_value(drills)))
    by = one.song.by
    at = "" if share == 100 else f" at {share} %"
    rows.append(run_row(f"Run it through{at}", run_value(one.title, share)))
    rows += [
        turn("A part, or slower", "run part", f"{share} 0 {one.title}"),
        turn(f"Date: {day_words(by) if by else 'none'}", "song date", one.title),
        turn(f"Tempo: {one.standing.tempo_bpm:g}", "song tempo", one.title),
        *(_bars_row(one) if one.song.told else ()),
        turn("Key and capo", "song key", one.title),
        turn("Take it away", "remove a song", one.title),
    ]
    return page(
        "song",
        shown_title(one.title, 2 * LONGEST_TITLE_SHOWN),
        rows,
        value=one.title,
        lines=(hardest_words(one.standing),),
        bars=bars_of(one.song, one.standing),
    )


def hardest_words(standing: SongStanding) -> str:
    """The one change to see to first, in a line."""
    hardest = standing.bottleneck
    if hardest is None:
        return "There is no change in it."
    if all(each.is_ready for each in standing.asked):
        return "Every change is ready."
    share = told_share(hardest)
    if share is None:
        least = min(standing.standings, key=lambda each: each.need.air_ms)
        return f"Least time: {least.need.drill.title}. Not measured yet."
    return f"Bottleneck: {hardest.need.drill.title}, {percent_ready(share)} ready."


def _bars_row(one: SongFacts) -> tuple[LeafRow, ...]:
    """How long a chord lasts, where the chart has no bar lines to tell."""
    lasts = next(filter(None, map(bars_told, one.song.told)), None)
    if lasts is None:
        return ()
    then = BARS_BY_FOOT[(BARS_BY_FOOT.index(lasts) + 1) % len(BARS_BY_FOOT)] if lasts in BARS_BY_FOOT else "1"
    words = f"A chord lasts {'1 bar' if lasts == '1' else f'{lasts} bars'}"
    return (do(words, "song bars", f"{then} {one.title}"),)


def song_date(one: SongFacts, today: date) -> Leaf:
    """When it has to be ready: so many weeks from today."""
    days = [today + timedelta(weeks=weeks) for weeks in WEEKS]
    rows = [
        do(f"In {_weeks(weeks)}: {day_words(day)}", "song date", f"{day} {one.title}", "song", one.title)
        for weeks, day in zip(WEEKS, days, strict=True)
    ]
    if one.song.by:
        rows.append(do("No date", "song date", f"- {one.title}", "song", one.title))
    by = one.song.by
    title = f"By {day_words(by)}" if by else "By when?"
    return page("song date", title, rows, value=one.title)


def _weeks(weeks: int) -> str:
    return "a week" if weeks == 1 else f"{weeks} weeks"


def song_tempo(one: SongFacts) -> Leaf:
    bpm = one.standing.tempo_bpm
    rows = (
        turn("Tap it", "tap", f"{SONG} {one.title}"),
        do("Slower", "song tempo", f"{bpm - BPM_STEP:g} {one.title}"),
        do("Faster", "song tempo", f"{bpm + BPM_STEP:g} {one.title}"),
    )
    return page("song tempo", f"Tempo: {bpm:g} BPM", rows, value=one.title)


def song_key(one: SongFacts) -> Leaf:
    """Which chords the hand plays: over a capo that makes more of them open ones, or in another key."""

    def row(words: str, semitones: int) -> LeafRow:
        moved = _listed([moved_chord(chord, semitones) for chord in chords])
        return do(f"{words}: {moved}", "song key", f"{semitones} {one.title}", "song", one.title)

    chords = chords_of(one.song)
    rows = [row(f"Capo {capo}", -capo) for capo in easy_capos(one.song, 3)]
    rows += [row("Half a step up", 1), row("Half a step down", -1)]
    lines = ("Over the capo it sounds as it is written.",) if len(rows) > 2 else ()
    return page("song key", f"Now: {_listed(chords)}", rows if chords else (), value=one.title, lines=lines)


def _listed(chords: Sequence[str], most: int = 3) -> str:
    return " ".join(chords[:most]) + ("…" if len(chords) > most else "")


def remove_song(title: str) -> Leaf:
    """Asked once: yes is not the row that led here."""
    rows = (LeafRow("No, keep it", BACK), do("Yes, take it away", "remove a song", title, "songs"))
    lines = (f"{shown_title(title, 2 * LONGEST_TITLE_SHOWN)}: to songs/removed.", "What you played stays.")
    place = Errand(Verb.TURN, "remove a song", title)
    return Leaf(place, "Take it away?", rows, lines)


def no_song(place: Errand, sentence: str) -> Leaf:
    """A dropped file that is none: why, and the page that stood there."""
    return Leaf(place, NO_SONG, (LeafRow("Back", AGAIN),), (sentence,))


def song_is_there(place: Errand, sentence: str, path: str) -> Leaf:
    """A dropped song whose title is on the shelf already: which is to be kept?"""
    rows = (
        LeafRow("Keep the old one", AGAIN),
        do("Take the new one", "replace a song", path),
    )
    return Leaf(place, "You have this song", rows, (sentence,))
