"""The stage's colours, and the contrast they must keep.

A warm near-black ground, cream for words, one accent (lamplight on wood).
`contrast` is the WCAG 2.2 ratio (W3C, 2023, "relative luminance" and
"contrast ratio"); every ink below keeps 7:1 or more (level AAA) against each
ground it is drawn on: `PAIRS` lists those, and the tests hold them to it.
"""

from __future__ import annotations

Colour = tuple[int, int, int]

GROUND: Colour = (21, 17, 14)
SHADE: Colour = (40, 32, 24)
"""A lifted ground: the clean-tempo band, the fret board of a chord box."""
CREAM: Colour = (245, 235, 216)
STONE: Colour = (188, 175, 154)
"""Cream in the shade: words that may wait."""
LAMP: Colour = (246, 183, 96)
"""The single accent: what is now, what was just answered."""

PAIRS: tuple[tuple[str, Colour, Colour], ...] = (
    ("words on the ground", CREAM, GROUND),
    ("waiting words on the ground", STONE, GROUND),
    ("accent on the ground", LAMP, GROUND),
    ("words on the clean-tempo band", CREAM, SHADE),
    ("accent on the clean-tempo band", LAMP, SHADE),
    ("waiting words on the clean-tempo band", STONE, SHADE),
    ("finger number on its dot", GROUND, CREAM),
    ("words on the accent", GROUND, LAMP),
)


def relative_luminance(colour: Colour) -> float:
    """Relative luminance 0..1 of an sRGB colour (WCAG 2.2)."""
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in (part / 255 for part in colour)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Colour, other: Colour) -> float:
    """Contrast ratio 1..21 of two sRGB colours (WCAG 2.2)."""
    lighter, darker = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
