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
from pedaltrainer.songs import shelf
from pedaltrainer.songs.song import Song
from pedaltrainer.songs.writing import write_chart


def run_settings(house: House, song: Song, per_cent: int, first: int, end: int | None) -> RunSettings:
    """What a run-through of a song is run with. Raises InputError for a log that cannot be read."""
    drills = {landing.drill for landing in pass_of(song, per_cent, first, end).landings}
    known = evidence(house.options.desk, datetime.now(UTC), drills)
    return RunSettings(
        write_chart(song),
        per_cent,
        first,
        end,
        reaction_s=house.options.settings.reaction_s,
        histories=tuple((key, one.found) for key, one in known.items() if one.found is not None),
    )


def rested(house: House, value: str) -> str:
    """The hand has been rested."""
    house.ran_s = 0.0
    return "Rested"


def begin(house: House, value: str) -> RunSettings:
    """A song's part at a share of its tempo. Raises InputError when there is no such song any more."""
    title, per_cent, first, end = pages.read_run_value(value)
    song = shelf.find(house.options.desk.folder, title)
    return run_settings(house, song, per_cent, min(first, len(song.bars) - 1), end)


def over(house: House, value: str) -> Leaf:
    """How the last run-through went. Raises InputError where there was none."""
    return pages.run_over(facts_of(house))


def facts_of(house: House) -> RunFacts:
    run = house.run
    if run is None or not run.state.passes:
        raise InputError("No run-through has been played since the stage was opened.")
    settings, played = run.state.settings, run.state.passes[-1]
    one, review = settings.one_pass, house.review
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
    )


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
    """A flag was none after all, or it was one."""
    number = int(value)
    dropped = set(house.review.dropped) ^ {number}
    return _kept(house, replace(house.review, dropped=tuple(sorted(dropped))))


def rest(house: House, value: str) -> str:
    """All that was not flagged was clean; or that is left open."""
    return _kept(house, replace(house.review, rest_clean=not house.review.rest_clean))


def _kept(house: House, review: Review) -> str:
    if house.run is not None:
        house.run.review(len(house.run.state.passes) - 1, review)
    house.review = review
    return "Kept"
