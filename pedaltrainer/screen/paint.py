"""Painters: each draws one panel's content on a surface already filled with the ground.

A painter's arguments are its whole input and hashable, so that a panel whose
arguments have not changed need not be painted again.
"""

from __future__ import annotations

import pygame

from pedaltrainer.screen.glyphs import SIGNS, glyph, glyph_width
from pedaltrainer.screen.ink import measure, write, write_chord
from pedaltrainer.screen.layout import Sizes, fit_chord, fit_words, wrap
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, SHADE, STONE, Colour
from pedaltrainer.screen.view import AckKind, AckView, HintView

ACK_SIGN = {
    AckKind.PRESS: "press",
    AckKind.PASS: "check",
    AckKind.FAIL: "cross",
    AckKind.NEXT: "arrow on",
    AckKind.OTHER: "press",
}


def stamp(surface: pygame.Surface, sign: str, height: float, colour: Colour, x: float, y: float) -> int:
    """Draw a sign with its left top at (x, y); returns its width in px."""
    picture = glyph(sign, max(2, round(height)), colour)
    surface.blit(picture, (round(x), round(y)))
    return picture.get_width()


def paint_words(
    surface: pygame.Surface, text: str, cap: int, align: float, colour: Colour, bold: bool, sign: str = ""
) -> None:
    """One line in the middle of the panel's height; a sign, if any, stands before it."""
    width, height = surface.get_size()
    lead = glyph_width(sign, cap * 1.15) + cap * 0.5 if sign else 0
    cap = fit_words(text, width - lead, cap, measure, bold)
    baseline = (height + cap) / 2
    whole = measure(text, bold) * cap + lead
    left = align * (width - whole)
    if sign:
        stamp(surface, sign, cap * 1.15, LAMP, left, baseline - cap * 1.08)
    write(surface, text, cap, colour, left + lead, baseline, bold=bold)


def paint_tempo(surface: pygame.Surface, tempo_bpm: int, cap: int) -> None:
    """The tempo: a bold figure and its unit."""
    height = surface.get_height()
    baseline = (height + cap) / 2
    # The figure may use all the strip: it is the quantity this program is about.
    large = min(round(cap * 1.25), round(height * 0.78))
    width = write(surface, str(tempo_bpm), large, CREAM, 0, baseline + (large - cap) / 2, bold=True)
    write(surface, "BPM", cap, STONE, width + cap * 0.45, baseline + (large - cap) / 2)


ACK_STEPS_S = (0.22, 0.9, 1.6)
"""Ages at which the acknowledgement steps back: plate, words, quiet words, gone."""


def ack_step(ack: AckView | None) -> int | None:
    """0 fresh, 1 settled, 2 leaving, None when there is nothing left to show."""
    if ack is None:
        return None
    return next((step for step, until_s in enumerate(ACK_STEPS_S) if ack.age_s < until_s), None)


def paint_ack(surface: pygame.Surface, kind: AckKind, words: str, step: int, cap: int) -> None:
    """The answer just given: first a filled plate, then words alone, then quieter words."""
    width, height = surface.get_size()
    sign = ACK_SIGN[kind]
    ink = (GROUND, LAMP, STONE)[step]
    sign_h = cap * 1.2
    lead = glyph_width(sign, sign_h) + cap * 0.6
    cap = fit_words(words, width - lead - cap, cap, measure, True)
    whole = measure(words, True) * cap + lead
    left = (width - whole) / 2
    if step == 0:
        plate = pygame.Rect(round(left - cap * 0.5), 0, round(whole + cap), height)
        pygame.draw.rect(surface, LAMP, plate, border_radius=round(height * 0.18))
    baseline = (height + cap) / 2
    stamp(surface, sign, sign_h, ink, left, baseline - cap / 2 - sign_h / 2)
    write(surface, words, cap, ink, left + lead, baseline, bold=True)


def paint_now(surface: pygame.Surface, chord: str, sizes: Sizes, label: str = "") -> None:
    """The chord to land: as large as the panel lets it be."""
    width, height = surface.get_size()
    fit = fit_chord(chord, width - sizes.gap, height, sizes, measure, round(max(sizes.chord_needed, height * 0.82)))
    # Room under the base line for "j" and the slash; the rest is above.
    baseline = height - max((height - fit.cap) * 0.62, fit.cap * 0.10)
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, CREAM, 0, baseline)


