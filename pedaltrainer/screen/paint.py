"""Painters: each draws one panel's content on a surface already filled with the ground.

A painter's arguments are its whole input and hashable, so that a panel whose
arguments have not changed need not be painted again.
"""

from __future__ import annotations

import pygame

from pedaltrainer.screen.fit import (
    CHORD_BASELINE,
    CHORD_SHARE,
    WORD_BASELINE,
    Sizes,
    Zone,
    answers_cap,
    fit_chord,
    fit_notice,
    fit_title,
    fit_words,
    gesture_width,
    hint_places,
    is_word,
    word_cap,
    wrap,
)
from pedaltrainer.screen.glyphs import SIGNS, glyph, glyph_width
from pedaltrainer.screen.ink import write, write_chord
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, SHADE, STONE, Colour
from pedaltrainer.screen.view import AckView, HintView


def stamp(surface: pygame.Surface, sign: str, height: float, colour: Colour, x: float, y: float) -> int:
    """Draw a sign with its left top at (x, y); returns its width in px."""
    picture = glyph(sign, max(2, round(height)), colour)
    surface.blit(picture, (round(x), round(y)))
    return picture.get_width()


def paint_words(
    surface: pygame.Surface, text: str, cap: int, align: float, colour: Colour, bold: bool
) -> None:
    """One line in the middle of the panel's height, at the left, middle or right (align 0, 0.5, 1)."""
    width, height = surface.get_size()
    cap = fit_words(text, width, cap, bold)
    write(surface, text, cap, colour, align * width, (height + cap) / 2, bold=bold, align=align)


DESCENT = 0.34
"""How far letters hang below the base line, in cap heights."""


def paint_title(surface: pygame.Surface, text: str, sizes: Sizes) -> None:
    """What a page or a menu is about, in one line or two."""
    width, height = surface.get_size()
    lines, cap = fit_title(text, width, sizes)
    row_h = height / len(lines)
    # In the middle, or higher where a tail would hang out of the panel.
    lift = max(0.0, DESCENT * cap - (row_h - cap) / 2)
    for row, line in enumerate(lines):
        write(surface, line, cap, LAMP, 0, row_h * (row + 0.5) + cap / 2 - lift, bold=True)


def paint_notice(surface: pygame.Surface, text: str, cap: int) -> None:
    """A trouble, behind its sign, in one line or two."""
    width, height = surface.get_size()
    lines, cap = fit_notice(text, Zone(0, 0, width, height), cap)
    whole = max(measure(line, False) for line in lines) * cap + cap * 1.7
    left, y = (width - whole) / 2, (height - (len(lines) - 1) * cap * 1.6 + cap) / 2
    stamp(surface, "trouble", cap * 1.15, LAMP, left, (height - cap * 1.15) / 2)
    for line in lines:
        write(surface, line, cap, CREAM, left + cap * 1.7, y)
        y += cap * 1.6


def paint_tempo(surface: pygame.Surface, tempo_bpm: int, cap: int) -> None:
    """The tempo: a bold figure and its unit, both within the strip however many figures there are."""
    room, height = surface.get_size()
    unit = measure("BPM", False) * cap + cap * 0.45
    # The figure may use all the strip: it is the quantity this program is about.
    large = min(round(cap * 1.25), round(height * 0.78))
    large = min(large, int((room - unit) / measure(str(tempo_bpm), True)))
    baseline = (height + cap) / 2
    width = write(surface, str(tempo_bpm), large, CREAM, 0, baseline + (large - cap) / 2, bold=True)
    write(surface, "BPM", cap, STONE, width + cap * 0.45, baseline + (large - cap) / 2)


ACK_STEPS_S = (0.22, 0.9, 1.6)
"""Ages at which the acknowledgement steps back: plate, words, quiet words, gone."""


def ack_step(ack: AckView | None) -> int | None:
    """0 fresh, 1 settled, 2 leaving, None when there is nothing left to show."""
    if ack is None:
        return None
    return next((step for step, until_s in enumerate(ACK_STEPS_S) if ack.age_s < until_s), None)


def paint_ack(surface: pygame.Surface, sign: str, words: str, step: int, cap: int) -> None:
    """The answer just given: first a filled plate, then words alone, then quieter words."""
    width, height = surface.get_size()
    ink = (GROUND, LAMP, STONE)[step]
    sign_h = cap * 1.2
    lead = glyph_width(sign, sign_h) + cap * 0.6
    cap = fit_words(words, width - lead - cap, cap, True)
    whole = measure(words, True) * cap + lead
    left = (width - whole) / 2
    if step == 0:
        plate = pygame.Rect(round(left - cap * 0.5), 0, round(whole + cap), height)
        pygame.draw.rect(surface, LAMP, plate, border_radius=round(height * 0.18))
    baseline = (height + cap) / 2
    stamp(surface, sign, sign_h, ink, left, baseline - cap / 2 - sign_h / 2)
    write(surface, words, cap, ink, left + lead, baseline, bold=True)


