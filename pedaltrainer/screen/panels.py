"""From a view to panels: which painter draws which zone, with what.

A panel's key is its painter and arguments; two equal keys look alike, so the
stage repaints only what changed and can keep pictures for the next time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from pedaltrainer.neck.box import ChordBox
from pedaltrainer.screen import paint
from pedaltrainer.screen.chordbox import paint_study
from pedaltrainer.screen.climb import paint_climb
from pedaltrainer.screen.fit import Zone, fit_words, hint_cap
from pedaltrainer.screen.ladder import paint_ladder
from pedaltrainer.screen.layout import BOX_ZONES, Layout
from pedaltrainer.screen.pages import paint_lines, paint_menu, paint_page
from pedaltrainer.screen.palette import CREAM, STONE
from pedaltrainer.screen.plank import paint_track, plank_top
from pedaltrainer.screen.roll import paint_roll
from pedaltrainer.screen.song_bars import paint_bars
from pedaltrainer.screen.view import PageView, PlayView, Scene, StageView


@dataclass(frozen=True, slots=True)
class Panel:
    """One zone of the stage.

    moving: drawn straight to the screen, not kept as a picture. passing: will
    not look like this again (a clock runs in it), so its picture is not kept.
    """

    name: str
    zone: Zone
    painter: Callable[..., None]
    arguments: tuple[Any, ...]
    moving: bool = False
    passing: bool = False

    @property
    def key(self) -> tuple[Any, ...]:
        return (self.painter, self.zone, self.arguments)


def compose(view: StageView, layout: Layout, upright: bool) -> list[Panel]:
    """The panels of a view, at most one a zone."""
    panels = _play(view, layout, upright) if isinstance(view, PlayView) else _words(view, layout, upright)
    return [panel for panel in panels if panel.zone.w > 0 and panel.zone.h > 0]


def _headline(view: StageView, zone: Zone, layout: Layout, text: str) -> Panel:
    """The line on top: the acknowledgement while it is fresh, else a trouble, else the headline."""
    cap = layout.sizes.words
    step = paint.ack_step(view.ack)
    if step is not None and view.ack is not None:
        return Panel("headline", zone, paint.paint_ack, (view.ack.sign, view.ack.words, step, cap))
    if isinstance(view, PlayView) and view.notices:
        return Panel("headline", zone, paint.paint_notice, (view.notices[0], cap))
    return Panel("headline", zone, paint.paint_words, (text, cap, 0.5, STONE, True))


def _hints(view: StageView, layout: Layout, upright: bool) -> Panel:
    zone = layout.zones["hints"]
    cap = hint_cap(view, zone, layout.sizes, upright) if view.hints else layout.sizes.words
    return Panel("hints", zone, paint.paint_hints, (view.hints, cap, upright))


def _play(view: PlayView, layout: Layout, upright: bool) -> list[Panel]:
    zones, sizes = layout.zones, layout.sizes
    cap = sizes.words
    playing = view.scene in (Scene.COUNT_IN, Scene.TAKE)
    panels = []
    if "tempo" in zones:
        target = (view.target, cap, 1.0, CREAM, False)
        panels.append(Panel("tempo", zones["tempo"], paint.paint_tempo, (view.tempo_bpm, cap)))
        panels.append(Panel("target", zones["target"], paint.paint_words, target))
    if view.scene in (Scene.ASKING, Scene.BREATH):
        # The headline has the stage to itself below; a breath shows the acknowledgement there as well.
        shown = replace(view, ack=None) if view.scene is Scene.BREATH else view
        panels.append(_headline(shown, zones["headline"], layout, view.drill))
    else:
        panels.append(_headline(view, zones["headline"], layout, view.headline or view.drill))
    if "caption" in zones:
        left = "" if view.scene is Scene.BREATH else view.drill
        panels.append(
            Panel("caption", zones["caption"], paint.paint_caption, (left, view.time_left, cap), passing=True)
        )
    panels += _boxes(view.boxes, view.box_now if playing else None, view.left_handed, layout)
    if "instruction" in zones:
        said = (view.instruction, cap, 0.5, CREAM, True)
        panels.append(Panel("instruction", zones["instruction"], paint.paint_words, said))
    if "ladder" in zones and view.roll is not None:
        panels.append(Panel("roll", zones["ladder"], paint_roll, (view.roll, sizes), passing=True))
    elif "ladder" in zones:
        panels.append(Panel("ladder", zones["ladder"], paint_ladder, (view.ladder, sizes)))

    if playing:
        panels += _playing(view, layout)
    elif view.scene is Scene.READY:
        for name, chord, box in (
            ("now study", view.now_chord, view.now_box),
            ("next study", view.next_chord, view.next_box),
        ):
            if name in zones:
                panels.append(Panel(name, zones[name], paint_study, (chord, box, view.left_handed, sizes)))
    elif view.scene is Scene.ASKING:
        question = zones["question"]
        large = fit_words(view.headline, question.w, int(min(cap * 1.7, question.h * 0.7)), True)
        panels.append(
            Panel("question", question, paint.paint_words, (view.headline, large, 0.0, CREAM, True))
        )
        panels.append(Panel("hints", zones["hints"], paint.paint_answers, (view.hints, sizes)))
        return panels
    else:
        panels += _breath(view, layout)
    panels.append(_hints(view, layout, upright))
    return panels


def _playing(view: PlayView, layout: Layout) -> list[Panel]:
    zones, sizes = layout.zones, layout.sizes
    plank = view.plank
    in_the_air = plank is not None and plank.changing
    panels = [Panel("now", zones["now"], paint.paint_now, (view.now_chord, sizes, in_the_air))]
    if view.count is not None:
        panels.append(Panel("next", zones["next"], paint.paint_count, (view.count, sizes)))
    elif view.next_chord:
        panels.append(Panel("next", zones["next"], paint.paint_next, (view.next_chord, sizes)))
    if plank is not None:
        down = plank.height < 0.5
        panels.append(Panel("beat", zones["beat"], paint.paint_beat, (down, plank.beat, sizes)))
        zone = zones["track"]
        top = plank_top(plank.height, zone.w, zone.h)
        panels.append(Panel("track", zone, paint_track, (top, plank.changing), moving=True))
    if view.strokes is not None:
        strokes = (view.strokes.pattern, view.strokes.now)
        panels.append(Panel("dots", zones["dots"], paint.paint_strokes, strokes))
        return panels
    dots = (view.landing, view.landings, sizes.words)
    panels.append(Panel("dots", zones["dots"], paint.paint_dots, dots))
    return panels


def _boxes(
    boxes: tuple[ChordBox, ...], due: int | None, left_handed: bool, layout: Layout
) -> Iterator[Panel]:
    """The chord boxes beside a take, a question, a breath or a menu."""
    for place, (name, box) in enumerate(zip(BOX_ZONES, boxes, strict=False)):
        if name in layout.zones:
            is_due = None if due is None or len(boxes) == 1 else place == due
            shown = (box.title, box, left_handed, layout.sizes, is_due)
            yield Panel(name, layout.zones[name], paint_study, shown)


def _breath(view: PlayView, layout: Layout) -> list[Panel]:
    zones, cap = layout.zones, layout.sizes.words
    sign = view.ack.sign if view.ack is not None else ""
    fresh = paint.ack_step(view.ack) == 0
    # With no target of its own, what comes next is the headline, and the answer speaks for itself.
    said, coming = view.headline, view.target
    if not coming and view.ack is not None:
        said, coming = view.ack.words, view.headline
    verdict = (said, round(cap * 1.6), sign, fresh)
    chord = "" if BOX_ZONES[0] in zones else view.now_chord
    return [
        Panel("verdict", zones["verdict"], paint.paint_verdict, verdict),
        Panel("coming", zones["coming"], paint.paint_coming, (coming, chord, layout.sizes)),
    ]


def _words(view: StageView, layout: Layout, upright: bool) -> list[Panel]:
    assert not isinstance(view, PlayView)
    zones, sizes = layout.zones, layout.sizes
    cap = sizes.words
    panels = [Panel("title", zones["title"], paint.paint_title, (view.title, sizes))]
    if "headline" in zones:
        panels.append(_headline(view, zones["headline"], layout, ""))
    if "notice" in zones:
        if paint.ack_step(view.ack) is not None and upright:
            panels.append(_headline(view, zones["notice"], layout, ""))
        elif view.notices:
            panels.append(Panel("notice", zones["notice"], paint.paint_notice, (view.notices[0], cap)))
    if isinstance(view, PageView):
        plain = PageView(view.title, view.lines, (), view.figure, view.figure_words, view.small_print)
        panels.append(Panel("body", zones["body"], paint_page, (plain, sizes), passing=True))
    else:
        panels.append(
            Panel("body", zones["body"], paint_menu, (view.choices, view.chosen, view.rested, sizes))
        )
        panels += _boxes(view.boxes, None, view.left_handed, layout)
        if "lines" in zones:
            panels.append(Panel("lines", zones["lines"], paint_lines, (view.lines, sizes)))
        if "climb" in zones:
            panels.append(Panel("climb", zones["climb"], paint_climb, (view.climb, sizes)))
        if "bars" in zones:
            panels.append(Panel("bars", zones["bars"], paint_bars, (view.bars, sizes)))
    panels.append(_hints(view, layout, upright))
    return panels
