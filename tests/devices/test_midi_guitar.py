"""A MIDI guitar on a real port: it is no pedal, it comes and goes, and a session hears its takes."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

from pedaltrainer.pedals.events import InputChange
from pedaltrainer.pedals.midi.guitar_port import GuitarPort
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.timing.guitar import Guitar
from tests.devices.jack import JackServer, VirtualPedal, wait_until
from tests.devices.test_hub import press_until_heard, said
from tests.devices.test_midi_input import Heard

STRUM = ("90 28 50", "91 2d 50", "92 32 50", "80 28 00", "b0 40 7f")
"""Three strings, the end of one, and what would be a press of a pedal."""


@contextmanager
def foot_and_guitar(
    server: JackServer, part: str
) -> Iterator[tuple[VirtualPedal, VirtualPedal, InputHub, Heard, Guitar]]:
    """A pedal "foot" and a guitar "six" on real ports, and a hub that knows the guitar by its name."""
    heard, guitar = Heard(), Guitar()
    with (
        VirtualPedal(server.environment, "foot") as foot,
        VirtualPedal(server.environment, "six") as six,
        InputHub(heard.edges.append, heard.statuses.append, guitar=GuitarPort(part, guitar)) as hub,
    ):
        yield foot, six, hub, heard, guitar


def test_its_notes_are_the_ears_and_move_nothing_while_a_pedal_beside_it_does(
    steady_jack: JackServer,
) -> None:
    with foot_and_guitar(steady_jack, "SIX") as (foot, six, hub, heard, guitar):
        assert (hub.devices, hub.inputs) == (("foot:out",), ("foot:out", "six:out"))
        began_s = time.perf_counter()
        sent_s = six.send(*STRUM)
        assert wait_until(lambda: len(guitar.pitches) == 3)
        foot.press()
        assert heard.waits_for_edges(1)
        came = guitar.between(began_s, time.perf_counter())
    assert [edge.device for edge in heard.edges] == ["foot:out"]
    assert came is not None
    assert [(one.note, one.channel) for one in came] == [(40, 0), (45, 1), (50, 2)]
    assert all(began_s < one.t_s < sent_s + 0.1 for one in came)
    assert guitar.name == "six:out"


def test_the_input_that_was_named_as_the_pedal_stays_it(steady_jack: JackServer) -> None:
    heard, guitar = Heard(), Guitar()
    with (
        VirtualPedal(steady_jack.environment, "six foot"),
        InputHub(
            heard.edges.append, heard.statuses.append, wanted="foot", guitar=GuitarPort("six", guitar)
        ) as hub,
    ):
        assert hub.devices == ("six foot:out",)
    assert guitar.lost


def test_a_pedal_that_is_named_as_a_guitar_is_one_from_then_on_until_it_is_not(
    steady_jack: JackServer,
) -> None:
    heard, guitar = Heard(), Guitar()
    with (
        VirtualPedal(steady_jack.environment, "six") as six,
        InputHub(heard.edges.append, heard.statuses.append) as hub,
    ):
        six.send("90 28 50")
        assert heard.waits_for_edges(1)
        hub.give_up(GuitarPort("six", guitar))
        assert wait_until(lambda: not guitar.lost)
        # A port that was opened just now may miss what comes in the same cycle.
        assert wait_until(lambda: bool(six.send(*STRUM)) and len(guitar.pitches) == 3, step_s=0.1)
        assert len(heard.edges) == 1
        hub.give_up(None)
        assert wait_until(lambda: hub.devices == ("six:out",))
        assert guitar.lost
        assert press_until_heard(six, heard, "six:out")
    assert said(heard)[:2] == [(InputChange.FOUND, "six:out"), (InputChange.TO_THE_EAR, "six:out")]


def test_pulled_out_and_plugged_in_what_came_between_may_be_missed(jack: JackServer) -> None:
    with foot_and_guitar(jack, "six") as (foot, six, _, heard, guitar):
        began_s = time.perf_counter()
        six.kill()
        assert wait_until(lambda: guitar.lost)
        assert press_until_heard(foot, heard, "foot:out")
        six.start()
        assert wait_until(lambda: not guitar.lost)
        assert guitar.between(began_s, time.perf_counter()) is None
        begun_anew_s = time.perf_counter()
        # A server that does not wait for late clients may lose a note.
        assert wait_until(lambda: bool(six.send("90 28 50") and guitar.pitches), step_s=0.1)
        assert guitar.between(begun_anew_s, time.perf_counter())
    # The session is told of pedals alone.
    assert said(heard) == [(InputChange.FOUND, "foot:out")]


def test_a_flood_of_notes_keeps_no_press_back(steady_jack: JackServer) -> None:
    with foot_and_guitar(steady_jack, "six") as (foot, six, _, heard, guitar):
        began_s = time.perf_counter()
        for _ in range(10):
            six.send(*["90 28 50"] * 500)
        foot.press()
        assert heard.waits_for_edges(1)
        assert wait_until(lambda: len(guitar.between(began_s, time.perf_counter()) or ()) > 4000)
