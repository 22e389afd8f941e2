"""What the feet do and may say, for whoever has the stage: it outlives the session that it plays."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from pedaltrainer.pedals.bindings import KEYBOARD, Bindings, BoundEdge
from pedaltrainer.pedals.events import ControlGiven, InputChange, InputStatus
from pedaltrainer.pedals.recogniser import Output, Recogniser
from pedaltrainer.pedals.scrolling import Scroll
from pedaltrainer.pedals.ways import Said, said
from pedaltrainer.session.events import Given, InputBack, InputLost, Pressed

Heard = Callable[[float], float]
"""From the clock of presses to heard seconds."""


@dataclass(slots=True)
class Foot:
    """Presses, and the inputs that they come from, told as events. Not for use from two threads at once."""

    recogniser: Recogniser = field(default_factory=Recogniser)
    inputs: tuple[str, ...] = ()
    """The pedals that are live, in the order in which they came."""
    bindings: Bindings | None = None
    """The rules that hold now: they tell whether a pedal can choose from a list."""
    pressed_last: BoundEdge | None = None
    """The last press of a switch that can answer: its device and switch lead (`pedals.ways`)."""

    scroll: Scroll = field(default_factory=Scroll)
    """Where the pedal or knob that scrolls stands."""

    @property
    def due_s(self) -> float | None:
        """When a gesture is known, on the clock of presses."""
        return self.recogniser.due_s

    def edge(self, edge: BoundEdge, heard: Heard) -> Iterator[Pressed | Given]:
        """A switch went down or came up."""
        self.recogniser, outputs = self.recogniser.feed(edge)
        return self._told(outputs, heard)

    def tick(self, t_s: float, heard: Heard) -> Iterator[Pressed | Given]:
        """Time has come to t_s."""
        self.recogniser, outputs = self.recogniser.tick(t_s)
        return self._told(outputs, heard)

    def in_list(self, in_list: bool) -> None:
        """Whether the stage shows a list: there two quick taps are two taps."""
        if in_list is not self.recogniser.in_list:
            self.recogniser = replace(self.recogniser, in_list=in_list)

    def forget_presses(self) -> None:
        """The rules have changed: what is held down is known no more."""
        self.recogniser = Recogniser(in_list=self.recogniser.in_list)

    def input_changed(self, status: InputStatus, heard: Heard) -> InputLost | InputBack | None:
        """A pedal came, went or came back."""
        heard_s = heard(status.t_s)
        match status.change:
            case InputChange.FOUND:
                self.inputs = (*(name for name in self.inputs if name != status.device), status.device)
            case InputChange.LOST:
                self.recogniser = self.recogniser.forget(status.device)
                self.inputs = tuple(name for name in self.inputs if name != status.device)
                in_use = not self.inputs or self._device_pressed_last == status.device
                return InputLost(heard_s, status.device, in_use)
            case InputChange.BACK:
                self.inputs = (*self.inputs, status.device)
                return InputBack(heard_s, status.device)
            case InputChange.TO_THE_EAR:
                self.recogniser = self.recogniser.forget(status.device)
                self.inputs = tuple(name for name in self.inputs if name != status.device)
            case InputChange.NONE:
                pass
        return None

    @property
    def input_name(self) -> str:
        """What the stage calls the foot: the input pressed last, else the first one; empty for the keys."""
        if self._device_pressed_last in self.inputs:
            return self._device_pressed_last
        return self.inputs[0] if self.inputs else ""

    @property
    def said(self) -> Said | None:
        """What the foot on the stage can say: the pedal pressed last, else the first, else the space bar."""
        pressed = self.pressed_last
        if pressed is not None and pressed.device in (self.input_name, KEYBOARD):
            return said(self.bindings or Bindings((pressed.rule,)), pressed.device, pressed.switch)
        if self.bindings is None:
            return None
        device = self.input_name
        return said(self.bindings, device or KEYBOARD, "" if device else "key space")

    @property
    def _device_pressed_last(self) -> str:
        return self.pressed_last.device if self.pressed_last else ""

    def _told(self, outputs: tuple[Output, ...], heard: Heard) -> Iterator[Pressed | Given]:
        for output in outputs:
            match output:
                case BoundEdge():
                    yield self._pressed(output, heard)
                case ControlGiven():
                    yield Given(
                        heard_s=heard(output.t_s),
                        pressed_heard_s=heard(output.pressed_s),
                        pressed_s=output.pressed_s,
                        control=output.control,
                        judge=output.judge,
                    )

    def _pressed(self, edge: BoundEdge, heard: Heard) -> Pressed:
        if edge.rule.answers:
            self.pressed_last = edge
        return Pressed(
            heard_s=heard(edge.t_s),
            t_s=edge.t_s,
            judge=edge.rule.judge,
            answers=edge.rule.answers,
            known_within_s=edge.rule.known_within_s,
            dwells=not self._can_choose(edge),
        )

    def _can_choose(self, edge: BoundEdge) -> bool:
        return said(self.bindings or Bindings((edge.rule,)), edge.device, edge.switch).chooses
