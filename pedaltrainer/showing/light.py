"""What the lights of a pedal show of a session. Pure."""

from __future__ import annotations

from pedaltrainer.pedals.midi.lights import Moment
from pedaltrainer.session.state import AckKind, Phase, State

_ANSWERS = {AckKind.PASS_: Moment.PASS_, AckKind.FAIL: Moment.FAIL}


def moment_of(state: State) -> Moment | None:
    """Which light a state stands for: an answer for a while, else whether an answer is listened for."""
    ack = state.ack
    if ack is not None and ack.kind in _ANSWERS and state.phase is Phase.BREATH:
        return _ANSWERS[ack.kind]
    return Moment.LISTENING if state.phase in {Phase.ASKING, Phase.TAKE} else None
