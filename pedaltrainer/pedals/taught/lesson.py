"""Teaching a pedal by pressing it: a pure state machine for terminal and stage.

    step(state, event) -> (state, binding or None)

An event is an `Observation` (a switch had a value) or a time in seconds. The
stations: *quiet* (what moves by itself is ignored from then on), *pressing*
(a few presses, until the kind of the switch is told), *confirming* (one more
press, taken as it will be taken from now on), for one control after another;
with one switch only, *rhythm* (two double taps, to learn this foot's windows);
*done*, with the binding to save. The state says what to show.

A *first* lesson is shorter: three presses of one switch, which are enough to take it as it is; it is over
when nothing was pressed for ten seconds.

A control is skipped by pressing the switch for pass; waiting ends the lesson
with what was taught so far. Call with the time ten times a second or more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.taught.arranging import ORDER, TaughtSwitch, arranged
from pedaltrainer.pedals.taught.counting import Presses, listening
from pedaltrainer.pedals.taught.detection import (
    MOST_PRESSES,
    Ask,
    Trial,
    came_back,
    detect,
    learn_windows,
    rank,
)
from pedaltrainer.pedals.taught.form import DeviceBinding
from pedaltrainer.pedals.taught.teach_state import PAIRS_WANTED, WAIT_S, Key, Station, TeachState, called
from pedaltrainer.system.amounts import counted

QUIET_S = 1.5
"""How long the feet are off at first: longer than the gap between two words of active sensing."""
NOISE_FROM = 3
"""A switch heard so often while no foot was on it moves by itself."""
SETTLED_S = 0.6
SILENT_S: Mapping[Ask, float] = MappingProxyType({Ask.SHORT: 1.2, Ask.LONG: 2.5})
"""When a press is over: so long after it came back, or, if it never does, after its last word."""
ENDLESS_S, ENDLESS_FROM = 6.0, 20
"""What goes on moving for so long, so often, is no foot."""
MOST_WAITS = 3
"""A lesson in which no foot presses anything ends by itself: that is the way out of it by foot."""
FIRST_PRESSES = 3
"""Of a first lesson: enough to tell every kind of switch."""


def step(state: TeachState, event: Observation | float) -> tuple[TeachState, DeviceBinding | None]:
    """Take one observation, or let time pass to `event` seconds.

    Returns the binding to save once, at the step that ends the lesson.
    """
    if state.station is Station.DONE:
        return state, None
    before = state
    t_s = event.t_s if isinstance(event, Observation) else event
    if state.since_s is None:
        state = replace(state, since_s=t_s)
    # What has fallen due by now comes before what is heard now.
    state = _PASS_TIME[state.station](state, t_s)
    if isinstance(event, Observation) and state.station is not Station.DONE:
        state = _HEAR[state.station](state, event)
    finished = state.result if before.result is None else None
    return state, finished


# --- quiet ----------------------------------------------------------------------


def _hear_noise(state: TeachState, one: Observation) -> TeachState:
    key = (one.device, one.switch)
    return replace(state, heard={**state.heard, key: state.heard.get(key, 0) + 1})


def _end_quiet(state: TeachState, t_s: float) -> TeachState:
    if t_s < _since(state) + QUIET_S:
        return state
    noisy = frozenset(key for key, times in state.heard.items() if times >= NOISE_FROM)
    return replace(state, station=Station.PRESSING, noisy=noisy, since_s=t_s)


# --- pressing -------------------------------------------------------------------


def _hear_press(state: TeachState, one: Observation) -> TeachState:
    key = (one.device, one.switch)
    if key in state.noisy or (state.device and one.device != state.device):
        return state
    taught = {of.switch for of in state.taught}
    if state.chosen is not None and key != state.chosen and one.switch not in taught:
        return state
    return replace(state, current=(*state.current, one))


def _end_press(state: TeachState, t_s: float) -> TeachState:
    if not state.current:
        return _waited(state, t_s)
    first_s, last_s = state.current[0].t_s, state.current[-1].t_s
    if last_s - first_s > ENDLESS_S:
        return _ignore_endless(state, t_s)
    key = _switch_of(state)
    own = [one for one in state.current if (one.device, one.switch) == key]
    if t_s - last_s < (SETTLED_S if came_back([one.value for one in own]) else SILENT_S[state.ask]):
        return state
    state = replace(state, current=(), since_s=t_s, presses=_heard_on(state, own), waits=0)
    taught = {of.switch: of for of in state.taught}
    if key[1] in taught and key != state.chosen:
        return _pressed_again(state, taught[key[1]], t_s)
    trials = (*state.trials, Trial(state.ask, tuple(own)))
    verdict = detect(trials)
    state = replace(state, trials=trials, chosen=key, verdict=verdict, complaint="")
    if verdict.confident and state.first:
        return _first_done(state) if len(trials) >= FIRST_PRESSES else state
    if verdict.confident:
        return _confirm(state, t_s)
    if len(trials) >= MOST_PRESSES:
        return _anew(state, f"{verdict.why} Let us begin this switch again.", t_s)
    return state


def _heard_on(state: TeachState, own: Iterable[Observation]) -> Presses | None:
    """The one taught switch goes on being heard: a latching one is elsewhere after each press."""
    presses = state.presses
    if presses is None or len(state.taught) != 1:
        return presses
    for one in own:
        presses = presses.hear(one) if one.switch == state.taught[0].switch else presses
    return replace(presses, downs_s=(), last_s=None)


def _switch_of(state: TeachState) -> Key:
    """The switch this press is about: what was pressed before, else the one that says most."""
    keys = {(one.device, one.switch): None for one in state.current}
    if state.chosen in keys:
        assert state.chosen is not None
        return state.chosen
    # A board may send a bank, a program and a controller for one press: min() keeps the first of equals.
    return min(keys, key=lambda key: rank(key[1]))


def _ignore_endless(state: TeachState, t_s: float) -> TeachState:
    times: dict[Key, int] = {}
    for one in state.current:
        key = (one.device, one.switch)
        times[key] = times.get(key, 0) + 1
    endless = frozenset(key for key, count in times.items() if count >= ENDLESS_FROM)
    names = " and ".join(sorted(switch for _, switch in endless)) or "that press"
    state = replace(state, noisy=state.noisy | endless)
    return _anew(state, f"{names[0].upper()}{names[1:]} did not end, so it is ignored.", t_s)


def _pressed_again(state: TeachState, taught: TaughtSwitch, t_s: float) -> TeachState:
    if taught is state.taught[0]:
        if len(state.taught) == 1:
            return _all_taught(state, t_s)
        return _next_control(replace(state, complaint=""), t_s)
    return replace(state, complaint=f"That switch is “{called(taught.control)}” already.")


def _waited(state: TeachState, t_s: float) -> TeachState:
    if t_s < _since(state) + WAIT_S:
        return state
    if state.taught:
        return _all_taught(state, t_s)
    if state.first or state.waits + 1 >= MOST_WAITS:
        return replace(state, station=Station.DONE)
    again = _anew(state, "Nothing was heard; is the pedal plugged in?", t_s)
    return replace(again, waits=state.waits + 1)


def _anew(state: TeachState, complaint: str, t_s: float) -> TeachState:
    """Begin with this control's switch once more."""
    return replace(
        state,
        station=Station.PRESSING,
        trials=(),
        current=(),
        chosen=None,
        verdict=None,
        presses=None,
        complaint=complaint,
        since_s=t_s,
    )


