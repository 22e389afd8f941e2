"""A rehearsal on a simulated clock: the same conductor, no device, no window, no waiting."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.options import Options
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.rehearsal.pedal import Moment, edge_at, moment_of
from pedaltrainer.rehearsal.player import MadeUpPlayer, PlannedEdge, presses
from pedaltrainer.session.step import begin
from pedaltrainer.timing.click import ClickPlan, Pcm, Sound
from pedaltrainer.timing.stream import StreamHealth


class SimulatedStream:
    """A stream whose heard time is the clock of presses itself. It keeps what it was asked to play."""

    rate = 48_000
    latency_s = 0.0
    name = "simulated"
    frames = 0
    silent = True
    lost = False

    def __init__(self) -> None:
        self.plans: list[ClickPlan] = []
        self.sounds: list[Sound] = []
        self.clicks: list[Sequence[tuple[int, Sound]]] = []
        self.strums: list[Sequence[Sequence[int]]] = []

    def heard_s(self, t_s: float) -> float:
        return t_s

    def t_s(self, heard_s: float) -> float:
        return heard_s

    def play(self, plan: ClickPlan) -> int:
        self.plans.append(plan)
        return len(self.plans)

    def play_clicks(self, clicks: Sequence[tuple[int, Sound]]) -> int:
        self.clicks.append(clicks)
        return len(self.clicks)

    def back(self, pcm: Pcm, at_sample: int, plan: int) -> None:
        """Nothing is heard."""

    def stop_plan(self) -> None:
        self.plans += self.plans[-1:]

    def sound(self, sound: Sound) -> None:
        self.sounds.append(sound)

    def set_as(
        self, volume: float, acks: bool, sound_delay_s: float | None, backing_level: float = 1.0
    ) -> None:
        """Nothing is heard."""

    def strum(self, chords: Sequence[Sequence[int]]) -> None:
        self.strums.append(chords)

    def health(self) -> StreamHealth:
        return StreamHealth()

    def close(self) -> None:
        pass


def rehearse(options: Options, log: Log, on_take: Callable[[TakeRow], None] = lambda row: None) -> Conductor:
    """Play a whole session with the made-up player of `options`; returns the conductor as it ended.

    Raises ValueError when options has no made-up player.
    """
    if options.made_up is None:
        raise ValueError("a fast rehearsal needs a made-up player")
    conductor = Conductor(
        state=begin(options.settings),
        stream=SimulatedStream(),
        book=open_book(log, options),
        on_take=on_take,
    )
    conductor.open(0.0)
    _play(conductor, options.made_up)
    conductor.finish()
    return conductor


def _play(conductor: Conductor, player: MadeUpPlayer) -> None:
    agenda: list[PlannedEdge] = []
    seen: Moment | None = None
    while not conductor.closed:
        moment = moment_of(conductor.state)
        if moment != seen:
            seen = moment
            agenda = sorted([*agenda, *presses(player, conductor.state)], key=lambda edge: edge.heard_s)
        edge_s = agenda[0].heard_s if agenda else math.inf
        due_s = conductor.due_t_s()
        if due_s is not None and due_s < edge_s:
            conductor.advance(due_s)
        elif agenda:
            conductor.edge(edge_at(agenda.pop(0), edge_s))
        else:
            raise AssertionError(f"nobody has anything to do in the phase “{conductor.state.phase}”")
