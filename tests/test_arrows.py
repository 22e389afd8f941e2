"""The house in order: imports lead down the list of rooms, none comes round, a class has its name alone."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pedaltrainer

HOUSE = Path(pedaltrainer.__file__).parent
ROOMS = (
    *("__main__", "cli", "commands", "live", "telling", "history", "showing", "rehearsal", "session"),
    *("packs", "practice", "page", "paper", "records", "screen", "songs", "ear", "pedals", "timing", "neck"),
    *("system", "errors"),
)
"""From the street down. A room may use those below it, and itself."""


def imports() -> Iterator[tuple[str, str]]:
    """Each import of one module of the house by another, as their dotted paths below `pedaltrainer`."""
    modules = {".".join(path.relative_to(HOUSE).with_suffix("").parts): path for path in HOUSE.rglob("*.py")}
    for name, path in modules.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and str(node.module).startswith("pedaltrainer"):
                where = str(node.module).removeprefix("pedaltrainer").removeprefix(".")
                for one in node.names:
                    deeper = f"{where}.{one.name}".removeprefix(".")
                    yield name, deeper if deeper in modules else where


def test_arrows_only_lead_down():
    known = set(ROOMS)
    found = [(here, there) for here, there in imports() if there]
    assert len(found) > 500
    assert {here.split(".")[0] for here, _ in found} | {there.split(".")[0] for _, there in found} <= known
    up = [
        f"{here} -> {there}"
        for here, there in found
        if ROOMS.index(here.split(".")[0]) > ROOMS.index(there.split(".")[0])
    ]
    assert up == []


def test_no_module_comes_back_to_itself():
    below: dict[str, set[str]] = {}
    for here, there in imports():
        if there and here != there:
            below.setdefault(here, set()).add(there)
    TopologicalSorter(below).prepare()


def test_nothing_lies_loose():
    assert sorted(path.name for path in HOUSE.glob("*.py")) == [
        "__init__.py", "__main__.py", "cli.py", "errors.py",
    ]  # fmt: skip


def test_no_two_classes_share_a_name():
    named = Counter(
        node.name
        for path in HOUSE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
    )
    assert len(named) > 250
    assert [name for name, times in named.items() if times > 1] == []
