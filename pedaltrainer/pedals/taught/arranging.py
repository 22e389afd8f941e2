"""Which gestures the taught switches get, so that every control stays in reach of the feet.

| switches            | tap            | longer gestures                                     |
|---------------------|----------------|-----------------------------------------------------|
| one                 | pass           | double tap: fail; hold: pause                       |
| one, without a hold | pass           | double tap: fail                                    |
| two                 | pass, fail     | first: next; second: pause                          |
| three or more       | one each       | last: pause, if it has no switch of its own         |

The longer gesture is a hold where it can be seen (a tap is then known on the
way up), else a double tap. What has no switch of its own is in the pause menu.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pedaltrainer.pedals.bindings import KEYBOARD, ONE_SWITCH
from pedaltrainer.pedals.events import Control, GestureKind
from pedaltrainer.pedals.gesture import GestureSettings
from pedaltrainer.pedals.kinds import SwitchProfile
from pedaltrainer.pedals.taught.form import DeviceBinding, SwitchRow

ORDER = (Control.PASS_, Control.FAIL, Control.NEXT, Control.PAUSE, Control.UNDO, Control.REPEAT)
"""The controls in the order in which they are taught."""


@dataclass(frozen=True, slots=True)
class TaughtSwitch:
    """One switch that was taught, and the control it was taught for."""

    control: Control
    switch: str
    profile: SwitchProfile


def arranged(
    device: str, taught: Sequence[TaughtSwitch], windows: GestureSettings | None = None
) -> DeviceBinding:
    """The binding of a device whose switches were taught. Raises ValueError when there are none."""
    if not taught:
        raise ValueError("no switch was taught")
    controls: list[dict[GestureKind, Control]] = [{GestureKind.TAP: one.control} for one in taught]
    if len(taught) == 1:
        controls = [dict(ONE_SWITCH)]
        if not taught[0].profile.offers_hold:
            del controls[0][GestureKind.HOLD]
    else:
        has = {one.control for one in taught}
        for control, home in ((Control.FAIL, 0), (Control.NEXT, 0), (Control.PAUSE, len(taught) - 1)):
            if control not in has:
                gesture = _longer(controls[home], taught[home].profile)
                if gesture is not None:
                    controls[home][gesture] = control
    rows = tuple(
        SwitchRow(one.switch, _profile(device, one.profile), gestures)
        for one, gestures in zip(taught, controls, strict=True)
    )
    return DeviceBinding(device, rows, windows)


def _longer(controls: dict[GestureKind, Control], profile: SwitchProfile) -> GestureKind | None:
    wished = (GestureKind.HOLD, GestureKind.DOUBLE) if profile.offers_hold else (GestureKind.DOUBLE,)
    return next((gesture for gesture in wished if gesture not in controls), None)


def _profile(device: str, profile: SwitchProfile) -> SwitchProfile:
    # Keys are cleaned by the keyboard, and two read in one late frame carry the same time.
    return replace(profile, debounce_s=0.0) if device == KEYBOARD else profile
