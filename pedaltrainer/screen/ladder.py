"""The ladder, drawn as a ladder: two rails, a rung for each tempo, the clean tempo as a band across them.

Told by place and form, never by colour alone: the rung we are on has the
larger numeral and a peg in it; a passed rung bears a check; a failed one is
broken and bears a cross; the rung a pass leads to wears a dashed ring and an
arrow up, the one a fail leads to an arrow down; the best has a pennant; the
tempo of the song is a rung with a flag on it.
"""

from __future__ import annotations

import pygame

from pedaltrainer.screen.fit import Sizes
from pedaltrainer.screen.glyphs import dashed_ring
from pedaltrainer.screen.ink import write
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.paint import stamp
from pedaltrainer.screen.palette import CREAM, LAMP, SHADE, STONE, Colour
from pedaltrainer.screen.view import LadderView, RungMark, RungView


def rungs_in_sight(ladder: LadderView, room_for: int) -> tuple[RungView, ...]:
    """The rungs to draw, slow to fast, at most `room_for`, around the one we are on.

    Tempi the ladder speaks of that are no rung of it (finer steps) are put in. The song's tempo is in sight
    where there is room for three: where it is far off, as the last rung on its side.
    """
    rungs = {rung.tempo_bpm: rung for rung in ladder.rungs}
    target = ladder.target_bpm
    spoken_of = (ladder.now_bpm, ladder.if_pass_bpm, ladder.if_fail_bpm, target)
    for tempo in spoken_of:
        if tempo is not None:
            rungs.setdefault(tempo, RungView(tempo))
    tempi = sorted(rungs)
    here = tempi.index(ladder.now_bpm)
    first = max(0, min(here - room_for // 2, len(tempi) - room_for))
    shown = tempi[first : first + room_for]
    if target is not None and target not in shown and room_for >= 3:
        shown = [*shown[:-1], target] if target > shown[-1] else [target, *shown[1:]]
    return tuple(rungs[tempo] for tempo in shown)


_MARKS: dict[RungMark, tuple[str, ...]] = {
    RungMark.PASSED: ("check",),
    RungMark.FAILED: ("cross",),
    RungMark.MIXED: ("check", "cross"),
    RungMark.NONE: (),
}


def height_of(tempo_bpm: float, rungs: tuple[RungView, ...], ys: list[float]) -> float:
    """The y of a tempo between the rungs, held half a pitch beyond the ends."""
    tempi = [rung.tempo_bpm for rung in rungs]
    pitch = ys[0] - ys[1] if len(ys) > 1 else 0.0
    if tempo_bpm <= tempi[0]:
        return ys[0] + (pitch * 0.5 if tempo_bpm < tempi[0] else 0.0)
    if tempo_bpm >= tempi[-1]:
        return ys[-1] - (pitch * 0.5 if tempo_bpm > tempi[-1] else 0.0)
    above = next(i for i, tempo in enumerate(tempi) if tempo > tempo_bpm)
    share = (tempo_bpm - tempi[above - 1]) / (tempi[above] - tempi[above - 1])
    return ys[above - 1] + share * (ys[above] - ys[above - 1])


def paint_ladder(surface: pygame.Surface, ladder: LadderView, sizes: Sizes) -> None:
    width, height = surface.get_size()
    cap = sizes.words
    room_for = max(1, min(7, int(height / (cap * 1.75))))
    rungs = rungs_in_sight(ladder, room_for)
    pitch = height / max(len(rungs), min(room_for, 4))
    ys = [height - (i + 0.5) * pitch - (height - pitch * len(rungs)) / 2 for i in range(len(rungs))]

    widest = max(measure(str(rung.tempo_bpm), True) for rung in rungs)
    now_cap = int(min(cap * 1.32, pitch * 0.8))
    side_w = cap * 1.4
    while widest * now_cap + side_w + now_cap > width * 0.86 and now_cap > cap:
        now_cap -= 1
    rail = max(4, round(cap * 0.11))
    # The ring round a target reaches 0.34 of a cap height beyond its numeral.
    numeral_right = widest * now_cap + cap * 0.38
    left_rail = numeral_right + cap * 0.55
    right_rail = width - side_w - rail

    if ladder.band_bpm:
        low, high = (height_of(tempo, rungs, ys) for tempo in ladder.band_bpm)
        band = pygame.Rect(
            round(left_rail), round(high), round(right_rail - left_rail), max(4, round(low - high))
        )
        pygame.draw.rect(surface, SHADE, band)
        edge = max(3, rail // 2)
        for edge_y in (band.top, band.bottom - edge):
            pygame.draw.rect(surface, LAMP, (band.left, edge_y, band.width, edge))
    for x in (left_rail, right_rail):
        pygame.draw.rect(surface, STONE, (round(x), 0, rail, height), border_radius=rail // 2)

    for rung, y in zip(rungs, ys, strict=True):
        here = rung.tempo_bpm == ladder.now_bpm
        _rung(surface, rung, here, left_rail + rail, right_rail, y, cap)
        size = now_cap if here else min(cap, int(pitch * 0.62))
        ink = LAMP if here else CREAM if rung.tempo_bpm == ladder.if_pass_bpm else STONE
        text = str(rung.tempo_bpm)
        write(surface, text, size, ink, numeral_right, y + size / 2, bold=True, align=1.0)
        x = right_rail + rail + cap * 0.16
        flagged = rung.tempo_bpm == ladder.target_bpm
        if not here and not flagged and rung.tempo_bpm in (ladder.if_pass_bpm, ladder.if_fail_bpm):
            up = rung.tempo_bpm == ladder.if_pass_bpm
            stamp(
                surface,
                "arrow up" if up else "arrow down",
                cap * 0.8,
                CREAM if up else STONE,
                x,
                y - cap * 0.4,
            )
        if flagged:
            stamp(surface, "flag", cap * 1.06, CREAM, x + cap * 0.26, max(0.0, y - cap))
        elif rung.tempo_bpm == ladder.best_bpm:
            stamp(surface, "pennant", cap * 0.66, CREAM, x + cap * 0.66, y - cap * 0.5)
        if rung.tempo_bpm == ladder.if_pass_bpm:
            _target(surface, text, size, numeral_right, y, cap)


def _target(surface: pygame.Surface, text: str, size: int, right: float, y: float, cap: int) -> None:
    """The dashed ring round the numeral a pass leads to."""
    width = measure(text, True) * size
    ring = dashed_ring(round(width + cap * 0.62), round(size * 1.6), max(3, round(cap * 0.065)), CREAM)
    surface.blit(ring, (round(right + cap * 0.28 - ring.get_width()), round(y - ring.get_height() / 2)))


def _rung(
    surface: pygame.Surface, rung: RungView, here: bool, left: float, right: float, y: float, cap: int
) -> None:
    thick = max(4, round(cap * (0.16 if here else 0.11)))
    ink: Colour = LAMP if here else STONE
    marks = _MARKS[rung.mark]
    size = min(cap * (0.62 if len(marks) < 2 else 0.5), (right - left) * (0.6 if len(marks) < 2 else 0.36))
    top, middle = round(y - thick / 2), (left + right) / 2
    half_gap = size * 0.62 * len(marks)
    # A failed rung is broken: its halves sag towards the break. A mixed one is broken on one side only.
    for start, end, sags in (
        (left, middle - half_gap, rung.mark is RungMark.FAILED),
        (right, middle + half_gap, rung.mark in (RungMark.FAILED, RungMark.MIXED)),
    ):
        sag = cap * 0.2 if sags else 0
        points = [(start, top), (end, top + sag), (end, top + sag + thick), (start, top + thick)]
        pygame.draw.polygon(surface, ink, points)
    x = middle - size * 1.1 * len(marks) / 2
    for mark in marks:
        stamp(surface, mark, size, CREAM, x + size * 0.05, y - size / 2)
        x += size * 1.1
    if here:
        peg = cap * 0.6
        stamp(surface, "peg", peg, LAMP, left - cap * 0.6, y - peg / 2)
