"""A pedal kicked out of its socket, twenty times over, on a real port."""

from __future__ import annotations

from tests.benchmarks.pedal_replug import replug
from tests.devices.jack import JackServer, VirtualPedal

CYCLES = 20


def test_twenty_replugs_are_all_recovered_from_and_leave_nothing_behind(
    jack: JackServer, virtual_pedal: VirtualPedal
) -> None:
    came = replug(jack, virtual_pedal, CYCLES, patience_s=2.0)
    assert len(came.recovered_s) == CYCLES
    assert came.heard_again == CYCLES
    assert came.after == came.before
