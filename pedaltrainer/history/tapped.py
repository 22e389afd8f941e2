"""How steady a player's foot was on the beat, trial by trial. From the log."""

from __future__ import annotations

from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.practice.tapping_along import FootTrial, steadiness
from pedaltrainer.records.rows import parse_utc
from pedaltrainer.session.tap_along import TAP_ALONG, Aim, tap_replay, tap_settings_from_json

MOST_TRIALS = 50


def foot_trials(desk: Desk) -> tuple[FootTrial, ...]:
    """The last trials, the newest first; those that this program cannot read are passed over.

    Raises InputError for a log that cannot be read.
    """
    if not desk.has_log:
        return ()
    trials = []
    with desk.log() as log:
        for row in log.runs(desk.player, MOST_TRIALS, TAP_ALONG):
            try:
                settings = tap_settings_from_json(row.settings)
                state = None if settings is None else tap_replay(settings, log.inputs(row.id))
            except InputError:
                continue
            if state is None or state.settings.aim != Aim.FOOT or not state.whole:
                continue
            found = steadiness(state.late_s)
            if found is not None:
                trials.append(FootTrial(parse_utc(row.started_utc), found))
    return tuple(trials)
