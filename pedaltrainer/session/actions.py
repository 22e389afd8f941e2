"""What each action does to the session: one function an action, one table.

Pure. What leads to which action is `transitions`' business. An action is given the event that led to it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from pedaltrainer.session import answering, changing
from pedaltrainer.session.causes import Action
from pedaltrainer.session.course import (
    Step,
    acknowledge,
    after_breath,
    after_cautions,
    before_the_first_drill,
    cancel_last,
    count_in,
    drill_done,
    enter,
    enter_list,
    go_on,
    next_drill,
    open_menu,
    pause,
    the_run,
    to_the_plan,
    void_run,
)
from pedaltrainer.session.effects import (
    CautionsSeen,
    CheckSound,
    Close,
    Cue,
    SightChosen,
    SoundCue,
    StartTeaching,
    StopTeaching,
)
from pedaltrainer.session.events import (
    Due,
    Event,
    Given,
    InputLost,
    LogLost,
    Opened,
    Pointed,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
)
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import (
    CLICKING,
    DISTANCE_CHOICES_M,
    DWELL_S,
    SCREEN_CHOICES_INCHES,
    STUMBLES_IN_A_ROW,
    AckKind,
    Phase,
    State,
)
from pedaltrainer.session.stopping import (
    ask_to_finish,
    close,
    finish,
    finish_up,
    nobody_there,
    show_switches,
    shut,
    skip_take,
    stand,
    still,
    stop,
    wait,
)
from pedaltrainer.session.transitions import pause_choices


def _nothing(state: State, event: Event) -> Step:
    return state, ()


def _open(state: State, opened: Opened) -> Step:
    if state.settings.teach:
        return enter(state, Phase.TEACHING), (StartTeaching(),)
    if state.settings.show_cautions:
        return enter(state, Phase.CAUTIONS), ()
    return after_cautions(state), ()


def _accept(state: State, given: Given) -> Step:
    return after_cautions(state), (CautionsSeen(), SoundCue(Cue.NEXT))


def _plan_seen(state: State, given: Given) -> Step:
    return enter(state, Phase.READY), (SoundCue(Cue.NEXT),)


def _check_sound(state: State, given: Given) -> Step:
    return replace(state, checks=True, checked=None), (CheckSound(),)


def _sound_checked(state: State, checked: SoundChecked) -> Step:
    return replace(state, checks=False, checked=checked), ()


def _go_to_plan(state: State, given: Given) -> Step:
    return to_the_plan(state), (SoundCue(Cue.NEXT),)


def _begin(state: State, given: Given) -> Step:
    return count_in(state)


def _go(state: State, event: Given | Due) -> Step:
    return after_breath(state)


def _skip(state: State, event: Given | Due) -> Step:
    """Leave this drill for the next, or for the summary when it was the last."""
    state, effects = void_run(state)
    state = acknowledge(state, AckKind.NEXT)
    if state.last_drill:
        return finish_up(state), (*effects, SoundCue(Cue.NEXT))
    done = drill_done(state) if state.answers else state
    return next_drill(done), (*effects, SoundCue(Cue.NEXT))


def _pause_here(state: State, given: Given) -> Step:
    state, stopped = void_run(state)
    paused, effects = pause(state)
    return paused, (*stopped, *effects)


def _too_late(state: State, given: Given) -> Step:
    return acknowledge(state, AckKind.TOO_LATE), ()


def _out_of_place(state: State, given: Given) -> Step:
    return acknowledge(state, AckKind.OUT_OF_PLACE), ()


def _pause_was_meant(state: State, given: Given) -> Step:
    """The press that marked a miss was held on: the miss is taken back."""
    # The menu that may be open already offers less without the answer.
    state, effects = cancel_last(replace(state, chosen=0), "held on: pause meant")
    paused, more = pause(state)
    return paused, (*effects, *more)


_BROKEN_OFF_BY = {InputLost: "pedal lost", SoundLost: "sound lost", LogLost: "log lost"}


def _interrupt(state: State, trouble: InputLost | SoundLost | LogLost) -> Step:
    """Void the take that is on, and wait for the player; everything before it stands."""
    if state.settings.grammar == 1 or state.phase in CLICKING:
        state, voided = void_run(state, _BROKEN_OFF_BY[type(trouble)])
        state, paused = pause(state)
        return state, (*voided, *paused)
    # A question stays open.
    state, _ = still(state)
    return open_menu(state)


def _stumble(state: State, stumbled: SoundStumbled) -> Step:
    """What was heard broken is no take: it is counted in again, but for a sound that breaks every time."""
    number = the_run(state.run).serial
    state, effects = void_run(state, "sound stumbled")
    state = replace(state, stumbled=(*state.stumbled, number))
    if state.stumbled[-STUMBLES_IN_A_ROW:] == tuple(range(number - STUMBLES_IN_A_ROW + 1, number + 1)):
        state, paused = pause(state)
        return acknowledge(state, AckKind.STUMBLED), (*effects, *paused)
    state = acknowledge(state, AckKind.STUMBLED)
    return enter(state, Phase.BREATH, due_s=state.now_s + state.settings.count_s), (
        *effects,
        SoundCue(Cue.REST),
    )


def _go_back(state: State, event: Given | Due) -> Step:
    state, effects = go_on(state)
    return state, (*effects, SoundCue(Cue.NEXT))


def rows_in_list(state: State) -> int:
    """How many rows the list has that stands there."""
    if state.phase is Phase.SCREEN_SIZE:
        return len(SCREEN_CHOICES_INCHES)
    return len(DISTANCE_CHOICES_M if state.phase is Phase.DISTANCE else pause_choices(state))


def _point(state: State, pointed: Pointed) -> Step:
    if not 0 <= pointed.row < rows_in_list(state):
        return state, ()
    return replace(state, chosen=pointed.row, due_s=None), ()


def _move(state: State, given: Given) -> Step:
    state = replace(state, chosen=(state.chosen + 1) % rows_in_list(state))
    return replace(state, due_s=state.now_s + DWELL_S if state.dwells else None), (SoundCue(Cue.PRESS),)


def _choose_size(state: State, event: Given | Due) -> Step:
    chosen = SightChosen(screen_inches=SCREEN_CHOICES_INCHES[state.chosen])
    return enter_list(state, Phase.DISTANCE), (chosen, SoundCue(Cue.NEXT))


def _choose_distance(state: State, event: Given | Due) -> Step:
    chosen = SightChosen(distance_m=DISTANCE_CHOICES_M[state.chosen])
    return before_the_first_drill(state), (chosen, SoundCue(Cue.NEXT))


def _keep(state: State, given: Given) -> Step:
    """Leave the screen's size and distance as they are known, and do not ask again."""
    return before_the_first_drill(state), (SightChosen(), SoundCue(Cue.NEXT))