# --- confirming -----------------------------------------------------------------


def _confirm(state: TeachState, t_s: float) -> TeachState:
    assert state.verdict is not None
    profile = state.verdict.profile
    presses = listening(profile, state.trials[-1].observations)
    return replace(state, station=Station.CONFIRMING, presses=presses, since_s=t_s)


def _hear_chosen(state: TeachState, one: Observation) -> TeachState:
    if state.presses is None or (one.device, one.switch) != state.chosen:
        return state
    return replace(state, presses=state.presses.hear(one))


def _end_confirming(state: TeachState, t_s: float) -> TeachState:
    assert state.presses is not None
    presses = state.presses.settle(t_s)
    if presses.last_s is None or t_s >= _since(state) + WAIT_S:
        if t_s < _since(state) + WAIT_S:
            return state
        return _anew(state, "It was not confirmed, so once more.", t_s)
    if not presses.over(t_s, SETTLED_S):
        return replace(state, presses=presses)
    if len(presses.downs_s) != 1:
        heard = len(presses.downs_s) or "no"
        return _anew(state, f"That looked like {heard} presses instead of one; once more.", t_s)
    assert state.chosen is not None
    taught = TaughtSwitch(ORDER[state.place], state.chosen[1], presses.profile)
    lengths_s = _tap_lengths_s(state)
    state = replace(
        state,
        taught=(*state.taught, taught),
        device=state.chosen[0],
        tap_lengths_s=state.tap_lengths_s + lengths_s,
        complaint="",
        presses=replace(presses, downs_s=(), last_s=None),
    )
    return _next_control(state, t_s)


