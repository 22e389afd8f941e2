"""The table of transitions: all of it can happen. In every test `Playing` sees that nothing else does."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from typing import get_args, get_type_hints

from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.session.actions import ACTIONS
from pedaltrainer.session.causes import Action, Cause, Choice, Transition, by_ear, cause_of, foot_down
from pedaltrainer.session.events import (
    Due,
    EarHeard,
    Event,
    Given,
    InputBack,
    InputLost,
    LandingTold,
    LogLost,
    Opened,
    Pointed,
    Pressed,
    Shut,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
)
from pedaltrainer.session.first_grammar import FIRST_GRAMMAR
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import LISTS, PLAYING, Phase, State
from pedaltrainer.session.step import begin, pass_time, step
from pedaltrainer.session.transitions import AT_HAND, NO, STOP, TABLE, TIMED, YES, row_of
from tests.session.playing import may_lead, settings

SHORT = {"minutes": 0.4, "rest_after_s": 6.0}


def planned(*drills: str, **more: object) -> Settings:
    n = len(drills)
    plan = {"minutes_each": (0.2,) * n, "modes": ("measure",) * n, "reasons": ("new",) * n}
    return settings(*drills, rest_after_s=6.0, **plan, **more)


SESSIONS = [
    *(settings("Am E", "F", style=style, **SHORT) for style in AnswerStyle),
    planned("Am E", "F", style=AnswerStyle.SPEAK_UP),
    planned("Am E", ask_sight=True),
    planned("Am E", show_cautions=True),
    settings("Am E", show_cautions=True, ask_sight=True, **SHORT),
    settings("Am E", show_cautions=True, **SHORT),
    settings("Am E", ask_sight=True, **SHORT),
    settings("Am E", ladder="seek", minutes=0.2, starts_bpm=(120,)),
    settings("Am E", teach=True),
    settings("Am E", "F", counts_misses=True, **SHORT),
    settings("Am E", counts_misses=True, **SHORT),
    *(settings("ring F", *more, style=AnswerStyle.SPEAK_UP, **SHORT) for more in ((), ("ring C",))),
    settings("ring F", **SHORT),
    *(
        settings(*drills, style=style, ear=True, ear_answers=True, **SHORT)
        for style in AnswerStyle
        for drills in (("Am E",), ("Am E", "F"))
    ),
    planned("Am E", ear=True),
    settings("Am E", ear=True, show_cautions=True, **SHORT),
    settings("Am E", ear=True, ask_sight=True, **SHORT),
    settings("Am E", style=AnswerStyle.SPEAK_UP, minutes=0.6, starts_bpm=(120,)),
]
"""Each first page, both answer styles, rests that come soon, silence that is asked about."""


def happenings(state: State) -> Iterator[Event]:
    """What can happen to a state: each control, presses too early or heard already, time, troubles."""
    now_s, before_s = state.now_s, state.since_s - 0.1
    yield from (Given(now_s, now_s, now_s, control, "foot") for control in Control)
    if state.miss_pressed_s is not None:
        yield from (Given(now_s, now_s, state.miss_pressed_s, control, "foot") for control in (STOP, NO))
    yield Given(now_s, before_s, before_s, NO, "foot")
    if state.phase is Phase.TAKE and state.run is not None:
        ringing_s = state.run.last_landing_s
        yield Given(ringing_s, ringing_s, ringing_s, YES, "foot")
    yield Pressed(now_s, now_s, "foot", known_within_s=300.0, dwells=True)
    yield Pressed(before_s, before_s, "foot")
    yield Pointed(now_s, 1)
    if state.due_s is not None:
        yield from (Due(now_s), Due(state.due_s))
    yield InputBack(now_s + 3, "pedal")
    yield from (InputLost(now_s, "pedal"), SoundLost(now_s, "gone"), LogLost(now_s, "locked"))
    yield SoundStumbled(now_s, now_s - 0.01)
    yield SoundChecked(now_s, "mic")
    if state.settings.ear and state.last_run is not None:
        late = (LandingTold("late", 90.0),)
        for serial in {state.last_run.serial, *(one.run.serial for one in state.answers[-1:])}:
            yield EarHeard(now_s, serial, "missed", True, True, 40.0, late)
    yield from (Taught(now_s, "learnt"), Shut(now_s))


def likeness(state: State) -> tuple[object, ...]:
    """Two states alike in this can lead to the same phases.

    Where it pauses, whether the foot is down and a rest is due is left out: all rows are taken without, in
    half of the time.
    """
    waits = {Phase.PAUSED, Phase.RESTING, Phase.FINISH_ASKED, Phase.SWITCHES, Phase.TEACHING, Phase.HURTS}
    menu = {*LISTS}
    chosen = state.settings
    if state.phase in {Phase.CHANGES, Phase.NOTES}:
        # Behind the menu only its rows matter, and what leaving a drill out leads to.
        rows = (state.phase, state.chosen, state.due_s is None, state.went_on_to, state.run is None)
        rows = (*rows, state.miss_pressed_s is None, state.dwells)
        return (*rows, state.drill_index, len(chosen.drills), chosen.ladder, bool(state.results))
    return (
        *(chosen.answer_style, len(chosen.drills), bool(chosen.reasons), chosen.starts_bpm == (120,)),
        *(state.last_run is None, chosen.ladder, chosen.counts_misses, state.may_count),
        *(chosen.ear, state.checks, state.checked is None, by_ear(state, None)),
        state.answers[-1].judge == "silence" if state.answers and chosen.ear_answers else None,
        *(chosen.teach, chosen.ask_sight, state.drill.row.by_string, len(state.named)),
        *(state.phase, state.drill_index, bool(state.answers), bool(state.results)),
        state.went_on_to if state.phase in waits else None,
        (state.chosen, state.due_s is None) if state.phase in menu else None,
        *(state.miss_pressed_s is None, state.now_s <= state.late_until_s),
        *(min(state.unseen, 3), state.run is None),
        None
        if state.phase is Phase.PAUSED
        else (foot_down(state, None), state.since_rest_s >= state.settings.rest_after_s),
        state.time_up if state.phase in PLAYING else None,
        tuple(state.serial - back in state.stumbled for back in range(3)) if state.phase in PLAYING else None,
    )


Taken = set[tuple[Transition, Phase, Cause, Phase]]


def explored() -> Taken:
    """All rows taken, breadth-first over what can happen: row, phase, cause, and the phase it led to."""
    taken: Taken = set()
    seen: set[tuple[object, ...]] = set()
    for chosen in SESSIONS:
        waiting = deque([(begin(chosen), (Opened(0.0),))])
        while waiting:
            state, events = waiting.popleft()
            for event in events:
                after, _ = step(state, event)
                row = row_of(pass_time(state, event.heard_s), event)
                assert may_lead(row, state.phase, after.phase)
                assert after.phase in LISTS or (after.due_s is not None) == (after.phase in TIMED)
                if row is not None:
                    taken.add((row, state.phase, cause_of(event), after.phase))
                if (like := likeness(after)) not in seen:
                    seen.add(like)
                    waiting.append((after, tuple(happenings(after))))
    return taken


def test_every_row_can_be_taken_in_each_of_its_phases_on_each_of_its_causes_and_leads_to_each_of_its_own():
    taken = explored()
    for row in TABLE:
        if row.action is Action.CHOOSE:
            continue
        mine = [(phase, cause, led_to) for one, phase, cause, led_to in taken if one == row]
        # The gesture of a press that has named a string asks for nothing, however late it is known.
        late = AT_HAND if row.action is Action.STRING_NAMED else ()
        assert set(row.phases) <= {phase for phase, _, _ in mine} <= {*row.phases, *late}, row
        assert set(row.leads_to.phases) <= {led_to for _, _, led_to in mine}, row
        assert not row.leads_to.stays or any(led_to is phase for phase, _, led_to in mine), row
        if row.action not in {Action.NOTHING, Action.TOO_LATE}:
            said = {cause for cause in row.causes if not isinstance(cause, Choice)}
            assert said <= {cause for _, cause, _ in mine}, row


def test_every_action_has_a_function_and_stands_in_the_table():
    both = {row.action for row in (*TABLE, *FIRST_GRAMMAR)}
    assert both | {Action.OUT_OF_PLACE} == {*ACTIONS, Action.CHOOSE} == set(Action)


def test_the_menu_of_a_pause_is_made_of_rows_of_its_own():
    assert [cause for row in TABLE for cause in row.causes if isinstance(cause, Choice)] == list(Choice)


def test_a_function_takes_the_events_that_lead_to_it():
    for row in TABLE:
        if row.action in {Action.CHOOSE, Action.NOTHING}:
            continue
        kinds = get_type_hints(ACTIONS[row.action])
        (takes,) = [kind for name, kind in kinds.items() if name not in {"state", "return"}]
        brought = {Given if isinstance(cause, Control | Choice) else cause for cause in row.causes}
        # A row of the menu is chosen by a rest of the foot too.
        brought |= {Due} if any(isinstance(cause, Choice) for cause in row.causes) else set()
        assert brought <= set(get_args(takes) or (takes,)), row
