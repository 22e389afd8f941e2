"""The pedalboard with the keys alone: they become edges with their rules, or what a lesson looks at."""

from __future__ import annotations

from pathlib import Path

import pygame
import pytest

from pedaltrainer.pedals.bindings import KEYBOARD, BoundEdge
from pedaltrainer.pedals.events import Control, GestureKind, InputStatus
from pedaltrainer.pedals.kinds import SwitchKind
from pedaltrainer.pedals.midi.messages import Observation
from pedaltrainer.pedals.pedalboard import SHOWN_FOR_S, Pedalboard
from pedaltrainer.pedals.taught.files import own_path, read_binding
from tests.pedals.test_binding_files import CONFIGS

SPACE_PAUSES = 'device = "keyboard"\n[[switch]]\nname = "key space"\ntap = "pause"\n'


class Board:
    """A pedalboard and what it put into the queue."""

    def __init__(self, folder: Path) -> None:
        self.put: list[BoundEdge | InputStatus | Observation] = []
        self.pedals = Pedalboard(self.put.append, folder, CONFIGS)

    def key(self, key: int, t_s: float, kind: int = pygame.KEYDOWN) -> None:
        self.pedals.window_event(pygame.event.Event(kind, key=key), t_s)

    def tap(self, key: int, t_s: float, lasts_s: float = 0.1) -> None:
        self.key(key, t_s)
        self.key(key, t_s + lasts_s, pygame.KEYUP)


@pytest.fixture
def board(tmp_path: Path) -> Board:
    return Board(tmp_path)


def write_binding(folder: Path, text: str) -> None:
    (folder / "pedals").mkdir(exist_ok=True)
    (folder / "pedals" / "mine.toml").write_text(text, encoding="utf-8")


def test_a_key_goes_into_the_queue_with_its_rule(board: Board) -> None:
    board.tap(pygame.K_SPACE, 1.0)
    down, up = board.put
    assert isinstance(down, BoundEdge)
    assert (down.t_s, down.device, down.switch, down.down) == (1.0, KEYBOARD, "key space", True)
    assert down.rule is board.pedals.bindings.find(KEYBOARD, "key space")
    assert isinstance(up, BoundEdge)
    assert not up.down


def test_an_edge_keeps_the_rule_it_came_with_and_the_next_has_the_new_one(
    board: Board, tmp_path: Path
) -> None:
    board.tap(pygame.K_SPACE, 1.0)
    write_binding(tmp_path, SPACE_PAUSES)
    assert board.pedals.read_bindings() == (True, None)
    board.tap(pygame.K_SPACE, 2.0)
    taps = [edge.rule.controls[GestureKind.TAP] for edge in board.put if isinstance(edge, BoundEdge)]
    assert taps == [Control.PASS_] * 2 + [Control.PAUSE] * 2


def test_files_that_say_the_same_change_nothing(board: Board, tmp_path: Path) -> None:
    write_binding(tmp_path, SPACE_PAUSES)
    assert board.pedals.read_bindings() == (True, None)
    rules = board.pedals.bindings
    assert board.pedals.read_bindings() == (False, None)
    assert board.pedals.bindings is rules


def test_a_file_that_is_amiss_is_named_and_leaves_the_old_rules_standing(
    board: Board, tmp_path: Path
) -> None:
    write_binding(tmp_path, SPACE_PAUSES)
    board.pedals.read_bindings()
    rules = board.pedals.bindings
    write_binding(tmp_path, "device = ")
    changed, trouble = board.pedals.read_bindings()
    assert not changed
    assert trouble is not None
    assert "mine.toml, line 1" in trouble
    assert board.pedals.bindings is rules


def test_in_a_lesson_a_key_is_something_to_look_at_but_for_those_that_leave_it(board: Board) -> None:
    board.pedals.start_teaching()
    board.key(pygame.K_SPACE, 1.0)
    board.key(pygame.K_ESCAPE, 2.0)
    looked_at, leaves = board.put
    assert looked_at == Observation(1.0, KEYBOARD, "key space", 127)
    assert isinstance(leaves, BoundEdge)
    assert leaves.rule.controls[GestureKind.TAP] is Control.QUIT
    board.pedals.stop_teaching()
    board.key(pygame.K_SPACE, 3.0, pygame.KEYUP)
    assert len(board.put) == 2, "what was pressed in the lesson is no press of the session"
    board.key(pygame.K_SPACE, 4.0)
    assert isinstance(board.put[2], BoundEdge)


PEDAL = "controller 64 on channel 1"


def first_lesson(board: Board, device: str, switch: str, down: int = 127, up: int = 0) -> str:
    """A first lesson in which a switch is pressed as it asks; its words."""
    pedals, now_s, presses = board.pedals, 0.0, 0
    pedals.start_teaching(first=True)
    said: str | None = None
    while said is None:
        now_s += 0.05
        said = pedals.teach_until(now_s)
        if presses < 3 and round(now_s / 0.05) % 60 == 0:
            lasts_s = 0.9 if presses == 1 else 0.12
            presses += 1
            pedals.teach(Observation(now_s, device, switch, down))
            pedals.teach(Observation(now_s + lasts_s, device, switch, up))
        assert now_s < 60, pedals.lesson
    return said


@pytest.mark.parametrize(("device", "switch"), [("Board", PEDAL), (KEYBOARD, "key space")])
def test_a_first_lesson_writes_nothing_where_the_usual_rule_fits(
    board: Board, tmp_path: Path, device: str, switch: str
) -> None:
    assert first_lesson(board, device, switch) == "The pedal is known"
    assert list(tmp_path.iterdir()) == []


def test_a_first_lesson_keeps_what_is_unusual_of_a_pedal(board: Board, tmp_path: Path) -> None:
    assert first_lesson(board, "Board", PEDAL, down=0, up=127) == "The pedal is known"
    (row,) = read_binding(own_path(tmp_path, "Board")).switches
    assert (row.profile.kind, row.controls[GestureKind.HOLD]) == (SwitchKind.REVERSED, Control.PAUSE)


def test_a_first_lesson_leaves_a_pedal_that_was_taught_before_as_it_is(board: Board, tmp_path: Path) -> None:
    taught = SPACE_PAUSES.replace("keyboard", "Board").replace("key space", PEDAL)
    write_binding(tmp_path, taught)
    board.pedals.read_bindings()
    assert first_lesson(board, "Board", PEDAL, down=0, up=127) == "The pedal is known"
    assert [path.name for path in (tmp_path / "pedals").iterdir()] == ["mine.toml"]


def test_a_lesson_on_a_key_ends_with_its_file_and_then_its_words(board: Board, tmp_path: Path) -> None:
    pedals, now_s = board.pedals, 0.0
    pedals.start_teaching()
    said: str | None = None
    presses = 0
    while said is None:
        now_s += 0.05
        said = pedals.teach_until(now_s)
        if presses < 5 and round(now_s / 0.05) % 60 == 0:
            # A foot's presses: a short one, a long one, one to confirm, then once more for "no other switch".
            board.tap(pygame.K_SPACE, now_s, 0.9 if presses % 2 else 0.12)
            presses += 1
            for seen in board.put:
                assert isinstance(seen, Observation)
                pedals.teach(seen)
            board.put.clear()
        assert now_s < 300, pedals.lesson
    assert pedals.lesson is not None
    assert said == pedals.lesson.title
    row = read_binding(own_path(tmp_path, KEYBOARD)).switches[0]
    assert (row.name, row.controls[GestureKind.TAP]) == ("key space", Control.PASS_)
    assert pedals.teach_until(now_s + SHOWN_FOR_S) == said
