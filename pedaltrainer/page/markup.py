"""HTML that cannot be broken by what it holds: text becomes `Markup` only here, escaped.

Whatever is not `Markup` is text. Characters that HTML forbids (WHATWG HTML, "control characters" and
"noncharacters"), and those that turn the direction of writing for all that follows (Unicode Standard
Annex 9, "explicit directional formatting characters"), are left out: <bdi> gives a name its own direction
without them.
"""

from __future__ import annotations

import re
from datetime import date
from html import escape

from pedaltrainer.page.content import Name, Words

_UNWANTED = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef"
    + "".join(chr(plane + end) for plane in range(0, 0x110000, 0x10000) for end in (0xFFFE, 0xFFFF))
    + "]"
)
_DATE = re.compile(r"(?<!\d)(\d{4}-\d\d-\d\d)(?!\d)", re.ASCII)
_EMPTY = frozenset({"meta", "col", "wbr", "line", "rect", "circle", "path"})


class Markup(str):
    """A piece of HTML, whole and escaped."""

    __slots__ = ()


def text(words: str) -> Markup:
    """Text as HTML; safe between tags and between double quotes."""
    return Markup(escape(_UNWANTED.sub("", words)))


def element(tag: str, *inside: str, **attributes: str | float | None) -> Markup:
    """An element. In an attribute's name a last _ is dropped, any other is written -; None leaves it out."""
    written = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{text(_figure(value))}"'
        for name, value in attributes.items()
        if value is not None
    )
    if tag in _EMPTY and not inside:
        return Markup(f"<{tag}{written}/>" if tag not in {"meta", "col", "wbr"} else f"<{tag}{written}>")
    return Markup(f"<{tag}{written}>{joined(*inside)}</{tag}>")


def joined(*pieces: str) -> Markup:
    """Pieces one after the other; those that are no markup are escaped."""
    return Markup("".join(one if isinstance(one, Markup) else text(one) for one in pieces))


def day(one: date) -> Markup:
    """A date, for people and programs alike (ISO 8601)."""
    return element("time", one.isoformat(), datetime=one.isoformat())


def words(said: Words) -> Markup:
    """Words of a page: names stand apart from their surroundings, dates become <time>."""
    if isinstance(said, tuple):
        return joined(*map(words, said))
    if isinstance(said, Name):
        name = element("bdi", said.text)
        return name if said.to is None else element("a", name, href=f"#{said.to}")
    return joined(*(_dated(part) for part in _DATE.split(said)))


def bare(said: Words) -> str:
    """The same as text alone."""
    if isinstance(said, tuple):
        return "".join(map(bare, said))
    return said.text if isinstance(said, Name) else said


def _dated(part: str) -> str:
    try:
        return day(date.fromisoformat(part)) if _DATE.fullmatch(part) else part
    except ValueError:
        return part


def _figure(value: str | float) -> str:
    return value if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")