def _tap_lengths_s(state: TeachState) -> tuple[float, ...]:
    """How long the short presses lasted, where the switch tells."""
    assert state.presses is not None
    if not state.presses.profile.offers_hold:
        return ()
    shorts = [trial.observations for trial in state.trials if trial.ask is Ask.SHORT]
    return tuple(observations[-1].t_s - observations[0].t_s for observations in shorts)


def _next_control(state: TeachState, t_s: float) -> TeachState:
    if state.place + 1 == len(ORDER):
        return _all_taught(state, t_s)
    presses, place = state.presses, state.place + 1
    return replace(_anew(state, state.complaint, t_s), place=place, presses=presses)


# --- rhythm, done ---------------------------------------------------------------


def _all_taught(state: TeachState, t_s: float) -> TeachState:
    if len(state.taught) > 1:
        return _done(state, None)
    chosen = (state.device, state.taught[0].switch)
    # Where the switch rests now is not known for certain after a while; a latching one finds itself.
    presses = state.presses or listening(state.taught[0].profile, ())
    return replace(state, station=Station.RHYTHM, chosen=chosen, presses=presses, since_s=t_s, complaint="")


def _end_rhythm(state: TeachState, t_s: float) -> TeachState:
    assert state.presses is not None
    presses = state.presses.settle(t_s)
    if presses.last_s is None and t_s >= _since(state) + WAIT_S:
        return _done(state, _windows(state))
    if not presses.over(t_s, 2 * SETTLED_S):
        return replace(state, presses=presses)
    fresh = replace(presses, downs_s=(), last_s=None)
    state = replace(state, presses=fresh, since_s=t_s, complaint="")
    if len(presses.downs_s) != 2:
        heard = counted(len(presses.downs_s), "press")
        return replace(state, complaint=f"That was {heard}; tap twice.")
    first, second = presses.downs_s
    state = replace(state, pairs=(*state.pairs, (first, second)))
    return _done(state, _windows(state)) if len(state.pairs) == PAIRS_WANTED else state


def _windows(state: TeachState) -> GestureSettings | None:
    return learn_windows(state.pairs, state.tap_lengths_s) if state.pairs else None


def _done(state: TeachState, windows: GestureSettings | None) -> TeachState:
    binding = arranged(state.device, state.taught, windows)
    return replace(state, station=Station.DONE, result=binding, complaint="")


def _first_done(state: TeachState) -> TeachState:
    assert state.verdict is not None
    assert state.chosen is not None
    device, switch = state.chosen
    taught = TaughtSwitch(ORDER[0], switch, state.verdict.profile)
    return _done(replace(state, taught=(taught,), device=device), None)


def _since(state: TeachState) -> float:
    assert state.since_s is not None
    return state.since_s


_PASS_TIME = {
    Station.QUIET: _end_quiet,
    Station.PRESSING: _end_press,
    Station.CONFIRMING: _end_confirming,
    Station.RHYTHM: _end_rhythm,
}
_HEAR = {
    Station.QUIET: _hear_noise,
    Station.PRESSING: _hear_press,
    Station.CONFIRMING: _hear_chosen,
    Station.RHYTHM: _hear_chosen,
}
