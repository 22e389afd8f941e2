"""The first page of home, and the question before it is left. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.practice.drill import Drill
from pedaltrainer.session.home import BACK, Errand, Leaf, LeafRow, Verb
from pedaltrainer.showing.home.pages import HOME, drills_value, play, turn


@dataclass(frozen=True, slots=True)
class HomeFacts:
    """What home is made of.

    minutes: of today's practice; None where nothing asks for any. last: the drills practised last. next_up:
    what is next by the plan.
    """

    player: str
    minutes: float | None = None
    next_up: Drill | None = None
    last: tuple[Drill, ...] = ()
    songs: int = 0
    has_played: bool = False


FIRST_CHANGE = "Am E"


def home(facts: HomeFacts) -> Leaf:
    """The stage's first page: what now?"""
    rows: list[LeafRow] = []
    if facts.minutes is not None:
        rows.append(play(f"Today's practice: {facts.minutes:g} minutes", "today", f"{facts.minutes:g}"))
    if facts.next_up is not None:
        rows.append(play(f"Next: {facts.next_up.title}", "drills", drills_value([facts.next_up])))
    if facts.last and facts.last != (facts.next_up,):
        titles = ", ".join(drill.title for drill in facts.last[:2])
        more = f" and {len(facts.last) - 2} more" if len(facts.last) > 2 else ""
        rows.append(play(f"Go on: {titles}{more}", "drills", drills_value(facts.last)))
    if not rows:
        rows.append(turn("A first change", "first change"))
    rows += [turn("A change or a shape", "changes"), turn("Songs", "songs")]
    if facts.has_played:
        rows.append(turn("How it goes", "how it goes"))
    rows += [turn("Set up", "set up"), turn(f"Another player than {facts.player}", "players")]
    place = Errand(Verb.TURN, HOME)
    return Leaf(place, "What now?", (*rows, turn("Close", "close")))


def close() -> Leaf:
    """Asked once: yes is not the row that led here."""
    place = Errand(Verb.TURN, "close")
    rows = (LeafRow("Not now", BACK), LeafRow("Yes, close", Errand(Verb.CLOSE)))
    return Leaf(place, "Close for today?", rows, ("All that was answered is kept.",))
