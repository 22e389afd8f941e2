"""Clock recovery: which sample of the stream belongs to which instant.

An audio callback arrives when the system pleases; the device's crystal does
not care. A second-order delay-locked loop filters the callback times into a
smooth line (F. Adriaensen, "Using a DLL to filter time", Linux Audio
Conference 2005, section 3):

    e = t - t1;  t0 = t1;  t1 += b*e + e2;  e2 += c*e
    omega = 2*pi*B*period;  b = sqrt(2)*omega;  c = omega**2

with the period kept per sample, so that blocks may differ in length. The
bandwidth B starts wide, to find the device's rate, and narrows with the time
since locking, to forget the jitter of single callbacks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

WIDE_HZ = 2.0
NARROW_HZ = 0.1
OMEGA_MAX = 0.3
STALL_S = 0.2
SETTLED_S = 5.0
LATER_S, EARLIER_S = 0.004, 0.02
"""How far callbacks in a row are off before it is believed that all that follow will be. A machine that is
busy asks late, never early: that draws the line late, and those after it seem early for long."""
SHIFTED_CALLBACKS = 15
STUMBLE_S = 0.01
"""A shift in a row of tones is noticed from about 2.5 % of their distance on (A. Friberg and J. Sundberg,
"Time discrimination in a monotonic, isochronous sequence", 1995): so much of the 400 ms between eighths at
75 BPM. A smaller one is followed and not told."""
RATE_TOLERANCE = 0.1


@dataclass(frozen=True, slots=True)
class ClockMap:
    """A straight line between samples and `t_s`: `sample` is handed over at `at_s`."""

    at_s: float
    sample: float
    seconds_per_sample: float

    def sample_at(self, t_s: float) -> float:
        """The sample, with its fraction, at an instant."""
        return self.sample + (t_s - self.at_s) / self.seconds_per_sample

    def t_s_at(self, sample: float) -> float:
        """The instant of a sample, in seconds."""
        return self.at_s + (sample - self.sample) * self.seconds_per_sample


@dataclass(frozen=True, slots=True)
class LoopState:
    """What the loop remembers: its line, when it locked, and how often it had to start again.

    shifted counts callbacks in a row that were off to the same side, later by LATER_S or earlier by EARLIER_S
    (below 0); off_since is the first of them. stumbles counts the new starts that were later than the line by
    STUMBLE_S: the device had nothing to play before sample stumbled_at.
    """

    line: ClockMap
    locked_sample: int
    last_sample: int
    resets: int = 0
    shifted: int = 0
    off_since: int = 0
    stumbles: int = 0
    stumbled_at: int = 0


@dataclass(frozen=True, slots=True)
class DelayLockedLoop:
    """The loop for a device of nominally `rate` samples a second."""

    rate: int

    def update(self, state: LoopState | None, t_s: float, samples_written: int) -> LoopState:
        """Take in one callback: at t_s the device asked for the block that begins at samples_written.

        None stands for a loop that has seen nothing. The loop starts afresh,
        at this callback, after a stall: when one comes more than STALL_S off
        its prediction, or SHIFTED_CALLBACKS in a row are off to the same side,
        LATER_S or EARLIER_S and more.
        """
        if state is None:
            return self._begin(t_s, samples_written, 1 / self.rate)
        line = state.line
        step = samples_written - state.last_sample
        if step <= 0:
            return state
        predicted_s = line.t_s_at(samples_written)
        error_s = t_s - predicted_s
        off = (error_s > LATER_S) - (error_s < -EARLIER_S)
        locked_s = (samples_written - state.locked_sample) / self.rate
        goes_on = off * state.shifted > 0
        shifted = state.shifted + off if goes_on else off
        off_since = state.off_since if goes_on else samples_written
        if abs(error_s) > STALL_S or abs(shifted) >= SHIFTED_CALLBACKS:
            # A pace found in a few blocks is mostly jitter; only a settled one outlives a stall.
            pace = line.seconds_per_sample if locked_s >= SETTLED_S else 1 / self.rate
            stumbled = error_s >= STUMBLE_S
            return replace(
                self._begin(t_s, samples_written, pace),
                resets=state.resets + 1,
                stumbles=state.stumbles + stumbled,
                stumbled_at=off_since if stumbled else state.stumbled_at,
            )
        bandwidth_hz = max(NARROW_HZ, min(WIDE_HZ, WIDE_HZ / max(locked_s, 1.0)))
        omega = min(OMEGA_MAX, 2 * pi * bandwidth_hz * step / self.rate)
        pace = line.seconds_per_sample + omega**2 * error_s / step
        nominal = 1 / self.rate
        pace = min(max(pace, nominal * (1 - RATE_TOLERANCE)), nominal * (1 + RATE_TOLERANCE))
        return replace(
            state,
            line=ClockMap(predicted_s + sqrt(2) * omega * error_s, samples_written, pace),
            last_sample=samples_written,
            shifted=shifted,
            off_since=off_since,
        )

    @staticmethod
    def _begin(t_s: float, sample: int, pace: float) -> LoopState:
        return LoopState(ClockMap(t_s, sample, pace), sample, sample)
