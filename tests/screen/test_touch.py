"""A pointer or a finger on the stage: what it is on is what is drawn there."""

from __future__ import annotations

import pytest

from pedaltrainer.screen.touch import Touch, touched
from pedaltrainer.screen.view import HintView, MenuView, PageView, Sight
from pedaltrainer.screen.window import layout_of, render

SIZES = ((1366, 768), (1920, 1080), (768, 1366))
HINTS = (HintView("tap", "move", "pass"), HintView("hold", "choose", "pause"))


def menu(rows: int, chosen: int = 0) -> MenuView:
    return MenuView("What now?", tuple(f"Row {row}" for row in range(rows)), chosen, HINTS)


def at(view, size, x, y):
    return touched(view, layout_of(view, size, Sight()), size[1] > size[0], (round(x), round(y)))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("rows", "chosen"), [(1, 0), (3, 2), (7, 3), (20, 0), (20, 11), (20, 19)])
def test_a_row_is_where_it_is_drawn(size, rows, chosen):
    view = menu(rows, chosen)
    zone = layout_of(view, size, Sight()).zones["body"]
    found = [at(view, size, zone.x + zone.w / 2, y) for y in range(zone.y, zone.y + zone.h)]
    seen = [touch.row for touch in found if touch is not None]
    assert seen == sorted(seen)
    assert chosen in seen
    assert set(seen) == set(range(min(seen), max(seen) + 1))
    # The marked row is the one whose picture changes when the mark goes: its plank lies within its own place.
    import numpy as np
    import pygame

    moved = menu(rows, (chosen + 1) % rows) if rows > 1 else None
    if moved is None or rows == 20:
        return
    one, other = (pygame.surfarray.array3d(render(each, size)).swapaxes(0, 1) for each in (view, moved))
    changed = np.flatnonzero((one != other).any(axis=(1, 2)))
    rows_changed = {
        touch.row for y in changed if (touch := at(view, size, zone.x + zone.w / 2, y)) is not None
    }
    assert {chosen, (chosen + 1) % rows} <= rows_changed


@pytest.mark.parametrize("size", SIZES)
def test_a_hint_says_its_control_and_each_can_be_reached(size):
    view = menu(3)
    zone = layout_of(view, size, Sight()).zones["hints"]
    found = {at(view, size, x, zone.y + zone.h / 2) for x in range(zone.x, zone.x + zone.w)}
    found |= {at(view, size, zone.x + zone.w / 2, y) for y in range(zone.y, zone.y + zone.h)}
    assert found == {Touch(says="pass"), Touch(says="pause")}


def test_where_nothing_can_be_chosen_nothing_is_touched():
    page = PageView("That is all", ("A line",), ())
    size = SIZES[0]
    assert {at(page, size, x, y) for x in range(0, size[0], 40) for y in range(0, size[1], 40)} == {None}
    assert at(menu(3), size, 5, 5) is None
