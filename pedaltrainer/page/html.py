"""A page as one HTML text. The same content gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import singledispatch

from pedaltrainer.page import content as c
from pedaltrainer.page import drawing
from pedaltrainer.page.look import STYLE
from pedaltrainer.page.markup import Markup, bare, day, element, joined, words

LANGUAGE = "en"
NO_SCRIPTS = "default-src 'none'; style-src 'unsafe-inline'"
"""Should anything ever slip through the escaping, the browser still loads and runs nothing."""


def page(one: c.Page) -> str:
    """The whole text. Nothing in it refers to another file or host, and nothing in it runs."""
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=NO_SCRIPTS),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", name="referrer", content="no-referrer"),
        element("title", bare(one.title)),
        element("style", Markup(STYLE)),
    )
    body = element(
        "body",
        element("header", element("h1", words(one.title)), *_blocks(one.lead, "lead")),
        _contents(one.sections),
        element("main", *(_section(section, 2) for section in one.sections)),
    )
    return f"<!DOCTYPE html>\n{element('html', head, body, lang=LANGUAGE)}\n"


def _contents(sections: tuple[c.PageSection, ...]) -> Markup:
    links = (element("li", element("a", words(one.heading), href=f"#{one.key}")) for one in sections)
    return element("nav", element("ul", *links), aria_label="On this page")


def _section(one: c.PageSection, level: int) -> Markup:
    return element(
        "section",
        element(f"h{level}", words(one.heading), id=f"{one.key}-heading"),
        *_blocks(one.blocks, one.key),
        *(_section(inner, level + 1) for inner in one.sections),
        id=one.key,
        aria_labelledby=f"{one.key}-heading",
        class_="apart" if one.apart else None,
    )


def _blocks(blocks: tuple[c.Block, ...], key: str) -> Iterator[Markup]:
    for number, block in enumerate(blocks):
        yield _block(block, f"{key}-{number}")
        yield Markup("\n")


@singledispatch
def _block(block: c.Block, key: str) -> Markup:
    raise TypeError(f"a page has no {type(block).__name__}")


@_block.register
def _(block: c.Lines, key: str) -> Markup:
    if block.marked:
        return element("ul", *(element("li", words(line)) for line in block.lines))
    return joined(*(element("p", words(line)) for line in block.lines))


@_block.register
def _(block: c.Facts, key: str) -> Markup:
    pairs = (element("div", element("dt", label), element("dd", words(fact))) for label, fact in block.pairs)
    return element("dl", *pairs, class_="facts")


@_block.register
def _(block: c.TrendPlot, key: str) -> Markup:
    return drawing.trend(block, key)


@_block.register
def _(block: c.Bars, key: str) -> Markup:
    return drawing.bars(block, key)


@_block.register
def _(block: c.Table, key: str) -> Markup:
    def side(column: int) -> str | None:
        return "figure" if column in block.figures else None

    heads = (element("th", head, scope="col", class_=side(column)) for column, head in enumerate(block.heads))
    rows = (
        element(
            "tr",
            element("th", words(first), scope="row"),
            *(element("td", words(cell), class_=side(column)) for column, cell in enumerate(rest, 1)),
        )
        for first, *rest in block.rows
    )
    drawn = _wide(key, element("thead", element("tr", *heads)), element("tbody", *rows))
    if block.folded:
        return element("details", element("summary", block.caption, id=f"{key}-name"), drawn)
    return joined(_caption(block.caption, key), drawn)


def _caption(said: str, key: str) -> Markup:
    # Not a <caption>: that would be as wide as its table, and be cut off where the table is rolled.
    return element("p", words(said), class_="caption", id=f"{key}-name")


def _wide(key: str, *parts: Markup, class_: str = "wide") -> Markup:
    """A table that is rolled sideways within itself where the screen is narrow, by keys too."""
    named = f"{key}-name"
    table = element("table", *parts, aria_labelledby=named)
    return element("div", table, class_=class_, role="group", aria_labelledby=named, tabindex="0")


@_block.register
def _(block: c.Weeks, key: str) -> Markup:
    heads = (
        element("th", "week of", scope="col"),
        element("th", "minutes", scope="colgroup", colspan=2),
        element("th", "days", scope="col", class_="figure"),
    )
    most = max((one.minutes for one in block.weeks), default=0.0)
    weeks = (
        element(
            "tr",
            element("th", day(one.monday), scope="row"),
            element("td", _minutes(one.minutes), class_="figure"),
            element("td", drawing.board(one.minutes / most if most else 0.0)),
            element("td", f"{one.days}" if one.days else "–", class_="figure"),
        )
        for one in block.weeks
    )
    drawn = _wide(key, element("thead", element("tr", *heads)), element("tbody", *weeks), class_="wide weeks")
    return joined(_caption(block.caption, key), drawn)


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f}" if minutes >= 0.5 else "< 1" if minutes else "none"
