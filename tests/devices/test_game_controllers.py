"""Game controllers through SDL itself: its virtual joystick is plugged in, pressed and pulled out.

SDL's virtual joystick (SDL_JoystickAttachVirtual, SDL 2.0.14) goes the whole
way of a real one from SDL's driver interface up. The kernel's part and USB
itself need /dev/uinput and are not played here.
"""

from __future__ import annotations

import ctypes
import time
from collections.abc import Iterator
from types import SimpleNamespace

import pytest

pygame = pytest.importorskip("pygame")

from hypothesis import given  # noqa: E402
from hypothesis import strategies as st  # noqa: E402

from pedaltrainer.pedals.bindings import default_bindings  # noqa: E402
from pedaltrainer.pedals.contacts import Contacts  # noqa: E402
from pedaltrainer.pedals.events import Control, ControlGiven, InputChange, InputStatus, SwitchEdge  # noqa: E402
from pedaltrainer.pedals.game_controllers import (  # noqa: E402
    ControllerState,
    GameControllers,
    Happening,
)
from pedaltrainer.pedals.recogniser import Recogniser  # noqa: E402

NAME = "Virtual Controller"
"""What SDL calls every virtual joystick."""
AXES, BUTTONS, HATS = 3, 8, 2
SDL_GAMECONTROLLER_TYPE = 1
FULL = 32767
HAT_CENTRE, HAT_UP, HAT_RIGHT, HAT_DOWN, HAT_LEFT = 0, 1, 2, 4, 8


class VirtualController:
    """One of SDL's virtual joysticks, by way of the SDL library that pygame itself has loaded."""

    def __init__(self, sdl: ctypes.CDLL) -> None:
        self._sdl = sdl
        self.index = sdl.SDL_JoystickAttachVirtual(SDL_GAMECONTROLLER_TYPE, AXES, BUTTONS, HATS)
        assert self.index >= 0
        self.instance = sdl.SDL_JoystickGetDeviceInstanceID(self.index)

    @property
    def _handle(self) -> ctypes.c_void_p:
        return ctypes.c_void_p(self._sdl.SDL_JoystickFromInstanceID(self.instance))

    def button(self, number: int, down: bool) -> None:
        assert self._sdl.SDL_JoystickSetVirtualButton(self._handle, number, int(down)) == 0

    def hat(self, number: int, value: int) -> None:
        assert self._sdl.SDL_JoystickSetVirtualHat(self._handle, number, value) == 0

    def axis(self, number: int, value: int) -> None:
        assert self._sdl.SDL_JoystickSetVirtualAxis(self._handle, number, value) == 0

    def pull_out(self) -> None:
        places = [
            index
            for index in range(self._sdl.SDL_NumJoysticks())
            if self._sdl.SDL_JoystickGetDeviceInstanceID(index) == self.instance
        ]
        if places:
            self._sdl.SDL_JoystickDetachVirtual(places[0])


class Bench:
    """The controllers of the program, and virtual ones to plug in."""

    def __init__(self, sdl: ctypes.CDLL) -> None:
        self._sdl = sdl
        self.controllers = GameControllers()
        self.plugged: list[VirtualController] = []

    def plug_in(self) -> VirtualController:
        controller = VirtualController(self._sdl)
        self.plugged.append(controller)
        return controller

    def happened(self) -> list[Happening]:
        """What pygame's queue makes happen, the window's loop being run twice."""
        happened: list[Happening] = []
        for _ in range(2):
            for event in pygame.event.get():
                happened += self.controllers.step(event, time.perf_counter())
        return happened

    def edges(self) -> list[tuple[str, bool]]:
        return [(it.switch, it.down) for it in self.happened() if isinstance(it, SwitchEdge)]

    def changes(self) -> list[tuple[InputChange, str]]:
        return [(it.change, it.device) for it in self.happened() if isinstance(it, InputStatus)]


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    sdl = ctypes.CDLL(pygame.joystick.__file__)
    if not hasattr(sdl, "SDL_JoystickAttachVirtual"):
        pytest.skip("this SDL has no virtual joystick")
    sdl.SDL_JoystickFromInstanceID.restype = ctypes.c_void_p
    pygame.display.init()
    laid_out = Bench(sdl)
    try:
        yield laid_out
    finally:
        for controller in laid_out.plugged:
            controller.pull_out()
        laid_out.controllers.close()
        pygame.display.quit()


def test_a_button_goes_down_and_up_under_its_number_counted_from_one(bench: Bench) -> None:
    pad = bench.plug_in()
    assert bench.changes() == [(InputChange.FOUND, NAME)]
    pad.button(2, True)
    assert bench.edges() == [("button 3", True)]
    pad.button(2, False)
    assert bench.edges() == [("button 3", False)]


def test_a_hat_is_four_switches_and_a_roll_over_it_lets_go_first(bench: Bench) -> None:
    pad = bench.plug_in()
    bench.happened()
    pad.hat(0, HAT_UP)
    assert bench.edges() == [("hat up", True)]
    pad.hat(0, HAT_RIGHT)
    assert bench.edges() == [("hat up", False), ("hat right", True)]
    pad.hat(0, HAT_CENTRE)
    assert bench.edges() == [("hat right", False)]
    pad.hat(1, HAT_DOWN | HAT_LEFT)
    assert sorted(bench.edges()) == [("hat 2 down", True), ("hat 2 left", True)]


