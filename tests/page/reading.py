"""A page read back by Python's own html.parser: its elements, and the text a reader would see."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta"})
ALLOWED = frozenset({
    "html", "head", "meta", "title", "style", "body", "header", "nav", "main", "section", "h1", "h2", "h3",
    "p", "ul", "li", "a", "bdi", "time", "dl", "div", "dt", "dd",
    "table", "thead", "tbody", "tr", "th", "td", "abbr", "details", "summary", "figure",
    "svg", "desc", "line", "text", "circle", "path", "rect",
})  # fmt: skip


@dataclass
class Element:
    tag: str
    attributes: dict[str, str | None]
    words: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return "".join(self.words)


class Reader(HTMLParser):
    """Every element in order; raises AssertionError where tags do not close as they opened."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(page)
        self.close()
        assert not self._open, [one.tag for one in self._open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in ALLOWED, tag
        one = Element(tag, dict(attrs))
        assert len(one.attributes) == len(attrs), attrs
        assert not any(name.startswith("on") for name in one.attributes), attrs
        self.elements.append(one)
        if tag not in VOID:
            self._open.append(one)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        for one in self._open:
            one.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def all(self, tag: str) -> list[Element]:
        return [one for one in self.elements if one.tag == tag]

    def texts(self, tag: str) -> list[str]:
        return [one.text for one in self.all(tag)]