def _rest(state: State, event: Given | Due) -> Step:
    if state.phase is not Phase.PAUSED:
        state = replace(state, went_on_to=Phase.BREATH)
    state = replace(state, since_rest_s=0.0, rests=state.rests + 1)
    return enter(state, Phase.RESTING, due_s=state.now_s + state.settings.rest_s), (SoundCue(Cue.REST),)


def _rested(state: State, due: Due) -> Step:
    return go_on(acknowledge(state, AckKind.RESTED))


def _play_on(state: State, given: Given) -> Step:
    """Skip the rest; it is offered again after as long a while."""
    if state.phase is Phase.REST_OFFERED:
        return count_in(replace(state, since_rest_s=0.0))
    return go_on(state)


def _to_next_drill(state: State, given: Given) -> Step:
    return next_drill(state), (SoundCue(Cue.NEXT),)


def _same_again(state: State, event: Given | Due) -> Step:
    """All drills once more, from the first; what was just found of them is known."""
    state = replace(
        state,
        settings=_knowing(state),
        rounds_before=state.all_results,
        takes_before=(*state.takes_before, *state.earlier, *state.takes_so_far),
        opened_with=state.opened_with or state.settings,
        drill_index=0,
        visited=(),
        used_s=0.0,
        allowances_s=state.settings.allowances_s,
        earlier=(),
        answers=(),
        results=(),
        spent_s=0.0,
        tempo_steps=0,
        held_bpm=None,
        next_bpm=None,
        dropped=(),
    )
    state = replace(state, ladder=state.new_ladder)
    return enter(state, Phase.READY), (SoundCue(Cue.NEXT),)


def _knowing(state: State) -> Settings:
    """The settings with what this round has found as each drill's history."""
    found = {one.drill.key: one.result.found for one in state.results if one.result.found is not None}
    histories = state.settings.histories
    known = tuple(
        (found[drill.key],) if drill.key in found else next(iter(histories[index : index + 1]), ())
        for index, drill in enumerate(state.settings.drills)
    )
    return replace(state.settings, histories=known)


