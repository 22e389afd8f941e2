"""Draw the table of a session's transitions into session.svg: `python docs/inside/make_session.py`.

Phases are strings, rows of the table are played across them. The drawing is made of the table alone; a test
holds the file against it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pedaltrainer.page.markup import Markup, element
from pedaltrainer.pedals.bindings import ONE_SWITCH
from pedaltrainer.pedals.events import Control
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, SHADE, STONE, Colour
from pedaltrainer.session.causes import Action, Cause, Choice, Transition
from pedaltrainer.session.events import (
    Due,
    EarHeard,
    InputLost,
    LogLost,
    Opened,
    Pointed,
    Pressed,
    Shut,
    SoundChecked,
    SoundLost,
    SoundStumbled,
    Taught,
)
from pedaltrainer.session.state import PLAYING, Phase
from pedaltrainer.session.transitions import TABLE
from pedaltrainer.showing.words import CHOICES

PICTURE = Path(__file__).with_name("session.svg")
GESTURES = {control: gesture for gesture, control in ONE_SWITCH.items()}
PANELS: tuple[tuple[str, tuple[Cause, ...]], ...] = (
    *((f"{control}: {gesture} of one switch", (control,)) for control, gesture in GESTURES.items()),
    ("The menu of a pause", tuple(Choice)),
    ("Switches of their own", tuple(control for control in Control if control not in GESTURES)),
    ("The stage, a press, a pointer, and time", (Opened, Pressed, Pointed, Due)),
    ("Troubles, and from outside", (InputLost, SoundLost, SoundStumbled, LogLost, Taught, Shut)),
    ("The ear", (SoundChecked, EarHeard)),
)
"""What stands together under one heading."""

MARGIN, LABELS, PITCH = 28.0, 300.0, 50.0
"""The edge, the room for the words of a row, and from one string to the next, in px."""
LINE, AIR, NAMES = 25.0, 22.0, 92.0
"""Heights of a row, of the air above a panel, of the slanted names of the phases."""
TITLE = 88.0
FONT = "B612, 'DejaVu Sans', Verdana, sans-serif"
PHASES = tuple(Phase)
WIDTH = MARGIN * 2 + LABELS + PITCH * len(PHASES) + 34
STRINGS = {phase: MARGIN + LABELS + PITCH * (number + 0.5) for number, phase in enumerate(PHASES)}


def drawn() -> str:
    """The picture as SVG text, the same for the same table."""
    parts: list[Markup] = []
    y = TITLE
    for heading, causes in PANELS:
        rows = [(cause, row) for cause in causes for row in TABLE if cause in row.causes and does(row)]
        foot = y + AIR + NAMES + LINE * len(rows)
        parts += _panel(heading, y, foot)
        for number, (cause, row) in enumerate(rows):
            label = words(cause) if len(causes) > 1 else ""
            parts.append(element("g", *_row(row, label, y + AIR + NAMES + LINE * (number + 0.5))))
        y = foot
    height = y + MARGIN
    return (
        str(
            element(
                "svg",
                element("title", "What leads to what in a session"),
                element("rect", width=WIDTH, height=height, fill=_ink(GROUND)),
                *_legend(),
                *parts,
                xmlns="http://www.w3.org/2000/svg",
                viewBox=f"0 0 {WIDTH:g} {height:g}",
                font_family=FONT,
                font_size=14,
                fill=_ink(CREAM),
            )
        ).replace("><", ">\n<")
        + "\n"
    )


def does(row: Transition) -> bool:
    """Rows that only say that something means nothing any more are left out."""
    return row.action is not Action.NOTHING


def words(cause: Cause) -> str:
    """A cause as it is called in the drawing: "input lost", "Go on"."""
    if isinstance(cause, type):
        return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", cause.__name__).lower()
    return CHOICES[cause] if isinstance(cause, Choice) else str(cause)


def _ink(colour: Colour) -> str:
    return "#" + bytes(colour).hex()


def _text(said: str, x: float, y: float, colour: Colour = CREAM, **more: str | float) -> Markup:
    return element("text", said, x=x, y=y, fill=_ink(colour), **more)


def _panel(heading: str, top: float, foot: float) -> Iterator[Markup]:
    """The heading, the names of the phases, and their strings; a band lies under those of a take."""
    first = top + AIR + NAMES
    band = sorted(STRINGS[phase] for phase in PLAYING)
    left, width = band[0] - PITCH / 2, band[-1] - band[0] + PITCH
    yield element("rect", x=left, y=first - 8, width=width, height=foot - first + 8, fill=_ink(SHADE))
    yield _text(heading, MARGIN, first - 14, LAMP, font_size=17, font_weight="bold")
    for phase, x in STRINGS.items():
        place = f"translate({x:g} {first - 14:g}) rotate(-40)"
        yield element("text", str(phase), transform=place, fill=_ink(STONE), font_size=13.5)
        yield element("line", x1=x, x2=x, y1=first - 8, y2=foot, stroke=_ink(STONE), stroke_opacity="0.4")


def _row(row: Transition, cause: str, y: float) -> Iterator[Markup]:
    """One row of the table: its words, a wire, a peg where it can happen, an arrowhead where it leads."""
    action = row.action.name.lower().replace("_", " ")
    label = [element("tspan", f"{cause}: ", fill=_ink(STONE))] if cause else []
    label.append(element("tspan", action, font_weight="bold"))
    if row.when is not None:
        label.append(
            element("tspan", f"  {row.when.__name__.replace('_', ' ')}", fill=_ink(STONE), font_size=12)
        )
    yield element("text", *label, x=MARGIN, y=y + 5)
    begins = sorted(STRINGS[phase] for phase in row.phases)
    leads = sorted(STRINGS[phase] for phase in row.leads_to.phases)
    low, high = min(begins + leads), max(begins + leads)
    if low < high:
        yield element("line", x1=low, x2=high, y1=y, y2=y, stroke=_ink(STONE), stroke_width=2)
    for x in begins:
        if row.leads_to.stays or x in leads:
            ring = LAMP if x in leads else STONE
            yield element("circle", cx=x, cy=y, r=9, fill=_ink(GROUND), stroke=_ink(ring), stroke_width=2)
        yield element("circle", cx=x, cy=y, r=5, fill=_ink(CREAM))
    yield from (_arrowhead(x, y, from_left=min(begins) < x) for x in leads if x not in begins)


def _arrowhead(x: float, y: float, from_left: bool) -> Markup:
    tip = 8 if from_left else -8
    corners = f"M{x + tip:g} {y:g}L{x - tip:g} {y - 8:g}V{y + 8:g}Z"
    return element("path", d=corners, fill=_ink(LAMP), stroke=_ink(GROUND), stroke_width=1.5)


def _legend() -> Iterator[Markup]:
    yield _text("What leads to what in a session", MARGIN, 48, font_size=26, font_weight="bold")
    x, y = MARGIN, 82.0
    yield element("circle", cx=x + 8, cy=y - 5, r=5, fill=_ink(CREAM))
    yield _text("in this phase it does this", x + 24, y, STONE)
    yield _arrowhead(x + 236, y - 5, from_left=True)
    yield _text("and leads to one of these", x + 254, y, STONE)
    for at, ring, said in ((466.0, LAMP, "or to this one anew"), (646.0, STONE, "or leaves it as it is")):
        yield element("circle", cx=x + at, cy=y - 5, r=9, fill="none", stroke=_ink(ring), stroke_width=2)
        yield element("circle", cx=x + at, cy=y - 5, r=5, fill=_ink(CREAM))
        yield _text(said, x + at + 18, y, STONE)
    yield element("rect", x=x + 826, y=y - 16, width=26, height=20, fill=_ink(SHADE))
    yield _text("a take is on, or between two", x + 862, y, STONE)


if __name__ == "__main__":
    PICTURE.write_text(drawn(), encoding="utf-8")
