"""Edges of switches that nobody has taught yet, with the rule that holds for them."""

from __future__ import annotations

from pedaltrainer.pedals.bindings import BoundEdge, default_bindings

RULES = default_bindings()


def untaught_edge(t_s: float, device: str, switch: str, down: bool) -> BoundEdge:
    rule = RULES.find(device, switch)
    assert rule is not None
    return BoundEdge(t_s, device, switch, down, rule)