def _repeat(state: State, given: Given) -> Step:
    """The same tempo once more; the take that was on does not count."""
    state, effects = void_run(state, judge="interrupted")
    state, more = count_in(state)
    return acknowledge(state, AckKind.REPEAT), (*effects, *more)


def _teach(state: State, event: Given | Due) -> Step:
    return enter(state, Phase.TEACHING), (SoundCue(Cue.NEXT), StartTeaching())


def _leave_lesson(state: State, over: Given | Taught) -> Step:
    """Back from a lesson for a pedal to the pause menu, or out when the lesson was all that was wanted."""
    state = acknowledge(replace(state, chosen=0), AckKind.NOT_TAUGHT)
    if isinstance(over, Taught):
        state = acknowledge(state, AckKind.TAUGHT, name=over.words)
    if state.settings.teach:
        return enter(state, Phase.CLOSED), (StopTeaching(), Close())
    return enter(state, Phase.PAUSED), (StopTeaching(), SoundCue(Cue.NEXT))


ACTIONS: dict[Action, Callable[[State, Any], Step]] = {
    Action.NOTHING: _nothing,
    Action.OPEN: _open,
    Action.ACCEPT: _accept,
    Action.SEE_FIRST: _plan_seen,
    Action.BEGIN: _begin,
    Action.STAND: stand,
    Action.NOBODY_THERE: nobody_there,
    Action.WAIT: wait,
    Action.GO_NOW: _go,
    Action.LAND: answering.land,
    Action.ASK: answering.ask,
    Action.SILENCE_PASSES: answering.silence_passes,
    Action.SKIP: _skip,
    Action.CLEAN: answering.clean,
    Action.MISSED: answering.missed,
    Action.MISSED_HERE: answering.missed_here,
    Action.MISSED_AFTER_ALL: answering.missed_after_all,
    Action.MISSED_MORE: answering.missed_more,
    Action.NAME_STRING: answering.name_string,
    Action.STRING_NAMED: _nothing,
    Action.STRINGS_MISSED: answering.strings_missed,
    Action.CHECK_SOUND: _check_sound,
    Action.SOUND_CHECKED: _sound_checked,
    Action.GO_TO_PLAN: _go_to_plan,
    Action.EAR_MISSED: answering.ear_missed,
    Action.EAR_MISSED_AFTER_ALL: answering.ear_missed_after_all,
    Action.OVERRULE: answering.overrule,
    Action.UNDO: answering.undo,
    Action.PAUSE: _pause_here,
    Action.STOP: stop,
    Action.SKIP_TAKE: skip_take,
    Action.SHOW_SWITCHES: show_switches,
    Action.ASK_TO_FINISH: ask_to_finish,
    Action.TOO_LATE: _too_late,
    Action.OUT_OF_PLACE: _out_of_place,
    Action.PAUSE_WAS_MEANT: _pause_was_meant,
    Action.INTERRUPT: _interrupt,
    Action.STUMBLE: _stumble,
    Action.MOVE: _move,
    Action.POINT: _point,
    Action.CHOOSE_SIZE: _choose_size,
    Action.CHOOSE_DISTANCE: _choose_distance,
    Action.GO_BACK: _go_back,
    Action.KEEP: _keep,
    Action.REST: _rest,
    Action.RESTED: _rested,
    Action.PLAY_ON: _play_on,
    Action.NEXT_DRILL: _to_next_drill,
    Action.SAME_AGAIN: _same_again,
    Action.REPEAT: _repeat,
    Action.TEACH: _teach,
    Action.LEAVE_LESSON: _leave_lesson,
    Action.FINISH: finish,
    Action.CLOSE: close,
    Action.SHUT: shut,
    Action.SHOW_CHANGES: changing.show_changes,
    Action.SHOW_NOTES: changing.show_notes,
    Action.TO_MENU: changing.to_menu,
    Action.SLOWER: changing.slower,
    Action.FASTER: changing.faster,
    Action.STAY_HERE: changing.stay_here,
    Action.OTHER_MODE: changing.other_mode,
    Action.MORE_TIME: changing.more_time,
    Action.DROP: changing.drop,
    Action.OTHER_BEATS: changing.other_beats,
    Action.OTHER_GAP: changing.other_gap,
    Action.OTHER_STYLE: changing.other_style,
    Action.OTHER_LANDINGS: changing.other_landings,
    Action.LOUDER: changing.louder,
    Action.QUIETER: changing.quieter,
    Action.IT_HURTS: changing.it_hurts,
    Action.A_BUZZ: changing.a_buzz,
    Action.A_WRONG_FINGER: changing.a_wrong_finger,
}
