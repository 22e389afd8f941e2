"""Where everything stands and how tall its letters are, from the player's own distance.

Letter heights are angles at the eye, as in ISO 9241-303 (20-22 minutes
of arc preferred for reading): the chord to land has capitals of 2 degrees or
more, its suffix 1 degree or more where it fits, everything else that matters
while playing 22 minutes or more. What cannot be given is given smaller and
named in `Layout.shortfalls`.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.screen.fit import (
    CHORD_SHARE,
    LINE_PITCH,
    MENU_PITCH,
    Sizes,
    Zone,
    answers_cap,
    answers_width,
    arc_minutes_of,
    base_sizes,
    fit_chord,
    fit_notice,
    fit_title,
    fit_words,
    hint_cap,
    is_word,
    menu_lines,
    menu_rows,
    menu_width,
    page_cap,
    word_cap,
)
from pedaltrainer.screen.typeset import set_chord
from pedaltrainer.screen.view import MenuView, PageView, PlayView, Scene, Sight, StageView


@dataclass(frozen=True, slots=True)
class Layout:
    """Named zones, none overlapping another, the measures, and what fell short."""

    zones: dict[str, Zone]
    sizes: Sizes
    shortfalls: tuple[str, ...] = ()


def arrange(view: StageView, width: int, height: int, sight: Sight) -> Layout:
    """Zones for a view on a screen of width x height px.

    Zones depend only on the kind of view, its scene, its unordered pair of
    chords and its hints: a take can run from end to end without one moving.
    """
    sizes = base_sizes(width, height, sight)
    zones: dict[str, Zone] = {}
    left, right = sizes.margin, width - sizes.margin
    top, gap, words = sizes.gap, sizes.gap, sizes.words
    upright = height > width
    strip = round(words * 1.7)

    rows = len(view.hints) if upright else 1
    hint_h = round(words * 1.9)
    hints_top = height - gap - hint_h * max(1, rows)
    asking = isinstance(view, PlayView) and view.scene is Scene.ASKING
    if not asking:
        zones["hints"] = Zone(left, hints_top, right - left, height - gap - hints_top)

    if isinstance(view, PlayView):
        span = right - left
        side = round(words * 6.2)
        end = round(words * 6.4)
        coming = round(words * ROLL_COLUMN) if view.roll is not None and view.target else end
        if view.notices:
            # A trouble needs the whole line; tempo and target still stand on the ladder.
            strip = strip * 2 if upright else strip
            zones["headline"] = Zone(left, top, span, strip)
        elif upright:
            zones["tempo"] = Zone(left, top, span // 2 - gap, strip)
            zones["target"] = Zone(left + span // 2, top, span - span // 2, strip)
            top += strip + gap
            zones["headline"] = Zone(left, top, span, strip)
        else:
            zones["tempo"] = Zone(left, top, end, strip)
            zones["target"] = Zone(right - coming, top, coming, strip)
            zones["headline"] = Zone(left + end + gap, top, span - end - coming - 2 * gap, strip)
        top += strip + gap
        bottom = (hints_top if not asking else height - gap) - gap
        room = _below_what_is_said(view, zones, Zone(left, top, span, bottom - top), sizes)
        _PLAY[view.scene](view, zones, room, side, sizes, upright)
    else:
        half = (right - left - gap) // 2
        answered = view.ack is not None
        title_w = half if answered and not upright else right - left
        lines, _ = fit_title(view.title, title_w, sizes)
        title_h = strip * len(lines)
        zones["title"] = Zone(left, top, title_w, title_h)
        if answered and not upright:
            zones["headline"] = Zone(left + half + gap, top, right - left - half - gap, strip)
        top += title_h + gap
        if view.notices or (answered and upright):
            zones["notice"] = Zone(left, top, right - left, strip)
            top += strip + gap
        body = Zone(left, top, right - left, hints_top - gap - top)
        if isinstance(view, MenuView) and view.lines:
            lines_h = round(len(menu_lines(view.lines, body.w, sizes)) * LINE_PITCH * words)
            zones["lines"] = Zone(body.x, body.y, body.w, lines_h)
            body = Zone(body.x, body.y + lines_h + gap, body.w, body.h - lines_h - gap)
        if isinstance(view, MenuView) and (view.climb or view.bars) is not None:
            zones["climb" if view.climb else "bars"], body = _picture_and_rows(view, body, sizes)
        if isinstance(view, MenuView):
            body = _beside_the_menu(view, zones, body, sizes, upright)
        zones["body"] = body
    return Layout(zones, sizes, tuple(_shortfalls(view, zones, sizes, sight, width, height)))


def _split_chords(view: PlayView, room: Zone, sizes: Sizes) -> tuple[int, int]:
    """Widths of the chord to land and of the next one, the same for A-B as for B-A."""
    pair = {view.now_chord, view.next_chord} - {""} or {"A"}
    unit = max(set_chord(name, 0.5)[1] for name in pair)
    tall = room.h * CHORD_SHARE
    # Words are longer than chords' names: the one to come takes no more than it needs.
    least_next = sizes.words * (
        1.4
        + (1.0 if is_word(view.now_chord) else 1.1) * max(1.6, *(set_chord(name, 0.6)[1] for name in pair))
    )
    share = 0.62 if is_word(view.now_chord) else 0.56
    now_w = min(max(unit * tall * 1.04, room.w * share), room.w - least_next)
    return int(now_w), int(room.w - now_w)


def _stack(zones: dict[str, Zone], room: Zone, boxes: int, gap: int, upright: bool = False) -> None:
    """Stand one or two chord boxes in a room, one below the other (beside it on an upright screen)."""
    if upright:
        wide = (room.w - gap * (boxes - 1)) // boxes
        placed = [Zone(room.x + (wide + gap) * place, room.y, wide, room.h) for place in range(boxes)]
    else:
        high = (room.h - gap * (boxes - 1)) // boxes
        placed = [Zone(room.x, room.y + (high + gap) * place, room.w, high) for place in range(boxes)]
    zones.update(zip(BOX_ZONES, placed, strict=False))


BOX_ZONES = ("first box", "second box")
BOX_COLUMN = 7.2
"""Width of a column of chord boxes, in words' cap heights: the hand's shape can be seen, the chord keeps its
size."""


ROLL_COLUMN = 8.5
"""The same of the bars of a song."""


def _below_what_is_said(view: PlayView, zones: dict[str, Zone], room: Zone, sizes: Sizes) -> Zone:
    """The room below a line over its whole width, where there is something to say."""
    if not view.instruction:
        return room
    line = round(sizes.words * 1.7)
    zones["instruction"] = Zone(room.x, room.y, room.w, line)
    return Zone(room.x, room.y + line + sizes.gap, room.w, room.h - line - sizes.gap)


def _playing(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, upright: bool
) -> None:
    gap, words = sizes.gap, sizes.words
    shown = len(view.boxes) if view.boxes_in_take else 0
    if view.roll is not None and not upright:
        side = round(words * ROLL_COLUMN)
    elif shown and not upright:
        side = round(words * BOX_COLUMN)
    dots_h = round(words * 0.9)
    if upright:
        chord_h = int(min(sizes.chord_needed * 1.26, room.h * 0.36))
        next_h = round(words * 3.2)
        zones["now"] = Zone(room.x, room.y, room.w, chord_h)
        zones["next"] = Zone(room.x, room.y + chord_h + gap, room.w - side - gap, next_h)
        y = room.y + chord_h + gap
        rest = room.y + room.h - y
        plank_h = round(rest * 0.34)
        column = Zone(room.x + room.w - side, y, side, rest - plank_h - gap)
        beat_h = column.h - next_h - gap
        zones["beat"] = Zone(room.x, y + next_h + gap, room.w - side - gap, beat_h)
        zones["track"] = Zone(room.x, room.y + room.h - plank_h, room.w, plank_h - dots_h - gap)
        zones["dots"] = Zone(room.x, room.y + room.h - dots_h, room.w, dots_h)
        _in_the_column(zones, column, shown, gap)
        return
    main_w = room.w - side - gap * 2
    chord_h = int(min(max(sizes.chord_needed * 1.26, room.h * 0.5), room.h * 0.66))
    now_w, next_w = _split_chords(view, Zone(room.x, room.y, main_w, chord_h), sizes)
    zones["now"] = Zone(room.x, room.y, now_w, chord_h)
    zones["next"] = Zone(room.x + now_w, room.y, next_w, chord_h)
    _in_the_column(zones, Zone(room.x + room.w - side, room.y, side, room.h), shown, gap)
    beat_w = round(words * 2.9)
    track_y = room.y + chord_h + gap
    track_h = room.y + room.h - track_y - dots_h - gap
    zones["beat"] = Zone(room.x, track_y, beat_w, track_h + gap + dots_h)
    zones["track"] = Zone(room.x + beat_w + gap, track_y, main_w - beat_w - gap, track_h)
    zones["dots"] = Zone(room.x + beat_w + gap, track_y + track_h + gap, main_w - beat_w - gap, dots_h)


def _in_the_column(zones: dict[str, Zone], column: Zone, boxes: int, gap: int) -> None:
    """The ladder, or in its place the chord boxes: a hand that plays has no use for a ladder."""
    if boxes:
        _stack(zones, column, boxes, gap)
    else:
        zones["ladder"] = column


def _ready(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, upright: bool
) -> None:
    caption = round(sizes.words * 1.75)
    zones["caption"] = Zone(room.x, room.y, room.w, caption)
    y, h = room.y + caption + sizes.gap, room.h - caption - sizes.gap
    if view.now_chord == view.next_chord or not view.next_chord:
        zones["now study"] = Zone(room.x, y, room.w, h)
    elif upright:
        zones["now study"] = Zone(room.x, y, room.w, (h - sizes.gap) // 2)
        zones["next study"] = Zone(room.x, y + (h + sizes.gap) // 2, room.w, (h - sizes.gap) // 2)
    else:
        half = (room.w - sizes.gap) // 2
        zones["now study"] = Zone(room.x, y, half, h)
        zones["next study"] = Zone(room.x + half + sizes.gap, y, room.w - half - sizes.gap, h)


def _beside_the_ladder(zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, upright: bool) -> Zone:
    """Stand the ladder at the right (below, on an upright screen) and return the room that is left."""
    if upright:
        ladder_h = round(room.h * 0.34)
        zones["ladder"] = Zone(room.x + (room.w - side) // 2, room.y + room.h - ladder_h, side, ladder_h)
        return Zone(room.x, room.y, room.w, room.h - ladder_h - sizes.gap)
    zones["ladder"] = Zone(room.x + room.w - side, room.y, side, room.h)
    return Zone(room.x, room.y, room.w - side - sizes.gap * 2, room.h)


def _beside_the_boxes(
    zones: dict[str, Zone], room: Zone, boxes: int, needed: float, sizes: Sizes, upright: bool
) -> Zone:
    """Stand chord boxes at the right (below, on an upright screen) where `needed` px are left for the rest;
    returns what is left."""
    gap = sizes.gap
    if upright:
        boxes_h = round(min(room.h * 0.36, room.w * 0.6))
        if not boxes or room.h - boxes_h < sizes.words * 8:
            return room
        _stack(zones, Zone(room.x, room.y + room.h - boxes_h, room.w, boxes_h), boxes, gap, upright)
        return Zone(room.x, room.y, room.w, room.h - boxes_h - gap)
    boxes_w = round(min(room.w * 0.46, room.w - needed - 2 * gap, sizes.words * 1.4 * BOX_COLUMN))
    if not boxes or boxes_w < sizes.words * 0.7 * BOX_COLUMN:
        return room
    _stack(zones, Zone(room.x + room.w - boxes_w, room.y, boxes_w, room.h), boxes, gap)
    return Zone(room.x, room.y, room.w - boxes_w - 2 * gap, room.h)


def _beside_the_menu(view: MenuView, zones: dict[str, Zone], body: Zone, sizes: Sizes, upright: bool) -> Zone:
    needed = menu_width(view.choices, sizes)
    boxes = min(len(BOX_ZONES), max(len(view.boxes), view.room_for))
    if upright:
        needed = 0.0 if len(view.choices) * sizes.words * MENU_PITCH[0] > body.h * 0.6 else needed
        return body if not needed else _beside_the_boxes(zones, body, boxes, 0, sizes, upright)
    return _beside_the_boxes(zones, body, boxes, needed, sizes, upright)


def _picture_and_rows(view: MenuView, body: Zone, sizes: Sizes) -> tuple[Zone, Zone]:
    """The picture at the right of the rows where both have room there, else over them."""
    gap = sizes.gap
    rows_w = round(menu_width(view.choices, sizes)) + gap
    if body.w - rows_w >= max(body.h, sizes.words * 10):
        picture = Zone(body.x + rows_w, body.y, body.w - rows_w, body.h)
        return picture, Zone(body.x, body.y, rows_w - gap, body.h)
    rows_h = round(MENU_PITCH[0] * sizes.words * (min(len(view.choices), 2) + 1))
    picture = Zone(body.x, body.y, body.w, body.h - rows_h - gap)
    return picture, Zone(body.x, body.y + picture.h + gap, body.w, rows_h)


def _asking(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, upright: bool
) -> None:
    main = _beside_the_ladder(zones, room, side, sizes, upright)
    needed = answers_width(view.hints, sizes)
    main = _beside_the_boxes(zones, main, len(view.boxes), needed, sizes, upright)
    question = int(min(sizes.words * 3.0, room.h * 0.26))
    zones["question"] = Zone(main.x, main.y, main.w, question)
    y = main.y + question + sizes.gap
    zones["hints"] = Zone(main.x, y, main.w, main.y + main.h - y)


def _breath(
    view: PlayView, zones: dict[str, Zone], room: Zone, side: int, sizes: Sizes, upright: bool
) -> None:
    caption = round(sizes.words * 1.75)
    main = _beside_the_ladder(zones, room, side, sizes, upright)
    # "Missed at 184" in one line, or its parts in two.
    main = _beside_the_boxes(zones, main, len(view.boxes), sizes.words * 8, sizes, upright)
    zones["caption"] = Zone(main.x, main.y, main.w, caption)
    y = main.y + caption + sizes.gap
    h = main.y + main.h - y
    zones["verdict"] = Zone(main.x, y, main.w, round(h * 0.52))
    zones["coming"] = Zone(main.x, y + round(h * 0.52) + sizes.gap, main.w, h - round(h * 0.52) - sizes.gap)


_PLAY = {
    Scene.READY: _ready,
    Scene.COUNT_IN: _playing,
    Scene.TAKE: _playing,
    Scene.ASKING: _asking,
    Scene.BREATH: _breath,
}


def _shortfalls(
    view: StageView, zones: dict[str, Zone], sizes: Sizes, sight: Sight, width: int, height: int
) -> list[str]:
    found: list[str] = []

    def check(what: str, cap: float, needed: int) -> None:
        if cap < needed:
            got, want = (arc_minutes_of(px, sight, width, height) for px in (cap, needed))
            found.append(f"{what}: {got:.0f} of {want:.0f} minutes of arc")

    check("words", sizes.words, sizes.words_needed)
    if view.hints and not (isinstance(view, PlayView) and view.scene is Scene.ASKING):
        check("hints", hint_cap(view, zones["hints"], sizes, height > width), sizes.words_needed)
    if isinstance(view, PlayView):
        if view.notices:
            _, cap = fit_notice(view.notices[0], zones["headline"], sizes.words)
            check("notice", cap, sizes.words_needed)
        elif view.scene not in (Scene.ASKING, Scene.BREATH):
            check(
                "headline",
                fit_words(view.headline, zones["headline"].w, sizes.words, True),
                sizes.words_needed,
            )
        if "target" in zones:
            check("target", fit_words(view.target, zones["target"].w, sizes.words), sizes.words_needed)
        if "now" in zones and view.now_chord:
            now = zones["now"]
            if is_word(view.now_chord):
                cap = word_cap(view.now_chord, now.w, now.h, sizes)
                check(view.now_chord, cap, sizes.suffix_needed)
            else:
                fit = fit_chord(view.now_chord, now.w, now.h, sizes, sizes.chord_needed * 2)
                check(f"chord {view.now_chord}", fit.cap, sizes.chord_needed)
                check(f"suffix of {view.now_chord}", fit.cap * fit.suffix_ratio, sizes.suffix_needed)
        if "instruction" in zones:
            cap = fit_words(view.instruction, zones["instruction"].w, sizes.words, True)
            check("instruction", cap, sizes.words_needed)
        if view.scene is Scene.ASKING:
            answers = zones["hints"]
            check("answers", answers_cap(view.hints, answers.w, answers.h, sizes), sizes.words_needed)
    elif isinstance(view, MenuView):
        check("choices", menu_rows(view.choices, zones["body"], sizes).cap, sizes.words_needed)
    elif isinstance(view, PageView):
        check("lines", page_cap(view, zones["body"], sizes), sizes.words_needed)
    return found
