"""What a player sees while something takes long."""

from __future__ import annotations

import io
from itertools import count

from pedaltrainer.commands.waiting import with_bar


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_nothing_is_drawn_of_what_is_over_within_a_second():
    out = Terminal()
    assert list(with_bar("abc", "Reading", out, clock=lambda: 0.0)) == ["a", "b", "c"]
    assert out.getvalue() == ""


def test_after_a_second_a_bar_grows_and_is_wiped_away_at_the_end():
    out, seconds = Terminal(), count(0, 0.6)
    list(with_bar("abcdef", "Reading", out, clock=lambda: next(seconds)))
    drawn = out.getvalue().split("\r")[1:]
    assert drawn[0].startswith("Reading █")
    assert drawn[-2].endswith("5 of 6")
    assert [line.count("█") for line in drawn[:-1]] == [5, 10, 15, 20, 25]
    assert drawn[-1] == "\x1b[K"


def test_a_bar_is_wiped_away_when_the_work_stops_half_way():
    out, seconds = Terminal(), count(0, 2.0)
    bar = with_bar("abc", "Reading", out, clock=lambda: next(seconds))
    next(bar)
    bar.close()
    assert out.getvalue().endswith("\r\x1b[K")


def test_nothing_is_drawn_into_a_file():
    out, seconds = io.StringIO(), count(0, 2.0)
    assert len(list(with_bar("abc", "Reading", out, clock=lambda: next(seconds)))) == 3
    assert out.getvalue() == ""
