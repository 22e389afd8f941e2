"""A session with a MIDI guitar on a real port, in real time: heard, answered by the ear, and its log."""

from __future__ import annotations

import queue
import time
from pathlib import Path

import numpy as np

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live.book import open_book
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear import Ear
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.midi.guitar_port import GuitarPort
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.records.log import Log
from pedaltrainer.records.rows import TakeRow
from pedaltrainer.session.events import EarHeard, Given
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase
from pedaltrainer.session.step import begin
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.timing.guitar import Guitar
from pedaltrainer.timing.stream import SilentStream
from tests.devices.jack import JackServer, VirtualPedal, wait_until
from tests.devices.test_midi_input import Heard
from tests.ear.made_up import expected_of
from tests.ear.strummed import Fault
from tests.ear.test_from_notes import FAITHFUL
from tests.ear.tracked import HEXAPHONIC, Played, tracked

DRILL = parse_drill("C F")
SETTINGS = Settings(
    (DRILL,), ladder="hold", starts_bpm=(120,), start_named=True, landings=6, minutes=9,
    ear=True, ear_answers=True,
)  # fmt: skip
HAND = Played(np.random.default_rng(4), FAITHFUL, HEXAPHONIC)


class RealEvening:
    """A player with a foot, who knows when a take is counted in, and a guitar in a process of its own."""

    def __init__(self, folder: Path, six: VirtualPedal, guitar: Guitar, log: Log) -> None:
        self.six, self.said = six, queue.SimpleQueue[EarHeard]()
        self.stream = SilentStream()
        opened_s = time.perf_counter()
        self.ear = Ear(guitar, shape_book(), self.said.put)
        book = open_book(log, Options(SETTINGS, Desk(folder, "Robin")), self.stream.heard_s(opened_s))
        self.conductor = Conductor(begin(SETTINGS), self.stream, book, ear=self.ear)
        self.conductor.open(opened_s)
        self.says(Control.NEXT)  # no sound check

    def says(self, control: Control) -> None:
        t_s = time.perf_counter()
        heard_s = self.stream.heard_s(t_s)
        self.conductor._happen(Given(heard_s, heard_s, t_s, control, "foot"))

    def waits_for(self, *phases: Phase) -> None:
        def has_come() -> bool:
            self.conductor.advance(time.perf_counter())
            return self.conductor.state.phase in phases

        assert wait_until(has_come, within_s=20), self.conductor.state.phase

    def plays(self, faults: dict[int, Fault], pulled_out: bool = False) -> EarHeard:
        """A take, begun by a yes where one is asked for, and what the ear tells of it. pulled_out: the port
        goes in its middle."""
        if self.conductor.state.phase in {Phase.READY, Phase.ASKING}:
            self.says(Control.PASS_)
        self.waits_for(Phase.COUNT_IN)
        run = self.conductor.state.run
        assert run is not None
        expected = expected_of("C F", run.tempo_bpm, run.landings, run.count_in_beats)
        start_t_s = self.stream.t_s(run.start_s)
        for one in tracked(expected, HAND, 0.03, faults)[0]:
            self.six.send(f"={start_t_s + one.t_s:.6f}", f"{0x90 + one.channel:x} {one.note:x} 50")
            if pulled_out and one.t_s > expected.landings[3].at_s:
                self.six.leave()
                break
        self.waits_for(Phase.ASKING)
        heard = self.said.get(timeout=10)
        self.conductor.told_by_ear(heard, time.perf_counter())
        return heard

    def ends(self) -> None:
        self.conductor.finish()
        self.ear.close()
        assert self.ear.trouble == ""


def test_a_late_landing_is_heard_and_answered_and_told_again_from_the_log(
    steady_jack: JackServer, tmp_path: Path
) -> None:
    heard, guitar = Heard(), Guitar()
    with (
        VirtualPedal(steady_jack.environment, "six") as six,
        InputHub(heard.edges.append, heard.statuses.append, guitar=GuitarPort("six", guitar)),
        Log.open(tmp_path) as log,
    ):
        evening = RealEvening(tmp_path, six, guitar, log)
        first, second, third = (evening.plays(faults) for faults in ({}, {}, {3: Fault(late_ms=130)}))
        gone = evening.plays({}, pulled_out=True)
        evening.ends()
        takes: list[TakeRow] = log.takes(player="Robin")
        (session,) = log.sessions("Robin")
        inputs = list(log.inputs(session.id))
    # Newest first.
    assert [(take.judge, take.outcome) for take in takes] == [
        ("ear", "fail"), ("foot", "pass"), ("foot", "pass"),
    ]  # fmt: skip
    assert (third.take, third.is_sure, third.first_sure) == ("missed", True, 4)
    assert third.landings[3].verdict == "late"
    others = [*first.landings, *second.landings, *third.landings[:3], *third.landings[4:]]
    assert {one.verdict for one in others} <= {"ok", "unsure"}
    assert (gone.take, gone.why, gone.landings) == ("unsure", "gone", ())
    told = [one for one in inputs if one["event"] == "EarHeard"]
    assert [one["take_utc"] for one in told[:3]] == [take.started_utc for take in takes[::-1]]
    assert told_otherwise(session, inputs, takes[::-1]) is None
    assert heard.edges == []
