"""Numbers of things as English has them."""

from __future__ import annotations


def plural(number: float, thing: str) -> str:
    """ "take" when there is one, "takes" or "presses" for any other number."""
    return thing if number == 1 else f"{thing}{'es' if thing.endswith('s') else 's'}"


def counted(number: int, thing: str) -> str:
    """ "1 day", "1,204 takes"."""
    return f"{number:,} {plural(number, thing)}"
