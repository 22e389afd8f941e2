"""Chord boxes in standard notation: strings upright, the nut or a position on top.

The lowest string is at the left, or at the right for a left-handed player.
"""

from __future__ import annotations

import pygame

from pedaltrainer.neck.box import ChordBox, finger_sign
from pedaltrainer.screen.fit import Sizes, fit_chord
from pedaltrainer.screen.ink import write, write_chord
from pedaltrainer.screen.paint import stamp
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, STONE


def paint_study(
    surface: pygame.Surface,
    chord: str,
    box: ChordBox | None,
    left_handed: bool,
    sizes: Sizes,
    due: bool | None = None,
) -> None:
    """A chord to study: its name, and its box below or beside it.

    due: whether it is the one to land now; None where chords do not take turns.
    """
    if due is not None:
        board = round(sizes.words * 0.16)
        if due:
            # Not told by its colour alone: a board stands beside it.
            pygame.draw.rect(surface, LAMP, (0, 0, board, surface.get_height()), border_radius=board // 2)
        surface = surface.subsurface((board * 2, 0, surface.get_width() - board * 2, surface.get_height()))
    width, height = surface.get_size()
    ink = LAMP if due else CREAM
    if box is None:
        fit = fit_chord(chord, width * 0.92, height * 0.8, sizes, sizes.chord_needed)
        write_chord(surface, chord, fit.cap, fit.suffix_ratio, CREAM, width / 2, (height + fit.cap) / 2, 0.5)
        return
    name_w = width * 0.29
    wanted = round(min(sizes.suffix_needed * 1.25, height * 0.34))
    fit = fit_chord(chord, name_w * 0.94, height * 0.5, sizes, wanted)
    # A long name has no room beside the box: it stands over it.
    if width > height * 1.05 and fit.cap >= min(wanted, sizes.words):
        write_chord(
            surface, chord, fit.cap, fit.suffix_ratio, ink, name_w * 0.47, (height + fit.cap) / 2, 0.5
        )
        draw_box(
            surface, box, pygame.Rect(round(name_w), 0, round(width - name_w), height), left_handed, sizes
        )
        return
    name_h = height * 0.27
    fit = fit_chord(chord, width * 0.9, name_h * 0.9, sizes, round(name_h * 0.72))
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, ink, width / 2, (name_h + fit.cap) / 2, 0.5)
    draw_box(surface, box, pygame.Rect(0, round(name_h), width, round(height - name_h)), left_handed, sizes)


def draw_box(
    surface: pygame.Surface, box: ChordBox, room: pygame.Rect, left_handed: bool, sizes: Sizes
) -> None:
    """Draw a box as large as `room` lets it be, in its middle."""
    strings, rows, base = len(box.frets), box.rows, box.first_fret
    # In units of the string gap: margin for a position number, dots over the edge, the x/o row.
    before, after = 1.25, 0.6
    unit = min(room.w / (strings - 1 + before + after), room.h / (rows * 1.12 + 1.75))
    fret_h = unit * 1.12
    left = room.x + (room.w - unit * (strings - 1 + before + after)) / 2 + unit * before
    top = room.y + (room.h - unit * (rows * 1.12 + 1.55)) / 2 + unit * 1.15
    right, bottom = left + unit * (strings - 1), top + rows * fret_h
    thin = max(2, round(unit * 0.035))

    for row in range(rows + 1):
        wire_y = round(top + row * fret_h)
        pygame.draw.rect(surface, STONE, (round(left), wire_y - thin // 2, round(right - left) + thin, thin))

    def across(string: int) -> float:
        return left + unit * (strings - 1 - string if left_handed else string)

    for string in range(strings):
        # Low strings are thicker, as on the neck: the picture says which way round it is.
        wire = max(2, round(thin * (1.9 - 0.9 * string / max(1, strings - 1))))
        wire_x = round(across(string))
        pygame.draw.rect(surface, STONE, (wire_x - wire // 2, round(top), wire, round(bottom - top)))
    if base == 1:
        nut = max(4, round(unit * 0.15))
        nut_box = (round(left - thin), round(top) - nut, round(right - left) + 3 * thin, nut)
        pygame.draw.rect(surface, CREAM, nut_box)
    else:
        cap = round(min(unit * 0.62, sizes.words))
        # A position number is read before the dots: it stands beside the first row.
        write(
            surface,
            str(base),
            cap,
            CREAM,
            left - unit * 0.55,
            top + fret_h / 2 + cap / 2,
            bold=True,
            align=1.0,
        )

    for string, fret in enumerate(box.frets):
        x, size = across(string), unit * 0.5
        if fret is None:
            stamp(surface, "cross", size, STONE, x - size / 2, top - unit * 0.32 - size)
        elif fret == 0:
            stamp(surface, "open string", size, CREAM, x - size / 2, top - unit * 0.32 - size)

    dot = unit * 0.84
    for barre in box.barres:
        y = top + (barre.fret - base + 0.5) * fret_h
        start = min(across(barre.first_string), across(barre.last_string))
        length = (barre.last_string - barre.first_string) * unit
        bar = pygame.Rect(round(start), round(y - dot * 0.36), round(length), round(dot * 0.72))
        pygame.draw.rect(surface, CREAM, bar)
    for string, (fret, finger) in enumerate(zip(box.frets, box.fingers, strict=True)):
        if not fret:
            continue
        x, y = across(string), top + (fret - base + 0.5) * fret_h
        if string in box.stays:
            ring = unit * 1.04
            stamp(surface, "disc", ring, GROUND, x - ring / 2, y - ring / 2)
            stamp(surface, "ring", ring, LAMP, x - ring / 2, y - ring / 2)
        stamp(surface, "disc", dot, CREAM, x - dot / 2, y - dot / 2)
        if finger:
            cap = round(dot * 0.56)
            write(surface, finger_sign(finger), cap, GROUND, x, y + cap / 2, bold=True, align=0.5)
