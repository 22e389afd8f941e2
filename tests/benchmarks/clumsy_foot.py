"""A clumsy foot at random sessions: does each press do what the stage showed as it went down?

    nice -n 10 python -m tests.benchmarks.clumsy_foot [--sessions 20000] [--seed 1] [--grammar 2 1]

The foot's taps last 60 to 350 ms, the two of a double tap begin 90 to 450 ms apart, its holds last 450 to
1,500 ms; it acts 200 to 900 ms after it has seen something, or after a minute's dream, and 3 % of its presses
bring an accidental one. It has one, two or three switches, a latching box, or one that only speaks on the way
down. Recogniser, conductor and log are the real ones; the clock and the stream are simulated.

What the stage showed is read off the state as it stood when the foot went down; what was done, off the table
row of the control that came of it. Counted, and all to be none:

- *lost*: a take that had been played out was made void or taken back by a press that did not say so;
- *ended*: the summary, the door or the first drill anew came of a press outside a list and a question;
- *otherwise*: a press did other than the stage showed;
- *silent*: the stage showed something for it, nothing was done, and nothing was said;
- *not kept*: an answered take that is not in the log when the session is over.

Then, breadth-first over what each kind can say, whatever it cannot do at all. The rival is the first grammar
(`session/first_grammar.py`) under the same foot.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
from collections import Counter, deque
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.live.book import open_book
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.ways import said
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.session.causes import Action
from pedaltrainer.session.events import Due, Event, Given, LogLost, Opened, Pressed, Taught
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import LISTS, Phase, State
from pedaltrainer.session.step import begin, pass_time, step
from pedaltrainer.session.transitions import row_of
from tests.session.clumsy import DEVICE, KINDS, ClumsyFoot, Watched, bindings_of

ACTS = 40
"""How often the foot acts in a session at the most."""
SESSIONS_A_LOG = 500
BY_THE_MENU_OR_ALONE = {Action.REPEAT, Action.KEEP}
"""What needs a switch of its own: nothing is lost without it."""


def random_settings(chance: random.Random, grammar: int) -> Settings:
    """A session short enough to be finished by most feet."""
    return Settings(
        drills=tuple(
            parse_drill(words) for words in chance.sample(["Am E", "F", "C G"], chance.randint(1, 2))
        ),
        answer_style=chance.choice(list(AnswerStyle)),
        starts_bpm=(160, 160),
        minutes=chance.uniform(0.2, 1.5),
        rest_after_s=chance.choice([15.0, 1200.0]),
        show_cautions=chance.random() < 0.1,
        ask_sight=chance.random() < 0.1,
        grammar=grammar,
    )


def played(sessions: int, seed: int, grammar: int) -> Counter[str]:
    """What so many sessions came to, all kinds of pedal in turn."""
    found: Counter[str] = Counter()
    chance = random.Random(seed)
    names = list(KINDS)
    while sessions > 0:
        with tempfile.TemporaryDirectory() as scratch, Log.open(Path(scratch)) as log:
            answered: set[str] = set()
            for number in range(min(SESSIONS_A_LOG, sessions)):
                kind = names[number % len(names)]
                watched = one_session(log, Path(scratch), kind, chance, grammar)
                found += watched.harm
                found["takes"] += len(watched.book.takes)
                found["presses"] += len(watched.saw)
                found["said to be too late"] += watched.done[Action.TOO_LATE]
                found["silent takes nobody stood for"] += watched.done[Action.NOBODY_THERE]
                found["closed by foot"] += watched.done[Action.CLOSE]
                answered |= {row.id for row in watched.book.takes if row.outcome != "void"}
            found["answered takes"] += len(answered)
            found["not kept"] += len(answered - {row.id for row in log.takes(include_cancelled=True)})
        found["sessions"] += min(SESSIONS_A_LOG, sessions)
        sessions -= SESSIONS_A_LOG
    return found


def one_session(log: Log, folder: Path, kind: str, chance: random.Random, grammar: int) -> Watched:
    settings = random_settings(chance, grammar)
    options = Options(settings=settings, desk=Desk(folder, "clumsy"))
    watched = Watched(settings, bindings_of(kind, grammar), open_book(log, options))
    watched.open(0.0)
    foot = ClumsyFoot(watched, chance)
    for _ in range(ACTS):
        if watched.closed:
            break
        foot.act()
    watched.shut(foot.now_s)
    watched.finish()
    return watched


def out_of_reach(kind: str) -> set[Action]:
    """Actions that some pedal can bring about, and one of this kind cannot, breadth-first."""
    everything = _reached(tuple(Control), dwells=False)
    return everything - _reached(*_can_say(kind)) - BY_THE_MENU_OR_ALONE


def _can_say(kind: str) -> tuple[tuple[Control, ...], bool]:
    ways = said(bindings_of(kind), DEVICE)
    return tuple(ways.usual), not ways.chooses


@cache
def _reached(controls: tuple[Control, ...], dwells: bool) -> set[Action]:
    reached: set[Action] = set()
    for style in AnswerStyle:
        start = Settings(
            drills=(parse_drill("Am E"), parse_drill("F")),
            answer_style=style,
            minutes=0.8,
            starts_bpm=(160, 160),
            rest_after_s=10.0,
            show_cautions=True,
            ask_sight=True,
        )
        seen: set[tuple[object, ...]] = set()
        waiting = deque([step(begin(start), Opened(0.0))[0]])
        while waiting:
            state = waiting.popleft()
            for event in _events(state, controls, dwells):
                row = row_of(pass_time(state, event.heard_s), event)
                if row is None:
                    continue
                reached.add(row.action)
                after, _ = step(state, event)
                after = replace(after, dwells=dwells)
                alike = (
                    after.phase,
                    after.drill_index,
                    after.chosen,
                    after.went_on_to,
                    len(after.answers) > 0,
                )
                alike = (*alike, after.run is None, after.due_s is None, min(after.unseen, 3))
                if alike not in seen:
                    seen.add(alike)
                    waiting.append(after)
    return reached


def _events(state: State, controls: Iterable[Control], dwells: bool) -> Iterable[Event]:
    now_s = state.now_s
    for control in controls:
        # In a list two taps are two: a double tap says nothing there where no switch of its own does.
        if not (dwells and control is Control.FAIL and state.phase in LISTS):
            yield Given(now_s, now_s, now_s, control, "foot")
    yield Pressed(now_s, now_s, "foot", dwells=dwells)
    if state.due_s is not None:
        yield Due(state.due_s)
    if state.phase is Phase.TEACHING:
        yield Taught(now_s, "")
    if state.phase is Phase.ASKING:
        yield LogLost(now_s, "locked")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("--sessions", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--grammar", type=int, nargs="+", choices=(1, 2), default=[2, 1])
    asked = parser.parse_args()
    for grammar in asked.grammar:
        print(json.dumps({"grammar": grammar, **played(asked.sessions, asked.seed, grammar)}))
    for kind in KINDS:
        print(json.dumps({"pedal": kind, "out of reach": sorted(a.name for a in out_of_reach(kind))}))


if __name__ == "__main__":
    main()
