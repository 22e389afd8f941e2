"""A day as players write it. Pure: today is given."""

from __future__ import annotations

import contextlib
import re
from datetime import date

MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
_FORMS = tuple(
    re.compile(form)
    for form in (
        r"(?P<year>[0-9]{4})-(?P<number>[0-9]{1,2})-(?P<day>[0-9]{1,2})",
        r"(?P<day>[0-9]{1,2})\.? +(?P<month>[a-z]{3,9})\.?(?:,? +(?P<year>[0-9]{4}))?",
        r"(?P<month>[a-z]{3,9})\.? +(?P<day>[0-9]{1,2})(?:,? +(?P<year>[0-9]{4}))?",
    )
)
_YEARS_TO_A_LEAP_DAY = 8


def parse_day(text: str, today: date | None = None) -> date | None:
    """Read "2026-12-12", "12 December 2026" or "December 12"; without a year, the next such day from today.

    None when it is no day, or has no year and today is not given.
    """
    plain = text.strip().lower()
    found = next((match for form in _FORMS if (match := form.fullmatch(plain))), None)
    if found is None:
        return None
    parts = found.groupdict()
    month = int(parts["number"]) if parts.get("number") else _month(parts["month"])
    if parts["year"]:
        return _day(int(parts["year"]), month, int(parts["day"]))
    if today is None:
        return None
    years = range(today.year, today.year + _YEARS_TO_A_LEAP_DAY + 1)
    days = (_day(year, month, int(parts["day"])) for year in years)
    return next((day for day in days if day and day >= today), None)


def _month(word: str) -> int:
    return next((number for number, month in enumerate(MONTHS, start=1) if month.startswith(word)), 0)


def _day(year: int, month: int, day: int) -> date | None:
    with contextlib.suppress(ValueError):
        return date(year, month, day)
    return None