def paint_now(surface: pygame.Surface, chord: str, sizes: Sizes, in_the_air: bool = False) -> None:
    """The chord to land: as large as the panel lets it be, and lit while the hand is on its way to it."""
    width, height = surface.get_size()
    ink = LAMP if in_the_air else CREAM
    if is_word(chord):
        # Some of its letters hang below the line.
        cap = word_cap(chord, width, height, sizes)
        write(surface, chord, cap, ink, 0, height * WORD_BASELINE, bold=True)
        return
    fit = fit_chord(chord, width - sizes.gap, height, sizes, height)
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, ink, 0, height * CHORD_BASELINE)


def paint_next(surface: pygame.Surface, chord: str, sizes: Sizes) -> None:
    """The chord to aim for, behind a bar line on the base line of the first."""
    width, height = surface.get_size()
    words = sizes.words
    left, lead = words * 0.5, words * 0.75
    wanted = round(min(max(words * 1.2, height * 0.42), sizes.suffix_needed * 1.2))
    fit = fit_chord(chord, width - words * 1.35, height, sizes, wanted)
    baseline = height * CHORD_BASELINE
    line = (round(left), round(baseline - fit.cap * 1.12), max(3, words // 14), round(fit.cap * 1.24))
    pygame.draw.rect(surface, STONE, line)
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, STONE, left + lead, baseline)


def paint_count(surface: pygame.Surface, count: int, sizes: Sizes) -> None:
    """The number being counted in, as tall as the panel lets it be."""
    width, height = surface.get_size()
    cap = min(
        int(height * CHORD_SHARE), int((width - sizes.words * 0.5) / max(1.0, measure(str(count), True)))
    )
    write(surface, str(count), cap, LAMP, width / 2, height * CHORD_BASELINE, bold=True, align=0.5)


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
    if not beat:
        return
    if down:
        stamp(surface, sign, sign_h, LAMP, left, top + cap + gap)
        write(surface, str(beat), cap, CREAM, width / 2, top + cap, bold=True, align=0.5)
    else:
        stamp(surface, sign, sign_h, LAMP, left, top)
        write(surface, str(beat), cap, STONE, width / 2, top + sign_h + gap + cap, bold=True, align=0.5)


def paint_dots(surface: pygame.Surface, landing: int, landings: int, cap: int) -> None:
    """Landings as pegs: filled when landed, a ringed one for this landing, hollow ones to come.

    Nothing where none are counted.
    """
    if not landings:
        return
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


STROKES = {"D": "down bow", "U": "up bow", "x": "cross"}


def paint_strokes(surface: pygame.Surface, pattern: str, now: int | None) -> None:
    """A row of the strokes of a bar, the one that is played now in the lamp's light; a rest is a peg."""
    width, height = surface.get_size()
    pitch = width / len(pattern)
    size = min(height * 0.9, pitch * 0.8)
    for place, letter in enumerate(pattern):
        ink = LAMP if place == now else CREAM if letter in STROKES else STONE
        sign = STROKES.get(letter, "disc")
        sign_h = size if letter in STROKES else size * 0.3
        left = pitch * (place + 0.5) - glyph_width(sign, sign_h) / 2
        stamp(surface, sign, sign_h, ink, left, (height - sign_h) / 2)
    if now is not None:
        line = pygame.Rect(round(pitch * now), height - 3, round(pitch), 3)
        pygame.draw.rect(surface, LAMP, line)


def _gesture(
    surface: pygame.Surface, gesture: str, cap: float, ink: Colour, x: float, middle: float
) -> float:
    """The gesture's sign, or its name on a key cap when it is a key or another switch."""
    if gesture in SIGNS:
        return stamp(surface, gesture, cap * 1.25, ink, x, middle - cap * 0.66)
    small = cap * 0.74
    width = measure(gesture, True) * small + cap * 0.7
    frame = pygame.Rect(round(x), round(middle - cap * 0.85), round(width), round(cap * 1.7))
    pygame.draw.rect(surface, ink, frame, max(2, round(cap * 0.06)), border_radius=round(cap * 0.3))
    write(surface, gesture, round(small), ink, x + width / 2, middle + small / 2, bold=True, align=0.5)
    return width


def paint_hints(surface: pygame.Surface, hints: tuple[HintView, ...], cap: int, upright: bool) -> None:
    """What each gesture does now: sign and words, spread over the bar under a thin line."""
    width, height = surface.get_size()
    pygame.draw.rect(surface, SHADE, (0, 0, width, max(2, cap // 24)))
    if not hints:
        return
    places = [(0.0, 0.0)] * len(hints)
    if not upright:
        cap, places = hint_places(hints, cap, width)
    for row, (hint, (x, _)) in enumerate(zip(hints, places, strict=True)):
        middle = height * (row + 0.5) / len(hints) if upright else height * 0.54
        sign_w = _gesture(surface, hint.gesture, cap, LAMP, x, middle)
        write(surface, hint.words, cap, CREAM, x + sign_w + cap * 0.5, middle + cap / 2, bold=True)


def paint_answers(surface: pygame.Surface, hints: tuple[HintView, ...], sizes: Sizes) -> None:
    """The answers a foot can give, one a row: the sign large, the words large, the gesture's name below."""
    width, height = surface.get_size()
    if not hints:
        return
    row_h = height / len(hints)
    sign_cap = min(sizes.words * 1.7, row_h * 0.55)
    sign_w = max(gesture_width(hint.gesture, sign_cap) for hint in hints)
    x = sign_w + sizes.words * 0.9
    cap = answers_cap(hints, width, height, sizes)
    # A gesture's name is for the first evening; where it would crowd the words, the sign must do.
    small = round(min(sizes.words * 0.8, row_h * 0.22))
    spelt = row_h >= cap * 1.5 + small * 1.4 and small >= sizes.words * 0.6
    for row, hint in enumerate(hints):
        middle = row_h * (row + 0.5)
        if row:
            pygame.draw.rect(surface, SHADE, (0, round(row_h * row), width, max(2, cap // 30)))
        own = gesture_width(hint.gesture, sign_cap)
        _gesture(surface, hint.gesture, sign_cap, LAMP, (sign_w - own) / 2, middle)
        named = spelt and hint.gesture in SIGNS
        baseline = middle + cap / 2 - (small * 0.95 if named else 0)
        write(surface, hint.words, cap, CREAM, x, baseline, bold=True)
        if named:
            write(surface, hint.gesture, small, STONE, x, baseline + cap * 0.40 + small)


def paint_caption(surface: pygame.Surface, left: str, right: str, cap: int) -> None:
    """The drill at the left, the time left at the right."""
    width = surface.get_width()
    right_w = measure(right, False) * cap + cap if right else 0
    baseline = (surface.get_height() + cap) / 2
    write(surface, right, cap, STONE, width, baseline, align=1.0)
    fitted = fit_words(left, width - right_w, cap)
    if fitted < cap * 0.75:
        # What is drilled matters more than the time left.
        surface.fill(GROUND)
        fitted = fit_words(left, width, cap)
    write(surface, left, fitted, STONE, 0, baseline)


def paint_verdict(surface: pygame.Surface, text: str, cap: int, sign: str, fresh: bool) -> None:
    """How it went: a large sign (on a plate while fresh) and the words, in as few lines as they need."""
    width, height = surface.get_size()
    sign_h = min(height * 0.74, width * 0.2) if sign else 0
    left = sign_h * 1.15 + cap * 0.6 if sign else 0
    least = round(cap * 0.6)
    while cap > 8:
        lines = wrap(text, width - left, cap, True)
        widest = max((measure(line, True) * cap for line in lines), default=0)
        allowed = 1 if cap >= least else 3
        if len(lines) <= allowed and len(lines) * cap * 1.6 <= height and widest <= width - left:
            break
        cap -= 1
    if sign:
        plate = pygame.Rect(0, round((height - sign_h) / 2), round(sign_h), round(sign_h))
        if fresh:
            pygame.draw.rect(surface, LAMP, plate, border_radius=round(sign_h * 0.14))
        inner = sign_h * 0.72
        offset = (sign_h - glyph_width(sign, inner)) / 2
        stamp(surface, sign, inner, GROUND if fresh else LAMP, offset, (height - inner) / 2)
    y = (height - (len(lines) - 1) * cap * 1.6 - cap) / 2 + cap
    for line in lines:
        write(surface, line, cap, CREAM, left, y, bold=True)
        y += cap * 1.6


def paint_coming(surface: pygame.Surface, target: str, chord: str, sizes: Sizes) -> None:
    """What comes after the breath: the chord to land first, if its box does not stand beside, and the
    target."""
    width, height = surface.get_size()
    pygame.draw.rect(surface, SHADE, (0, 0, width, max(2, sizes.words // 30)))
    wanted = round(min(height * 0.6, sizes.suffix_needed * 1.1))
    room = width * 0.5 if chord else width
    cap = fit_words(target, room, min(wanted, round(sizes.words * 1.9)), True)
    baseline = (height + cap) / 2
    write(surface, target, cap, CREAM, 0, baseline, bold=True)
    if not chord:
        return
    fit = fit_chord(chord, width * 0.42, height * 0.8, sizes, wanted)
    write_chord(surface, chord, fit.cap, fit.suffix_ratio, STONE, width, (height + fit.cap) / 2, 1.0)
