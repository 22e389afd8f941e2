"""Pages of words and menus: large type, one figure at most, a plank under the choice."""

from __future__ import annotations

import re

import pygame

from pedaltrainer.screen.fit import (
    LINE_PITCH,
    Sizes,
    Zone,
    fit_words,
    menu_lines,
    menu_rows,
    page_cap,
    page_text_room,
    rows_in_sight,
    small_cap,
    wrap,
)
from pedaltrainer.screen.ink import write
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.paint import stamp
from pedaltrainer.screen.palette import CREAM, LAMP, SHADE, STONE
from pedaltrainer.screen.view import PageView


def paint_page(surface: pygame.Surface, page: PageView, sizes: Sizes) -> None:
    """The figure, if any, at the left over its words; the lines beside it, the small print below."""
    width, height = surface.get_size()
    body = Zone(0, 0, width, height)
    cap = page_cap(page, body, sizes)
    text_w, text_h = page_text_room(page, body, sizes)
    left, top = width - text_w, height - text_h
    if page.figure:
        beside = left > 0
        room_w, room_h = (left - sizes.gap * 4, height) if beside else (width, top)
        _figure(surface, page, room_w, room_h, sizes)
        if beside:
            rule = (
                round(left - sizes.gap * 2.5),
                round(height * 0.06),
                max(2, cap // 24),
                round(height * 0.88),
            )
            pygame.draw.rect(surface, SHADE, rule)
    small = small_cap(cap)
    rows = [wrap(line, text_w - 1.2 * cap, cap) for line in page.lines]
    prints = [part for line in page.small_print for part in wrap(line, text_w, small)]
    used = sum(len(lines) * 1.62 * cap + 0.4 * cap for lines in rows) + len(prints) * 1.7 * small
    y = top + max(0.0, (text_h - used) / 2) + cap * 1.15
    for lines in rows:
        stamp(surface, "press", cap * 0.4, LAMP, left, y - cap * 0.7)
        for line in lines:
            write(surface, line, cap, CREAM, left + cap * 1.05, y)
            y += 1.62 * cap
        y += 0.4 * cap
    for line in prints:
        write(surface, line, small, STONE, left, y - cap + small)
        y += 1.7 * small


def _figure(surface: pygame.Surface, page: PageView, room_w: float, room_h: float, sizes: Sizes) -> None:
    """The figure: its number as large as it goes, words before it above, its unit on the same base line."""
    leading, number, unit = parts_of(page.figure)
    unit_w = measure(unit, False) * sizes.words + sizes.words * 0.5 if unit else 0.0
    cap = fit_words(number, room_w - unit_w, int(min(sizes.chord_needed * 0.8, room_h * 0.5)), True)
    words = sizes.words
    while True:
        lines = wrap(page.figure_words, room_w, words)
        fits = all(measure(line, False) * words <= room_w for line in (*lines, leading))
        above = words * 1.9 if leading else 0.0
        if words < 8 or (fits and above + cap + len(lines) * words * 1.6 + words <= room_h):
            break
        words -= 1
    baseline = (room_h - above - cap - words * (0.5 + 1.6 * len(lines))) / 2 + above + cap
    if leading:
        write(surface, leading, words, CREAM, room_w / 2, baseline - cap - words * 0.8, bold=True, align=0.5)
    left = (room_w - measure(number, True) * cap - unit_w) / 2
    number_w = write(surface, number, cap, LAMP, left, baseline, bold=True)
    write(surface, unit, sizes.words, STONE, left + number_w + sizes.words * 0.5, baseline)
    for row, line in enumerate(lines):
        y = baseline + words * (2.1 + 1.6 * row)
        write(surface, line, words, STONE, room_w / 2, y, align=0.5)


_NUMBER = re.compile(r"(?P<leading>\D*?)\s*(?P<number>\d\S*)\s*(?P<unit>.*)")


def parts_of(figure: str) -> tuple[str, str, str]:
    """A figure's words before its number, its number, and its unit: "faster than 190 BPM", "5 of 7"."""
    found = _NUMBER.fullmatch(figure)
    return (found["leading"], found["number"], found["unit"]) if found else ("", figure, "")


def paint_lines(surface: pygame.Surface, lines: tuple[str, ...], sizes: Sizes) -> None:
    """The words above a menu."""
    for row, line in enumerate(menu_lines(lines, surface.get_width(), sizes)):
        write(surface, line, sizes.words, STONE, 0, sizes.words * (1.2 + LINE_PITCH * row))


def paint_menu(
    surface: pygame.Surface, choices: tuple[str, ...], marked: int, rested: float | None, sizes: Sizes
) -> None:
    """The choices; the marked one is larger in weight, has a peg before it and lies on a plank.

    rested: while a foot rests to choose it, how much of the plank has filled from the left.
    """
    width, height = surface.get_size()
    rows = menu_rows(choices, Zone(0, 0, width, height), sizes)
    cap, row_h, seen = rows
    first, y = rows_in_sight(rows, len(choices), marked, height)
    shown = choices[first : first + seen]
    for index, choice in enumerate(shown, start=first):
        chosen = index == marked
        baseline = y + (row_h + cap) / 2 - cap * 0.1
        if chosen:
            stamp(surface, "peg", cap, LAMP, 0, baseline - cap)
            below, thick = (0.36, 0.18) if row_h >= cap * 1.9 else (0.25, 0.1)
            plank = pygame.Rect(
                round(cap * 1.4),
                round(baseline + cap * below),
                round(width - cap * 1.4),
                round(cap * thick),
            )
            if rested is not None:
                pygame.draw.rect(surface, SHADE, plank, border_radius=2)
                plank.width = round(plank.width * rested)
            pygame.draw.rect(surface, LAMP, plank, border_radius=2)
        write(surface, choice, cap, CREAM if chosen else STONE, cap * 1.6, baseline, bold=chosen)
        y += row_h
    if seen == len(choices):
        return
    # Where the list goes on: so many rows above, so many below.
    x, baseline = cap * 1.6, height - cap * 0.3
    for more, sign in ((first, "arrow up"), (len(choices) - seen - first, "arrow down")):
        if more:
            x += stamp(surface, sign, cap * 0.8, LAMP, x, baseline - cap * 0.9) + cap * 0.3
            x += write(surface, f"{more} more", cap, STONE, x, baseline) + cap
