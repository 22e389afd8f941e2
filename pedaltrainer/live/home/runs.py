"""Run-throughs at home: what begins one, how the last one went, and what its player makes of it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime

from pedaltrainer.errors import InputError
from pedaltrainer.history.known import evidence
from pedaltrainer.live.home.house import House
from pedaltrainer.practice.run_through import bar_meant, landing_meant, pass_of, section_starts
from pedaltrainer.session.home import Leaf
from pedaltrainer.session.run_through import Review, RunSettings
from pedaltrainer.showing.home import run_over as pages
from pedaltrainer.showing.home.run_over import Flag, RunFacts
from pedaltrainer.showing.home.songs import shown_title
from pedaltrainer.songs import shelf
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart


def run_settings(
    house: House, song: Song, per_cent: int, first: int, end: int | None, loop: bool = False
) -> RunSettings:
    """What a run-through of a song is run with. Raises InputError for a log that cannot be read."""
    drills = {landing.drill for landing in pass_of(song, per_cent, first, end).landings}
    known = evidence(house.options.desk, datetime.now(UTC), drills)
    return RunSettings(
        write_chart(song),
        per_cent,
        first,
        end,
        loop,
        reaction_s=house.options.settings.reaction_s,
        histories=tuple((key, one.found) for key, one in known.items() if one.found is not None),
    )


def rested(house: House, value: str) -> str:
    """The hand has been rested."""
    house.ran_s = 0.0
    return "Rested"


def begin(house: House, value: str) -> RunSettings:
    """A song's part at a share of its tempo. Raises InputError when there is no such song any more."""
    title, per_cent, first, end, loop = pages.read_run_value(value)
    song = shelf.find(house.options.desk.folder, title)
    return run_settings(house, song, per_cent, min(first, len(song.bars) - 1), end, loop)


def part(house: House, value: str) -> Leaf:
    """A song's sections, to run one of them through. value: the share, the first section shown, the title."""
    per_cent, first, title = value.split(" ", 2)
    song = shelf.find(house.options.desk.folder, title)
    sections = [section for section in section_starts(song) if section[0]]
    once = list({name.casefold(): (name, begin, end) for name, begin, end in reversed(sections)}.values())
    return pages.parts_of_song(title, shown_title(title), int(per_cent), once[::-1], int(first))


def over(house: House, value: str) -> Leaf:
    """How a pass of the last run-through went, its last where none is named. Raises InputError where there
    was none."""
    return pages.run_over(facts_of(house, int(value) if value else -1))


def flags(house: House, value: str) -> Leaf:
    """value: the pass, and the first flag shown."""
    number, first = map(int, value.split())
    return pages.more_flags(facts_of(house, number), first)


def facts_of(house: House, which: int = -1) -> RunFacts:
    run = house.run
    if run is None or not run.state.passes:
        raise InputError("No run-through has been played since the stage was opened.")
    settings, passes = run.state.settings, run.state.passes
    which = range(len(passes))[which]
    played, review = passes[which], house.reviews.get(which, Review())
    one = settings.one_pass
    flags = []
    for number, mark in enumerate(played.marks):
        meant = landing_meant(one, mark, settings.reaction_s)
        flags.append(
            Flag(
                number,
                one.bars[bar_meant(one, mark, settings.reaction_s)].number + 1,
                None if meant is None else one.landings[meant].drill,
                number in review.dropped,
            )
        )
    sections = [bar.section for bar in one.bars]
    return RunFacts(
        one.title,
        settings.per_cent,
        settings.first,
        settings.first + len(one.bars),
        played.whole,
        tuple(flags),
        tuple(
            (next(iter(bar.names), ""), number > 0 and sections[number] != sections[number - 1])
            for number, bar in enumerate(one.bars)
        ),
        review.rest_clean,
        _worst_section(settings, [flag.bar - 1 for flag in flags if not flag.dropped]),
        house.ran_s >= house.options.settings.rest_after_s,
        which,
        len(passes),
        settings.loop,
        None if played.whole else _where_it_stopped(settings, played.until_s),
    )


def _where_it_stopped(settings: RunSettings, until_s: float) -> tuple[str, int] | None:
    """The section to go on from, or the bar where it has no name; None in what the pass began with."""
    bar = settings.first + settings.one_pass.bar_at(until_s)
    name, begin = next(
        ((name, begin) for name, begin, end in section_starts(settings.song) if begin <= bar < end and name),
        (f"bar {bar + 1}", bar),
    )
    return (name, begin) if begin > settings.first else None


def _worst_section(settings: RunSettings, bars: list[int]) -> tuple[str, int, int] | None:
    """The section with most flags, where more than it was played."""
    starts = section_starts(settings.song)
    played = range(settings.first, settings.first + len(settings.one_pass.bars))
    inside = Counter(
        section for bar in bars for section in starts if section[1] <= bar < section[2] and section[0]
    )
    worst = max(inside, key=lambda section: inside[section], default=None)
    if worst is None or (worst[1] <= played.start and played.stop <= worst[2]):
        return None
    return worst


# --- deeds ------------------------------------------------------------------------------


def mark(house: House, value: str) -> str:
    """A flag was none after all, or it was one. value: the pass, and the flag."""
    number, flag = map(int, value.split())
    review = house.reviews.get(number, Review())
    return _kept(house, number, replace(review, dropped=tuple(sorted(set(review.dropped) ^ {flag}))))


def rest(house: House, value: str) -> str:
    """All that was not flagged in a pass was clean; or that is left open."""
    review = house.reviews.get(int(value), Review())
    return _kept(house, int(value), replace(review, rest_clean=not review.rest_clean))


def _kept(house: House, number: int, review: Review) -> str:
    if house.run is not None:
        house.run.review(number, review)
    house.reviews[number] = review
    return "Kept"