def paint_next(surface: pygame.Surface, chord: str, sizes: Sizes, leaning: bool) -> None:
    """The chord to aim for; while the hand is in the air it leans in towards the place of the first."""
    width, height = surface.get_size()
    words = sizes.words
    lead = words * 0.95
    room = width - lead - words * 0.7
    wanted = round(min(max(words * 1.2, height * 0.42), sizes.suffix_needed * 1.1))
    fit = fit_chord(chord, room, height * 0.8, sizes, measure, wanted)
    whole = lead
    left = words * 0.15 if leaning else words * 0.7
    ink = LAMP if leaning else STONE
    baseline = height - max((height - fit.cap) * 0.5, fit.cap * 0.12)
    sign_h = min(fit.cap * 0.62, words * 1.2)
    stamp(surface, "lean" if leaning else "press", sign_h if leaning else sign_h * 0.45, ink,
          left, baseline - fit.cap / 2 - (sign_h if leaning else sign_h * 0.45) / 2)  # fmt: skip
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, ink, left + whole, baseline)


def paint_count(surface: pygame.Surface, count: int, sizes: Sizes) -> None:
    """The number being counted in, as tall as the panel lets it be."""
    width, height = surface.get_size()
    cap = min(round(height * 0.82), int((width - sizes.words * 0.5) / max(1.0, measure(str(count), True))))
    cap = min(cap, sizes.chord_needed if sizes.chord_needed > height * 0.5 else round(height * 0.8))
    baseline = height - max((height - cap) * 0.62, cap * 0.10)
    write(surface, str(count), cap, LAMP, width / 2, baseline, bold=True, align=0.5)


def paint_beat(surface: pygame.Surface, down: bool, beat: int, sizes: Sizes) -> None:
    """The bow or pick sign of this half of the beat, and the beat's number in the bar."""
    width, height = surface.get_size()
    cap = int(min(sizes.words * 1.25, height * 0.34))
    sign = "down bow" if down else "up bow"
    sign_h = cap * 1.15
    gap = cap * 0.55
    left = (width - glyph_width("down bow", sign_h)) / 2
    left += (glyph_width("down bow", sign_h) - glyph_width(sign, sign_h)) / 2
    top = (height - sign_h - gap - cap) / 2
    # The sign keeps the plank's side: low when down, high when up.
    if down:
        stamp(surface, sign, sign_h, LAMP, left, top + cap + gap)
        write(surface, str(beat), cap, CREAM, width / 2, top + cap, bold=True, align=0.5)
    else:
        stamp(surface, sign, sign_h, LAMP, left, top)
        write(surface, str(beat), cap, STONE, width / 2, top + sign_h + gap + cap, bold=True, align=0.5)


def paint_dots(surface: pygame.Surface, landing: int, landings: int, cap: int) -> None:
    """Landings as pegs: filled when landed, a ringed one for this landing, hollow ones to come."""
    width, height = surface.get_size()
    words = f"{landing} of {landings}"
    figure_cap = min(cap, round(height * 0.86))
    text_w = measure(f"{landings} of {landings}", True) * figure_cap + cap * 0.6
    room = width - text_w
    pitch = min(room / max(1, landings), height * 1.5)
    write(surface, words, figure_cap, CREAM, width, (height + figure_cap) / 2, bold=True, align=1.0)
    size = min(height * 0.78, pitch * 0.8)
    if size < 6:
        return
    for index in range(landings):
        x = pitch * index + (pitch - size) / 2
        if index + 1 < landing:
            stamp(surface, "disc", size * 0.74, CREAM, x + size * 0.13, (height - size * 0.74) / 2)
        elif index + 1 == landing:
            stamp(surface, "ring", size, LAMP, x, (height - size) / 2)
            stamp(surface, "disc", size * 0.6, LAMP, x + size * 0.2, (height - size * 0.6) / 2)
        else:
            stamp(surface, "open string", size * 0.74, STONE, x + size * 0.13, (height - size * 0.74) / 2)


def _gesture(surface: pygame.Surface, gesture: str, cap: float, ink: Colour, x: float, middle: float) -> float:
    """The gesture's sign, or its name on a key cap when it is a key or another switch."""
    if gesture in SIGNS:
        return stamp(surface, gesture, cap * 1.25, ink, x, middle - cap * 0.66)
    small = cap * 0.74
    width = measure(gesture, True) * small + cap * 0.7
    frame = pygame.Rect(round(x), round(middle - cap * 0.85), round(width), round(cap * 1.7))
    pygame.draw.rect(surface, ink, frame, max(2, round(cap * 0.06)), border_radius=round(cap * 0.3))
    write(surface, gesture, round(small), ink, x + width / 2, middle + small / 2, bold=True, align=0.5)
    return width


def gesture_width(gesture: str, cap: float) -> float:
    if gesture in SIGNS:
        return glyph_width(gesture, cap * 1.25)
    return measure(gesture, True) * cap * 0.74 + cap * 0.7


