"""No page, and no word of the program, points to a place that is not there."""

from __future__ import annotations

import importlib
import importlib.util
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = sorted([ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")])
CODE = sorted(path for room in ("pedaltrainer", "tests", "docs") for path in (ROOT / room).rglob("*.py"))
LINK = re.compile(r"\]\(([^)\s]+)\)")
DOCS_PATH = re.compile(r"(?<![\w/])docs/[\w./-]*[\w/]")
CODE_PATH = re.compile(r"`([\w/]+/[\w/]*\w\.py|(?:tests|configs|docs)/[\w./-]+)`")
IMPORT = re.compile(r"from (pedaltrainer[\w.]*) import (\w+(?:, \w+)*)")
MODULE = re.compile(r"python -m (tests\.[\w.]+\w)")


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def anchors(page: Path) -> set[str]:
    """The headings of a page as a link writes them: small letters, no marks, hyphens for spaces."""
    headings = re.findall(r"^#+ (.*)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def lost_links(page: Path) -> Iterator[str]:
    for link in LINK.findall(page.read_text(encoding="utf-8")):
        where, _, heading = link.partition("#")
        target = page.parent / where if where else page
        if not target.exists() or (heading and heading not in anchors(target)):
            yield link


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_every_link_of_a_page_leads_somewhere(page: Path) -> None:
    assert list(lost_links(page)) == []


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_every_file_and_module_that_a_page_names_is_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    paths = [*CODE_PATH.findall(text), *DOCS_PATH.findall(text)]
    paths += [f"{module.replace('.', '/')}.py" for module in MODULE.findall(text)]
    places = (ROOT, ROOT / "pedaltrainer")
    assert [path for path in paths if not any((at / path).exists() for at in places)] == []


def test_every_page_that_the_program_and_its_tests_name_is_there() -> None:
    found = {(path, name) for path in CODE for name in DOCS_PATH.findall(path.read_text(encoding="utf-8"))}
    assert len(found) >= 10
    assert [f"{named(path)}: {name}" for path, name in sorted(found) if not (ROOT / name).exists()] == []


def test_every_page_can_be_reached_from_the_first_one() -> None:
    reached: set[Path] = set()
    waiting = [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        if page in reached or page.suffix != ".md":
            continue
        reached.add(page)
        links = (link.partition("#")[0] for link in LINK.findall(page.read_text(encoding="utf-8")))
        waiting += [(page.parent / link).resolve() for link in links if link]
    assert [named(page) for page in PAGES if page not in reached] == []


def test_every_import_can_be_made_also_where_it_stands_in_a_text() -> None:
    """Code handed to another Python is a text to type checkers and to tools that move modules."""
    texts = [(path, path.read_text(encoding="utf-8")) for path in [*CODE, *PAGES]]
    found = {
        (where, name)
        for _, text in texts
        for where, names in IMPORT.findall(text)
        for name in names.split(", ")
    }
    assert len(found) > 300
    assert sorted(f"{where}.{name}" for where, name in found if not can_be_imported(where, name)) == []


def can_be_imported(where: str, name: str) -> bool:
    try:
        return hasattr(importlib.import_module(where), name) or bool(
            importlib.util.find_spec(f"{where}.{name}")
        )
    except ModuleNotFoundError:
        return False


def test_every_picture_is_shown_somewhere() -> None:
    texts = [(page, page.read_text(encoding="utf-8")) for page in PAGES]
    shown = {(page.parent / link).resolve() for page, text in texts for link in LINK.findall(text)}
    assert {path.name for path in (ROOT / "docs" / "pictures").glob("*.png") if path not in shown} == set()
