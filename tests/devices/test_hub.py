"""Several MIDI inputs at once on real ports, two alike ones among them, and a MIDI server that dies."""

from __future__ import annotations

import subprocess
import threading
import time
from typing import Any

from pedaltrainer.pedals.bindings import Binding, Bindings, BoundEdge
from pedaltrainer.pedals.events import Control, GestureKind, InputChange, Slid
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.input import moving_statuses
from pedaltrainer.pedals.midi.ports import output_of
from tests.devices.jack import JackServer, VirtualPedal, wait_until
from tests.devices.test_midi_input import Heard, native_threads, open_files


def listen(heard: Heard) -> InputHub:
    return InputHub(heard.edges.append, heard.statuses.append)


def said(heard: Heard) -> list[tuple[InputChange, str]]:
    return [(status.change, status.device) for status in heard.statuses]


def press_until_heard(pedal: VirtualPedal, heard: Heard, device: str) -> bool:
    """Press again if need be: a JACK server that does not wait for late clients may lose one."""
    before = len(heard.edges)

    def arrived() -> bool:
        return any(edge.device == device and edge.down for edge in heard.edges[before:])

    for _ in range(5):
        pedal.press()
        if wait_until(arrived, within_s=1):
            return True
        pedal.release()
    return False


def clients(server: JackServer) -> set[str]:
    listed = subprocess.run(["jack_lsp", "-s", server.name], capture_output=True, text=True, check=True)
    return {line.partition(":")[0] for line in listed.stdout.splitlines()}


def test_an_expression_pedal_on_a_real_port_scrolls(steady_jack: JackServer) -> None:
    heard, slides = Heard(), list[Slid]()
    with (
        VirtualPedal(steady_jack.environment, "board") as board,
        InputHub(heard.edges.append, heard.statuses.append, on_slide=slides.append),
    ):
        for value in (0, 64, 127):
            board.send(f"b0 0b {value:02x}")
        assert wait_until(lambda: len(slides) == 3)
    assert [slid.place for slid in slides] == [0.0, 64 / 127, 1.0]
    assert heard.edges == []


def test_two_pedals_are_live_at_once_and_each_press_names_its_own(steady_jack: JackServer) -> None:
    heard = Heard()
    with (
        VirtualPedal(steady_jack.environment, "left") as left,
        VirtualPedal(steady_jack.environment, "right") as right,
        listen(heard) as hub,
    ):
        assert hub.devices == ("left:out", "right:out")
        right.press()
        assert heard.waits_for_edges(1)
        left.press()
        assert heard.waits_for_edges(2)
    assert [edge.device for edge in heard.edges] == ["right:out", "left:out"]


def test_pulling_one_of_two_pedals_loses_that_one_only(jack: JackServer, virtual_pedal: VirtualPedal) -> None:
    heard = Heard()
    with VirtualPedal(jack.environment, "other") as other, listen(heard) as hub:
        other.kill()
        assert heard.waits_for(InputChange.LOST)
        assert hub.devices == (virtual_pedal.name,)
        assert press_until_heard(virtual_pedal, heard, virtual_pedal.name)
        other.start()
        assert heard.waits_for(InputChange.BACK, within_s=2)
        assert press_until_heard(other, heard, "other:out")
    assert said(heard)[2:] == [(InputChange.LOST, "other:out"), (InputChange.BACK, "other:out")]


def test_two_alike_pedals_have_two_names_and_keep_them(jack: JackServer) -> None:
    heard = Heard()
    with (
        VirtualPedal(jack.environment, "twin") as first,
        VirtualPedal(jack.environment, "twin") as second,
        listen(heard) as hub,
    ):
        assert hub.devices == ("twin:out", "twin:out (2)")
        assert press_until_heard(second, heard, "twin:out (2)")
        second.kill()
        assert heard.waits_for(InputChange.LOST)
        assert hub.devices == ("twin:out",)
        second.start()
        assert heard.waits_for(InputChange.BACK, within_s=2)
        assert press_until_heard(second, heard, "twin:out (2)")
        first.kill()
        assert heard.waits_for(InputChange.LOST, 2)
        assert said(heard)[-1] == (InputChange.LOST, "twin:out")


def test_the_one_wanted_is_alone_and_a_twin_does_not_step_in_for_it(jack: JackServer) -> None:
    heard = Heard()
    with (
        VirtualPedal(jack.environment, "twin") as first,
        VirtualPedal(jack.environment, "twin") as second,
        InputHub(heard.edges.append, heard.statuses.append, wanted="twin") as hub,
    ):
        assert hub.devices == ("twin:out",)
        first.kill()
        assert heard.waits_for(InputChange.LOST)
        second.press()
        assert not wait_until(lambda: bool(hub.devices), within_s=0.5)
        first.start()
        assert heard.waits_for(InputChange.BACK, within_s=2)
    assert heard.edges == []


