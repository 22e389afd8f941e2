"""The rules that ladders measure by, and those of before: a session of an old log is told again by its own.

A session's settings name its rules by number. What is changed here changes the tempos that are asked for, so
that a change is a new number with a row of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.practice.foot import FEET, Law, one_foot, taken_off_s


@dataclass(frozen=True, slots=True)
class Rules:
    """One set of rules.

    spread_sd, widest_spread: what is believed of a spread never seen, its logarithm's standard deviation and
    the last one that is thought of.  feet: how late a
    foot speaks up; None: as late as the session's settings say, all of which is taken off a press.
    """

    spread_sd: float
    widest_spread: float
    feet: Law | None
    hears_the_moment: bool = False
    """A press in mid-take tells by its moment where it went wrong, also a break-off where every take is asked
    about: whoever breaks off is later than a foot that speaks up, by as long as it takes to decide."""
    short_count_in: bool = True
    """Two beats after a drill's first take."""
    counts_pauses: bool = True
    """A take costs what the player's watch says: its answer and its breath too."""
    clean_run: int | None = 2
    """After so many clean takes in a row steps are long again; None: never once something was missed."""
    steady_every: int | None = 3
    """Of a drill known from before, one take in so many is at its clean tempo: takes at a single chance tell
    nothing of a spread. None: none."""
    keeps_the_spread: bool = True
    """What is played once more in a session begins with the spread that was found, too."""

    def law(self, reaction_s: float) -> Law:
        return self.feet or one_foot(reaction_s)

    def off_s(self, reaction_s: float, landing_s: float) -> float:
        """What is taken off a press to find the landing that it is about."""
        return taken_off_s(reaction_s, landing_s) if self.feet else reaction_s


FIRST = Rules(0.4, 0.13, None, True, False, False, None, None, False)
NOW = Rules(0.55, 0.19, FEET)
RULES = {1: FIRST, 2: NOW}
NEWEST = 2
"""The number that new sessions are written with."""