def paint_hints(surface: pygame.Surface, hints: tuple[HintView, ...], cap: int, upright: bool) -> None:
    """What each gesture does now: sign and words, spread over the bar under a thin line."""
    width, height = surface.get_size()
    pygame.draw.rect(surface, SHADE, (0, 0, width, max(2, cap // 24)))
    if not hints:
        return
    widths = [gesture_width(hint.gesture, cap) + cap * 0.5 + measure(hint.words, True) * cap for hint in hints]
    if sum(widths) > width and not upright:
        cap = max(6, int(cap * width / sum(widths)))
        widths = [w * width / sum(widths) for w in widths]
    space = 0.0 if len(hints) == 1 else min((width - sum(widths)) / (len(hints) - 1), width * 0.2)
    x = 0.0 if upright else (width - sum(widths) - space * (len(hints) - 1)) / 2
    for row, (hint, whole) in enumerate(zip(hints, widths, strict=True)):
        middle = height * (row + 0.5) / len(hints) if upright else height * 0.54
        sign_w = _gesture(surface, hint.gesture, cap, LAMP, x, middle)
        write(surface, hint.words, cap, CREAM, x + sign_w + cap * 0.5, middle + cap / 2, bold=True)
        x += 0 if upright else whole + space


def paint_answers(surface: pygame.Surface, hints: tuple[HintView, ...], sizes: Sizes) -> None:
    """The answers a foot can give, one a row, sign and words as large as they go."""
    width, height = surface.get_size()
    if not hints:
        return
    row_h = height / len(hints)
    wanted = int(min(sizes.words * 1.9, row_h * 0.46))
    for cap in range(wanted, 6, -1):
        sign_w = max(gesture_width(hint.gesture, cap) for hint in hints)
        room = width - sign_w - cap * 0.9
        if all(measure(hint.words, True) * cap <= room for hint in hints):
            break
    for row, hint in enumerate(hints):
        middle = row_h * (row + 0.5)
        if row:
            pygame.draw.rect(surface, SHADE, (0, round(row_h * row), width, max(2, cap // 30)))
        own = gesture_width(hint.gesture, cap)
        _gesture(surface, hint.gesture, cap, LAMP, (sign_w - own) / 2, middle)
        x = sign_w + cap * 0.9
        write(surface, hint.words, cap, CREAM, x, middle + cap / 2, bold=True)
        small = min(sizes.words, round(cap * 0.6))
        taken = x + measure(hint.words, True) * cap + cap
        if hint.gesture in SIGNS and taken + measure(hint.gesture, False) * small < width:
            write(surface, hint.gesture, small, STONE, width, middle + cap / 2, align=1.0)


def paint_caption(surface: pygame.Surface, left: str, right: str, notice: str, cap: int) -> None:
    """The drill at the left, the time left at the right; a trouble takes the whole line."""
    width = surface.get_width()
    if notice:
        paint_words(surface, notice, cap, 0.0, CREAM, False, "trouble")
        return
    right_w = measure(right, False) * cap + cap if right else 0
    baseline = (surface.get_height() + cap) / 2
    if right:
        write(surface, right, cap, STONE, width, baseline, align=1.0)
    fitted = fit_words(left, width - right_w, cap, measure)
    write(surface, left, fitted, STONE, 0, baseline)


def paint_block(surface: pygame.Surface, text: str, cap: int, colour: Colour, sign: str = "") -> None:
    """A few words over as many lines as they need, a large sign at their left."""
    width, height = surface.get_size()
    sign_h = min(height * 0.72, width * 0.24) if sign else 0
    left = glyph_width(sign, sign_h) + cap * 0.8 if sign else 0
    while cap > 8:
        lines = wrap(text, width - left, cap, measure, True)
        widest = max((measure(line, True) * cap for line in lines), default=0)
        if len(lines) * cap * 1.6 <= height and widest <= width - left:
            break
        cap -= 1
    if sign:
        stamp(surface, sign, sign_h, LAMP, 0, (height - sign_h) / 2)
    y = (height - (len(lines) - 1) * cap * 1.6 - cap) / 2 + cap
    for line in lines:
        write(surface, line, cap, colour, left, y, bold=True)
        y += cap * 1.6


def paint_coming(surface: pygame.Surface, target: str, chord: str, sizes: Sizes) -> None:
    """What comes after the breath: the chord to land first, and the target."""
    width, height = surface.get_size()
    pygame.draw.rect(surface, SHADE, (0, 0, width, max(2, sizes.words // 30)))
    wanted = round(min(height * 0.6, sizes.suffix_needed * 1.1))
    cap = fit_words(target, width * 0.5, min(wanted, round(sizes.words * 1.9)), measure, True)
    baseline = (height + cap) / 2
    write(surface, target, cap, CREAM, 0, baseline, bold=True)
    fit = fit_chord(chord, width * 0.42, height * 0.8, sizes, measure, wanted)
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, STONE, width, (height + fit.cap) / 2, 1.0)