def test_an_axis_that_trembles_at_its_threshold_is_pressed_once(bench: Bench) -> None:
    pad = bench.plug_in()
    bench.happened()
    heard = []
    for part in (0.1, 0.3, 0.49, 0.51, 0.45, 0.55, 0.35, 0.5, 0.29, 0.4, 0.0):
        pad.axis(1, round(part * FULL))
        heard += bench.edges()
    assert heard == [("axis 2", True), ("axis 2", False)]


def test_two_alike_controllers_are_told_apart_and_come_back_under_their_names(bench: Bench) -> None:
    first, second = bench.plug_in(), bench.plug_in()
    assert bench.changes() == [(InputChange.FOUND, NAME), (InputChange.FOUND, f"{NAME} (2)")]
    second.button(0, True)
    (edge,) = bench.happened()
    assert isinstance(edge, SwitchEdge)
    assert edge.device == f"{NAME} (2)"
    first.pull_out()
    assert bench.changes() == [(InputChange.LOST, NAME)]
    again = bench.plug_in()
    assert bench.changes() == [(InputChange.BACK, NAME)]
    again.button(0, True)
    assert [(it.device, it.down) for it in bench.happened() if isinstance(it, SwitchEdge)] == [(NAME, True)]


def test_a_controller_pulled_out_with_a_button_held_can_be_pressed_again(bench: Bench) -> None:
    pad = bench.plug_in()
    bench.happened()
    pad.button(0, True)
    bench.happened()
    pad.pull_out()
    assert (InputChange.LOST, NAME) in bench.changes()
    pad = bench.plug_in()
    bench.happened()
    pad.button(0, True)
    assert bench.edges() == [("button 1", True)]


def test_forty_replugs_are_all_seen(bench: Bench) -> None:
    bench.plug_in()
    bench.happened()
    for _ in range(40):
        bench.plugged[-1].pull_out()
        assert bench.changes() == [(InputChange.LOST, NAME)]
        bench.plug_in()
        assert bench.changes() == [(InputChange.BACK, NAME)]


def test_one_button_of_an_untaught_controller_passes_fails_and_goes_on(bench: Bench) -> None:
    pad = bench.plug_in()
    bench.happened()
    heard: list[SwitchEdge] = []
    for wait_s, down in ((0, True), (0.05, False), (0.6, True), (0.05, False), (0.1, True), (0.05, False)):
        time.sleep(wait_s)
        pad.button(0, down)
        heard += [it for it in bench.happened() if isinstance(it, SwitchEdge)]
    contacts, recogniser, given = Contacts(default_bindings().find), Recogniser(), []
    for edge in heard:
        contacts, bound = contacts.move(edge)
        for one in bound:
            recogniser, outputs = recogniser.feed(one)
            given += outputs
    given += recogniser.tick(heard[-1].t_s + 10)[1]
    controls = [it.control for it in given if isinstance(it, ControlGiven)]
    assert controls == [Control.PASS_, Control.FAIL]


def test_an_axis_that_rests_at_its_end_is_measured_from_there() -> None:
    state, _ = ControllerState().came(1, "Pedals", 0.0)
    heard = []
    for value in (-1.0, -1.0, -0.5, 0.2, 1.0, -0.2, -0.9):
        event = SimpleNamespace(type=pygame.JOYAXISMOTION, instance_id=1, axis=0, value=value)
        state, edges = state.step(event, 1.0)
        heard += [(value, edge.down) for edge in edges]
    assert heard == [(0.2, True), (-0.9, False)]


moves = st.one_of(
    st.tuples(st.just("button"), st.integers(0, 2), st.booleans()),
    st.tuples(st.just("axis"), st.integers(0, 1), st.floats(-1, 1)),
    st.tuples(st.just("hat"), st.integers(0, 1), st.tuples(st.integers(-1, 1), st.integers(-1, 1))),
)


@given(st.lists(moves, max_size=40))
def test_whatever_moves_each_switch_goes_down_and_up_in_turn_and_none_is_left_stuck(moved: list) -> None:
    state, _ = ControllerState().came(1, "Pad", 0.0)
    levels: dict[str, bool] = {}

    def take(kind: str, number: int, value: object) -> None:
        nonlocal state
        event = {
            "button": lambda: SimpleNamespace(
                type=pygame.JOYBUTTONDOWN if value else pygame.JOYBUTTONUP, instance_id=1, button=number
            ),
            "axis": lambda: SimpleNamespace(
                type=pygame.JOYAXISMOTION, instance_id=1, axis=number, value=value
            ),
            "hat": lambda: SimpleNamespace(type=pygame.JOYHATMOTION, instance_id=1, hat=number, value=value),
        }[kind]()
        state, edges = state.step(event, 1.0)
        for edge in edges:
            assert levels.get(edge.switch, False) != edge.down
            levels[edge.switch] = edge.down

    for axis in range(2):
        take("axis", axis, 0.0)
    for move in moved:
        take(*move)
    for number in range(3):
        take("button", number, False)
    for number in range(2):
        take("axis", number, 0.0)
        take("hat", number, (0, 0))
    assert not any(levels.values())
    assert not state.held
