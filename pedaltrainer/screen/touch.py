"""What a pointer or a finger is on: a row of a menu, or a hint. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.screen.fit import hint_cap, hint_places, menu_rows, rows_in_sight
from pedaltrainer.screen.layout import Layout
from pedaltrainer.screen.view import MenuView, PlayView, Scene, StageView


@dataclass(frozen=True, slots=True)
class Touch:
    """row: which row of a menu. says: the control that a hint stands for."""

    row: int | None = None
    says: str = ""


def touched(view: StageView, layout: Layout, upright: bool, at: tuple[int, int]) -> Touch | None:
    """What lies at a place of the stage, in px; None where nothing can be chosen."""
    x, y = at
    for name in ("body", "hints"):
        zone = layout.zones.get(name)
        if zone is None or not (zone.x <= x < zone.x + zone.w and zone.y <= y < zone.y + zone.h):
            continue
        if name == "body" and isinstance(view, MenuView) and view.choices:
            rows = menu_rows(view.choices, zone._replace(x=0, y=0), layout.sizes)
            first, top = rows_in_sight(rows, len(view.choices), view.chosen, zone.h)
            row = first + int((y - zone.y - top) // rows.pitch)
            if y >= zone.y + top and first <= row < first + rows.seen:
                return Touch(row=row)
        if name == "hints" and view.hints:
            return Touch(says=view.hints[_hint(view, layout, upright, x - zone.x, y - zone.y)].says)
    return None


def _hint(view: StageView, layout: Layout, upright: bool, x: float, y: float) -> int:
    """The hint nearest to a place in their zone: at a question and on an upright screen they lie in rows."""
    zone, hints = layout.zones["hints"], view.hints
    if upright or (isinstance(view, PlayView) and view.scene is Scene.ASKING):
        return min(int(y * len(hints) / zone.h), len(hints) - 1)
    _, places = hint_places(hints, hint_cap(view, zone, layout.sizes, upright), zone.w)
    return min(range(len(hints)), key=lambda one: abs(x - places[one][0] - places[one][1] / 2))
