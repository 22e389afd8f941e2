"""How the fretting hand goes through the gap before a change."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction


class Gap(StrEnum):
    """How the hand goes through the gap between one chord and the next."""

    LIFTED = "lifted"
    """Clear of the strings: an off-beat stroke lets them ring open."""
    MUTED = "muted"
    """The fingers stay in touch, unpressed: an off-beat stroke is dull."""
    INSTANT = "instant"
    """No free off-beat: the old chord is still struck half a beat before the new one."""


HALF_BEAT = Fraction(1, 2)
LIFTS: dict[Gap, Fraction] = {
    Gap.LIFTED: HALF_BEAT,
    Gap.MUTED: HALF_BEAT,
    # The last half-beat stroke of the old chord is let sound for half its length.
    Gap.INSTANT: Fraction(1, 4),
}
"""How much of a beat before a landing the hand lifts in a drill."""
