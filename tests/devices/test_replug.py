"""A pedal pulled out of its socket, twenty times over, on a real port."""

from __future__ import annotations

from tests.benchmarks.pedal_replug import replug
from tests.devices.jack import JackServer, VirtualPedal

CYCLES = 20


def test_twenty_replugs_are_all_recovered_from_and_leave_nothing_behind(
    steady_jack: JackServer, steady_pedal: VirtualPedal
) -> None:
    """The port goes in order, as it does when a system takes away the ports of a plug that was pulled.

    Each press must be heard the first time: this server loses none, however busy the machine. (One
    that does not wait for late clients loses presses, and now and then never calls one that joins.)
    """
    came = replug(steady_jack, steady_pedal, steady_pedal.leave, CYCLES)
    assert len(came.recovered_s) == CYCLES
    assert came.heard_again == CYCLES
    assert came.presses_repeated == 0
    assert came.after == came.before