def test_the_monitor_hears_every_message_with_its_device_and_time(steady_pedal: VirtualPedal) -> None:
    raw: list[tuple[Any, float, str]] = []
    heard = Heard()

    def hear(message: Any, t_s: float, device: str) -> None:
        raw.append((message, t_s, device))

    sent = ["f8", "fe", "fa", "e0 00 40", "b0 40 7f", "c0 05", "f0 7d 01 f7", "b0 40 00"]
    with InputHub(heard.edges.append, heard.statuses.append, hear):
        started_s = time.perf_counter()
        steady_pedal.send(*sent)
        assert wait_until(lambda: len(raw) == len(sent))
    assert [bytes(message.bytes()) for message, _, _ in raw] == [bytes.fromhex(word) for word in sent]
    times = [t_s for _, t_s, _ in raw]
    assert started_s <= times[0]
    assert times == sorted(times)
    assert {device for _, _, device in raw} == {steady_pedal.name}


def test_switches_taught_in_mid_session_count_from_the_next_message_on(steady_pedal: VirtualPedal) -> None:
    rules = Bindings((Binding("*", "*", {}),))
    taught = Bindings((Binding("*", "controller 80 on channel 1", {GestureKind.TAP: Control.PASS_}),))
    edges: list[BoundEdge] = []
    raw: list[Any] = []
    with InputHub(
        edges.append,
        lambda status: None,
        lambda message, t_s, device: raw.append(message),
        rule_of=lambda device, switch: rules.find(device, switch),
    ):
        steady_pedal.send("b0 50 7f", "b0 50 00")
        assert wait_until(lambda: len(raw) == 2)
        assert edges == []
        rules = taught
        steady_pedal.send("b0 50 7f", "b0 50 00")
        assert wait_until(lambda: len(edges) == 2)


def test_a_monitor_can_look_in_and_go_again_and_no_port_is_closed_for_it(steady_pedal: VirtualPedal) -> None:
    heard = Heard()
    raw: list[str] = []
    with listen(heard) as hub:
        steady_pedal.send("f8", "b0 40 7f")
        assert heard.waits_for_edges(1)
        hub.watch(lambda message, t_s, device: raw.append(message.type))
        steady_pedal.send("f8", "b0 40 00")
        assert heard.waits_for_edges(2)
        hub.watch(None)
        steady_pedal.send("f8", "b0 40 7f")
        assert heard.waits_for_edges(3)
    assert raw == ["clock", "control_change"]
    assert heard.changes() == [InputChange.FOUND]


def test_nothing_but_what_can_move_a_switch_is_looked_at() -> None:
    """Status bytes by the MIDI 1.0 specification, tables I, V and VI."""
    statuses = moving_statuses()
    assert {0x80, 0x90, 0xB0, 0xC0, 0xFA, 0xFC} <= statuses
    assert statuses.isdisjoint({0xF1, 0xF8, 0xFE, 0xFF})


def test_opening_and_closing_leaves_no_thread_file_or_client(steady_jack: JackServer) -> None:
    with VirtualPedal(steady_jack.environment, "left"), VirtualPedal(steady_jack.environment, "right"):
        with listen(Heard()):
            pass
        before = threading.active_count(), open_files(), native_threads(), clients(steady_jack)
        for _ in range(5):
            with listen(Heard()) as hub:
                assert len(hub.devices) == 2
        assert (threading.active_count(), open_files(), native_threads(), clients(steady_jack)) == before


def test_a_midi_server_that_dies_loses_the_pedal_and_gives_it_back_when_it_is_back(
    mortal_server: JackServer,
) -> None:
    heard = Heard()
    with VirtualPedal(mortal_server.environment, "foot") as pedal, listen(heard) as hub:
        threads, files = native_threads(), open_files()
        for time_ in (1, 2):
            mortal_server.kill()
            assert heard.waits_for(InputChange.LOST, time_)
            assert hub.devices == ()
            pedal.kill()
            mortal_server.revive()
            pedal.start()
            assert heard.waits_for(InputChange.BACK, time_)
            assert press_until_heard(pedal, heard, "foot:out")
        assert (native_threads(), open_files()) == (threads, files)
    assert [change for change, _ in said(heard)] == [
        InputChange.FOUND,
        *(InputChange.LOST, InputChange.BACK) * 2,
    ]


def test_the_output_of_a_device_is_found_by_its_name() -> None:
    """Forms of names as RtMidi and the JACK bridge build them (their sources, from memory)."""
    outputs = ["Midi Through:Midi Through Port-0 14:0", "Foot:Foot MIDI 1 20:0", "Foot:Foot MIDI 2 20:1"]
    assert output_of("Foot:Foot MIDI 2", outputs, "LINUX_ALSA") == "Foot:Foot MIDI 2 20:1"
    bridged = ["system:midi_playback_1", "a2j:Foot [20] (playback): MIDI 1"]
    assert output_of("a2j:Foot (capture): MIDI 1", bridged, "UNIX_JACK") == bridged[1]
    assert output_of("system:midi_capture_1", bridged, "UNIX_JACK") == bridged[0]
    assert output_of("Board", ["Foot 1", "Board 2"], "WINDOWS_MM") == "Board 2"
    assert output_of("Harmonium", bridged, "UNIX_JACK") is None
