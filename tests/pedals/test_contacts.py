"""From what a switch says to what the foot on it does, with the rule that says what it means."""

from __future__ import annotations

from pedaltrainer.pedals.bindings import Binding, Bindings, BoundEdge, default_bindings
from pedaltrainer.pedals.contacts import Contacts
from pedaltrainer.pedals.events import Control, GestureKind, SwitchEdge
from pedaltrainer.pedals.kinds import SwitchKind, SwitchProfile

DAMPER = "controller 64 on channel 1"
TAP_PASSES = {GestureKind.TAP: Control.PASS_}


def of_kind(kind: SwitchKind, device: str = "*") -> Binding:
    return Binding(device, "*", TAP_PASSES, profile=SwitchProfile(kind))


def moves(contacts: Contacts, *levels: bool, device: str = "pad") -> list[bool]:
    """What the foot does as button 1 reports these levels."""
    found = []
    for position, down in enumerate(levels):
        contacts, edges = contacts.move(SwitchEdge(float(position), device, "button 1", down))
        found += [edge.down for edge in edges]
    return found


def test_a_box_that_poses_as_a_game_controller_is_turned_round_too() -> None:
    def of(kind: SwitchKind, *levels: bool) -> list[bool]:
        return moves(Contacts(Bindings((of_kind(kind),)).find), *levels)

    assert of(SwitchKind.MOMENTARY, True, False) == [True, False]
    assert of(SwitchKind.REVERSED, True, False, True) == [True, False]
    assert of(SwitchKind.LATCHING, True, False) == [True, False, True, False]
    assert of(SwitchKind.PRESS_ONLY, True, False, True) == [True, False, True, False]


def test_an_edge_carries_the_rule_of_its_switch() -> None:
    first, second = Binding("one", "*", TAP_PASSES), Binding("two", "*", TAP_PASSES, judge="key")
    contacts = Contacts(Bindings((first, second)).find)
    _, found = contacts.move(SwitchEdge(1.0, "two", "button 1", True))
    assert found == (BoundEdge(1.0, "two", "button 1", True, second),)


def test_a_switch_without_a_control_makes_no_edge() -> None:
    contacts = Contacts(default_bindings().find)
    assert contacts.move(SwitchEdge(1.0, "keyboard", "key f5", True)) == (contacts, ())
    assert contacts.hear(1.0, "board", "pitch wheel on channel 1", 127) == (contacts, ())


def test_an_edge_asks_for_its_rule_once() -> None:
    asked: list[tuple[str, str]] = []

    def rule_of(device: str, switch: str) -> Binding | None:
        asked.append((device, switch))
        return default_bindings().find(device, switch)

    contacts, _ = Contacts(rule_of).hear(1.0, "pedal", DAMPER, 127)
    contacts.hear(1.1, "pedal", DAMPER, 0)
    assert asked == [("pedal", DAMPER)] * 2


def test_a_controller_that_comes_back_after_its_way_up_was_lost_presses_at_once() -> None:
    contacts = Contacts(default_bindings().find)
    assert moves(contacts, True, True, False) == [True, False, True, False]


def test_a_switch_taught_anew_begins_anew() -> None:
    """Held down by the old rule; by the new one that value is its rest, and the next is a press."""
    rules = [of_kind(SwitchKind.MOMENTARY)]
    contacts, (edge,) = Contacts(lambda device, switch: rules[-1]).hear(1.0, "box", DAMPER, 127)
    assert edge.down
    rules.append(of_kind(SwitchKind.LATCHING))
    contacts, edges = contacts.hear(2.0, "box", DAMPER, 127)
    assert [(edge.down, edge.rule) for edge in edges] == [(True, rules[1]), (False, rules[1])]
    _, edges = contacts.hear(3.0, "box", DAMPER, 127)
    assert edges == ()


def test_what_one_device_lets_go_another_still_holds() -> None:
    contacts = Contacts(default_bindings().find)
    for device in ("left", "right"):
        contacts, _ = contacts.hear(1.0, device, DAMPER, 127)
    contacts, edges = contacts.let_go(2.0, "left", "controller * on channel 1")
    assert [(edge.device, edge.down) for edge in edges] == [("left", False)]
    assert contacts.let_go(3.0, "left", "controller * on channel 1") == (contacts, ())
    assert len(contacts.let_go(3.0, "right", "controller * on channel 1")[1]) == 1
