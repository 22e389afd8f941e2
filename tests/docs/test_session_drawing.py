"""The drawing of the session's transitions is that of the table which the program obeys."""

from __future__ import annotations

import runpy
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

from pedaltrainer.session.causes import Action
from pedaltrainer.session.transitions import TABLE

SVG = "{http://www.w3.org/2000/svg}"
MAKER = Path(__file__).parents[2] / "docs" / "inside" / "make_session.py"


def test_the_drawing_is_current():
    maker = runpy.run_path(str(MAKER))
    kept = maker["PICTURE"].read_text(encoding="utf-8")
    assert kept == maker["drawn"](), f"run python docs/inside/{MAKER.name}"


def test_every_row_is_drawn_with_its_phases_and_where_it_leads():
    drawing = ElementTree.fromstring(runpy.run_path(str(MAKER))["drawn"]())
    drawn = Counter(
        (
            next(part.text for part in row.iter(f"{SVG}tspan") if part.get("font-weight") == "bold"),
            sum(circle.get("r") == "5" for circle in row.iter(f"{SVG}circle")),
            len(list(row.iter(f"{SVG}path"))),
        )
        for row in drawing.iter(f"{SVG}g")
    )
    assert drawn == Counter(
        (
            one.action.name.lower().replace("_", " "),
            len(one.phases),
            len(set(one.leads_to.phases) - set(one.phases)),
        )
        for one in TABLE
        for _ in one.causes
        if one.action is not Action.NOTHING
    )
