"""The pages of words between drills: cautions, rests, what a drill came to, the summary. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable

from pedaltrainer.practice.coach.plan_lines import Mode
from pedaltrainer.practice.ladders.rungs import Finding
from pedaltrainer.screen import view as v
from pedaltrainer.session.course import following
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import DrillResult, Phase, State
from pedaltrainer.showing.results import (
    CLEAN_TEMPO,
    by_drill,
    found_figure,
    found_shortly,
    takes_words,
    target_words,
    why_ended,
)

STOP = "Stop at pain, tingling or numbness."
QUIET = "Keep the click quiet."
CAUTIONS = (
    "Warm up: a minute of slow, light playing.",
    "Press only as hard as the note needs.",
    STOP,
    "Rest a few minutes in every twenty.",
    QUIET,
)
"""What is said of care: before the first session, in the report, on the sheet and in README.md."""
SEE_SOMEBODY = "If it hurts again, see a doctor or a teacher before you go on."
STOP_AND_SEE = f"{STOP.removesuffix('.')}; if it comes back, see a doctor or a teacher."
"""The foot of the other pages of the stage."""
MOST_FOUND = 3
"""Drills that the summary names: more could not be read from where the player sits."""
WORTH_A_REST_S = 5 * 60
"""Playing for so long is worth saying, with the advice to rest."""


def minutes(seconds: float) -> str:
    """Seconds as minutes and seconds, rounded up: 1:05."""
    # Less than a millisecond more is the arithmetic's, and no second.
    whole = math.ceil(seconds - 0.001)
    return f"{whole // 60}:{whole % 60:02d}"


def _cautions_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(title="Before you play", lines=CAUTIONS, hints=(), small_print=(SEE_SOMEBODY,))


def _rest_offer_page(state: State, heard_s: float) -> v.PageView:
    minutes = round(state.settings.rest_after_s / 60)
    return v.PageView(
        title="Time for a rest",
        lines=(
            f"You have played for {minutes} minutes.",
            "Let the hands hang, shake them out, look far away.",
        ),
        hints=(),
        small_print=(SEE_SOMEBODY,),
    )


def _resting_page(state: State, heard_s: float) -> v.PageView:
    left_s = max(0.0, (state.due_s or heard_s) - heard_s)
    return v.PageView(
        title="Rest",
        lines=("Let the hands hang.",),
        hints=(),
        figure=minutes(left_s),
        figure_words="then it goes on by itself",
    )


MOST_PLANNED = 6
"""Lines of a plan on one page: more could not be read from where the player sits."""


def _plan_page(state: State, heard_s: float) -> v.PageView:
    settings = state.settings
    lines = [
        f"{allowance_s / 60:.2g} min  {_why(settings, index)}"
        for index, allowance_s in enumerate(state.allowances_s)
    ]
    if len(lines) > MOST_PLANNED:
        lines[MOST_PLANNED - 1 :] = [f"… and {len(lines) - MOST_PLANNED + 1} more"]
    return v.PageView(
        title=f"Today, {sum(state.allowances_s) / 60:.0f} minutes",
        lines=tuple(lines),
        hints=(),
        small_print=(STOP_AND_SEE,),
    )


LONG_REASON = 44
"""Letters: a longer reason is cut after its first clause, so that a page of them can be large."""


def _why(settings: Settings, index: int) -> str:
    """A planned drill and its reason, both named: "C – D, slowly: warm-up"."""
    drill, reason = settings.drills[index], settings.reasons[index]
    if not reason.startswith(drill.names):
        slowly = ", slowly" if settings.modes[index] == Mode.SLOW else ""
        return f"{drill.title}{slowly}: {reason.partition(':')[0]}"
    return reason.partition(";")[0] if len(reason) > LONG_REASON else reason


def _ended(one: DrillResult) -> str:
    said = (takes_words(one), target_words(one), why_ended(one.result.ending))
    return f"{'; '.join(part for part in said if part)}."


def _drill_done_page(state: State, heard_s: float) -> v.PageView:
    done = state.results[-1]
    figure, figure_words = found_figure(done)
    coming = following(state)
    what = _why(state.settings, coming) if state.settings.reasons else state.settings.drills[coming].title
    return v.PageView(
        title="That drill is done",
        lines=(_ended(done), f"Next: {what}"),
        hints=(),
        figure=figure,
        figure_words=figure_words,
        small_print=(CLEAN_TEMPO,) if done.result.finding is Finding.CLEAN_TEMPO else (),
    )


def _summary_page(state: State, heard_s: float) -> v.PageView:
    if not state.results:
        return v.PageView(
            title="That is all", lines=("No take was answered.",), hints=(), small_print=(STOP_AND_SEE,)
        )
    results = by_drill(state.results)
    played = f"{minutes(state.played_s)} played"
    long = state.played_s >= WORTH_A_REST_S
    rest, small_print = (f"{played}: now rest.", ()) if long else (f"{played}.", (STOP,))
    if len(results) == 1:
        figure, figure_words = found_figure(results[0])
        return v.PageView(
            title="That is all",
            lines=(_ended(results[0]), rest),
            hints=(),
            figure=figure,
            figure_words=figure_words,
            small_print=small_print,
        )
    more = f"… {len(results) - MOST_FOUND} more; " if len(results) > MOST_FOUND else ""
    lines = (*map(found_shortly, results[:MOST_FOUND]), more + rest)
    return v.PageView(title="That is all", lines=lines, hints=(), small_print=small_print)


def _still_there_page(state: State, heard_s: float) -> v.PageView:
    left_s = max(0.0, (state.due_s or heard_s) - heard_s)
    return v.PageView(
        title="Still there?",
        lines=("Three takes went by without a word from the foot.", "Any press: they count."),
        hints=(),
        figure=minutes(left_s),
        figure_words="then they are taken back",
    )


def _finish_asked_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(
        title="Finish for today?",
        lines=("All that was answered is kept.",),
        hints=(),
        small_print=(STOP_AND_SEE,),
    )


def _hurts_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(
        title="Stop for today?",
        lines=("It was noted that it hurts.", STOP, SEE_SOMEBODY),
        hints=(),
    )


def _closed_page(state: State, heard_s: float) -> v.PageView:
    return v.PageView(title="Good-bye", lines=(), hints=())


PAGES: dict[Phase, Callable[[State, float], v.PageView]] = {
    Phase.CAUTIONS: _cautions_page,
    Phase.PLAN: _plan_page,
    Phase.REST_OFFERED: _rest_offer_page,
    Phase.RESTING: _resting_page,
    Phase.DRILL_DONE: _drill_done_page,
    Phase.FINISHED: _summary_page,
    Phase.STILL_THERE: _still_there_page,
    Phase.FINISH_ASKED: _finish_asked_page,
    Phase.HURTS: _hurts_page,
    Phase.CLOSED: _closed_page,
}
"""What each phase that is a page shows at a heard second, hints and notices aside."""
