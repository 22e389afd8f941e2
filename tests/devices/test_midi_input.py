"""One input of the hub on real ports: a JACK server and pedals in processes that can be killed."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.bindings import BoundEdge
from pedaltrainer.pedals.events import Control, ControlGiven, InputChange, InputStatus
from pedaltrainer.pedals.midi.backend import choose_backend
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.input import list_inputs
from pedaltrainer.pedals.midi.ports import is_selectable, plain_name
from pedaltrainer.pedals.recogniser import Output, Recogniser
from tests.devices.jack import ROOT, JackServer, VirtualPedal, wait_until


class Heard:
    """What an input told, kept in order."""

    def __init__(self) -> None:
        self.edges: list[BoundEdge] = []
        self.statuses: list[InputStatus] = []

    def changes(self) -> list[InputChange]:
        return [status.change for status in self.statuses]

    def waits_for(self, change: InputChange, times: int = 1, within_s: float = 10.0) -> bool:
        return wait_until(lambda: self.changes().count(change) == times, within_s)

    def waits_for_edges(self, count: int) -> bool:
        return wait_until(lambda: len(self.edges) >= count)


def listen(heard: Heard, wanted: str | None = None) -> InputHub:
    return InputHub(heard.edges.append, heard.statuses.append, wanted=wanted)


def open_files() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


def test_a_press_arrives_as_two_edges_with_the_time_of_its_arrival(steady_pedal: VirtualPedal) -> None:
    heard = Heard()
    with listen(heard):
        sent_s = steady_pedal.press()
        steady_pedal.release()
        assert heard.waits_for_edges(2)
    down, up = heard.edges
    assert (down.device, down.switch, down.down) == ("test pedal:out", "controller 64 on channel 1", True)
    assert (up.switch, up.down) == (down.switch, False)
    # perf_counter is the same clock in both processes here (CLOCK_MONOTONIC).
    assert sent_s - 0.005 < down.t_s < time.perf_counter()
    assert down.t_s <= up.t_s


def test_clock_and_sensing_and_a_half_pressed_pedal_add_no_edges(steady_pedal: VirtualPedal) -> None:
    heard = Heard()
    with listen(heard):
        stream = [f"b0 40 {value:02x}" for value in (10, 40, 64, 70, 75, 80, 127, 90, 64, 63, 20, 0)]
        # A breath between the messages: on a busy machine JACK itself loses some of a burst.
        steady_pedal.send("f8", "fe", *(m for value in stream for m in (value, "f8", "fe", "@0.005")))
        steady_pedal.send("90 3c 00", "@0.005", "91 3c 64", "@0.005", "91 3c 00")
        assert heard.waits_for_edges(4)
    assert [(edge.switch, edge.down) for edge in heard.edges] == [
        ("controller 64 on channel 1", True),
        ("controller 64 on channel 1", False),
        ("note 60 on channel 2", True),
        ("note 60 on channel 2", False),
    ]


def test_a_pedal_that_is_pulled_out_is_reported_and_works_again_within_two_seconds(
    steady_pedal: VirtualPedal,
) -> None:
    heard = Heard()
    with listen(heard) as midi_input:
        assert heard.changes() == [InputChange.FOUND]
        steady_pedal.press()
        assert heard.waits_for_edges(1)
        steady_pedal.leave()
        assert heard.waits_for(InputChange.LOST)
        gone = midi_input.devices
        assert gone == ()
        steady_pedal.start()
        assert heard.waits_for(InputChange.BACK, within_s=2)
        assert midi_input.devices == (steady_pedal.name,)
        # It was down when it went: the press after it must count all the same.
        steady_pedal.press()
        assert heard.waits_for_edges(2)
    assert [edge.down for edge in heard.edges] == [True, True]


def native_threads() -> int:
    return len(list(Path("/proc/self/task").iterdir()))


def test_closing_stops_the_watcher_and_frees_every_file(steady_pedal: VirtualPedal) -> None:
    with listen(Heard()):
        pass
    before = (threading.active_count(), open_files(), native_threads())
    for _ in range(5):
        with listen(Heard()):
            pass
    assert (threading.active_count(), open_files(), native_threads()) == before


def test_a_pedal_plugged_in_later_is_taken(steady_jack: JackServer) -> None:
    heard = Heard()
    with listen(heard):
        assert heard.changes() == [InputChange.NONE]
        with VirtualPedal(steady_jack.environment, "late pedal") as pedal:
            assert heard.waits_for(InputChange.FOUND, within_s=2)
            pedal.press()
            assert heard.waits_for_edges(1)
    assert heard.edges[0].device == "late pedal:out"


def test_another_pedal_does_not_step_in_for_the_one_that_went(
    jack: JackServer, virtual_pedal: VirtualPedal
) -> None:
    heard = Heard()
    with listen(heard, "test pedal"), VirtualPedal(jack.environment, "other") as other:
        virtual_pedal.kill()
        assert heard.waits_for(InputChange.LOST)
        other.press()
        virtual_pedal.start()
        assert heard.waits_for(InputChange.BACK)
    assert heard.changes() == [InputChange.FOUND, InputChange.LOST, InputChange.BACK]
    assert heard.edges == []


def test_an_input_is_chosen_by_part_of_its_name(steady_jack: JackServer, steady_pedal: VirtualPedal) -> None:
    heard = Heard()
    with VirtualPedal(steady_jack.environment, "second one") as second, listen(heard, "SECOND") as midi_input:
        assert midi_input.devices == (second.name,)
        assert set(list_inputs()) == {steady_pedal.name, second.name}


def test_a_loop_port_is_not_taken_unasked(steady_jack: JackServer) -> None:
    heard = Heard()
    with VirtualPedal(steady_jack.environment, "Midi Through", "Midi Through Port-0"):
        with listen(heard) as unasked:
            assert unasked.devices == ()
        with listen(heard, "Through") as asked:
            assert asked.devices == ("Midi Through:Midi Through Port-0",)


def test_a_name_that_fits_no_input_names_those_there_are(steady_pedal: VirtualPedal) -> None:
    threads = threading.active_count()
    with pytest.raises(InputError) as caught:
        listen(Heard(), "harmonium")
    assert str(caught.value) == ('No MIDI input has "harmonium" in its name: there are "test pedal:out".')
    assert threading.active_count() == threads


def test_tap_double_tap_and_hold_of_a_real_pedal_pass_fail_and_go_on(steady_pedal: VirtualPedal) -> None:
    heard = Heard()
    with listen(heard):
        steady_pedal.tap()
        time.sleep(0.5)
        # In one go: on a busy machine each word between the two processes may take as long as the gap.
        steady_pedal.send("b0 40 7f", "@0.05", "b0 40 00", "@0.05", "b0 40 7f", "@0.05", "b0 40 00")
        time.sleep(0.5)
        steady_pedal.tap(0.8)
        assert heard.waits_for_edges(8)
    recogniser = Recogniser()
    outputs: list[Output] = []
    for edge in heard.edges:
        recogniser, more = recogniser.feed(edge)
        outputs += more
    outputs += recogniser.tick(heard.edges[-1].t_s + 10)[1]
    given = [output for output in outputs if isinstance(output, ControlGiven)]
    assert [control.control for control in given] == [Control.PASS_, Control.FAIL, Control.PAUSE]
    assert {control.judge for control in given} == {"foot"}
    presses = [output.t_s for output in outputs if isinstance(output, BoundEdge)]
    assert [control.pressed_s for control in given] == presses


def test_finding_a_backend_prints_nothing_whatever_this_computer_has() -> None:
    program = (
        "from pedaltrainer.pedals.midi.backend import choose_backend\n"
        "from pedaltrainer.pedals.midi.input import list_inputs\n"
        "choice = choose_backend()\n"
        "inputs = list_inputs(choice)\n"
        "assert choice.module or not inputs\n"
        "print(choice.reason)\n"
    )
    bare = {name: value for name, value in os.environ.items() if name != "MIDO_BACKEND"}
    ran = subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=bare, capture_output=True, text=True)
    assert ran.stderr == ""
    assert ran.stdout.startswith(("There is no MIDI here (", "MIDI through "))
    assert ran.stdout.count("\n") == 1


@pytest.mark.parametrize(
    "backend", ["mido.backends.rtmidi/UNIX_JACK", "mido.backends.rtmidi/NOWHERE", "mido.backends.absent"]
)
def test_a_computer_without_midi_says_so_in_one_sentence_and_nothing_on_the_terminal(backend: str) -> None:
    program = (
        "from pedaltrainer.errors import InputError\n"
        "from pedaltrainer.pedals.midi.hub import InputHub\n"
        "from pedaltrainer.pedals.midi.input import list_inputs\n"
        "said = []\n"
        "InputHub(print, said.append).close()\n"
        "print(said[0].change, said[0].words, list_inputs(), sep='|')\n"
        "try: InputHub(print, print, wanted='pedal')\n"
        "except InputError as error: print(error)\n"
    )
    nowhere = {"JACK_DEFAULT_SERVER": "no-such-server", "JACK_NO_START_SERVER": "1", "MIDO_BACKEND": backend}
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=os.environ | nowhere, capture_output=True, text=True
    )
    assert ran.stderr == ""
    status, refusal = ran.stdout.splitlines()
    change, words, inputs = status.split("|")
    assert (change, inputs) == ("none", "[]")
    assert words.startswith("There is no MIDI here (")
    assert words.count("\n") == 0
    assert refusal.startswith('No MIDI input "pedal": There is no MIDI here (')


def test_the_environment_chooses_the_backend(steady_jack: JackServer) -> None:
    choice = choose_backend()
    assert (choice.module, choice.api) == ("mido.backends.rtmidi", "UNIX_JACK")
    assert "MIDO_BACKEND" in choice.reason


@pytest.mark.parametrize(
    ("api", "first", "replugged"),
    [
        # Forms of names as RtMidi 6 builds them on each system (its source, from memory).
        ("LINUX_ALSA", "Foot:Foot MIDI 1 20:0", "Foot:Foot MIDI 1 24:0"),
        ("UNIX_JACK", "foot:out", "foot-01:out"),
        ("UNIX_JACK", "a2j:Foot [20] (capture): out", "a2j:Foot [24] (capture): out"),
        ("WINDOWS_MM", "Foot 1", "Foot 3"),
        ("MACOSX_CORE", "Foot 1", "Foot 1"),
    ],
)
def test_a_replugged_port_keeps_its_name(api: str, first: str, replugged: str) -> None:
    assert plain_name(first, api) == plain_name(replugged, api)
    assert plain_name(first, api).startswith(("Foot", "foot", "a2j"))


def test_our_own_ports_and_the_loop_port_are_no_pedals() -> None:
    names = ["Midi Through:Midi Through Port-0 14:0", "pedaltrainer:lights 130:0", "Foot:Foot MIDI 1 20:0"]
    assert [is_selectable(name) for name in names] == [False, False, True]
