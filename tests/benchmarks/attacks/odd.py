"""Odd values and odd changes, drawn by a seeded chance."""

from __future__ import annotations

import random

NO_TEXT = "r\udce9mi"
"""A byte that is not UTF-8, as Python has it from a terminal (PEP 383)."""
NASTY = (
    *(
        "",
        " ",
        "\t",
        "\n",
        "\r\n",
        "\x00",
        "\x1b[2J",
        "\x1b]0;x\x07",
        "\x9b31m",
        "\u202e",
        "\ufeff",
        "\u2028",
    ),
    *("=1+1", "+1", "-1", "@x", "'", '"', "\\", "/", "..", "../..", "~", "%s", "{0}", "$(x)", ";", "|", "&&"),
    *(
        "NaN",
        "Infinity",
        "-Infinity",
        "1e999",
        "-0",
        "0",
        "1",
        "-1",
        "9" * 30,
        "9" * 5000,
        "0x10",
        "1_000",
        "½",
    ),
    *(
        "null",
        "true",
        "[]",
        "{}",
        "[" * 5000,
        "{" * 5000,
        "(" * 200,
        "<" * 50,
        "[[a]]",
        "a.b.c=1",
        "a = [",
        "#",
    ),
    *(
        "Am",
        "E",
        "F#m7b5",
        "G[320003]",
        "Am E",
        "re-land F",
        "passage Am:3 G F:3/2",
        "x4",
        "+9",
        "H",
        "Bm7/9",
    ),
    *("ä", "ß", "字", "\U0001f3b8", "e\u0301", "\udce9", "a" * 300, "é" * 200, "2026-02-31", "31 February"),
    *(
        "title: x",
        "tempo: 9999",
        "tempo: 0",
        "tempo: nan",
        "metre: 0/0",
        "metre: 17/3",
        "| Am / / / |",
        "|:",
        ":|",
    ),
    *(
        "x1000000",
        "x0",
        "capo: 99",
        "by: 2026-13-01",
        "| % |",
        "| / |",
        "D.S.",
        "<!ENTITY a 'b'>",
        "&a;",
        "<a>",
    ),
)

DEEP = (
    "[" * 5000,
    "{" * 5000,
    "{a=" * 5000,
    '{"a":' * 5000,
    "(" * 5000,
    "<a>" * 500,
    "9" * 5000,
    "a." * 5000,
    "|:" * 900,
)
"""What makes a parser call itself again and again, or a number too long to be read."""
VALUES: tuple[object, ...] = (
    None, "", 0, -1, 1, 2**62, -(2**63), 9e999, -9e999, 1e308, 5e-324, 0.1, "x", b"\xff\xfe", b"", "[]",
    "{}", "[1]", '["Am"]', '["Am","E","F"]', '["", ""]', '[["Am"]]', "[" * 900 + "]" * 900,
    '{"a":' * 900 + "1" + "}" * 900, '{"drills": 3}', '{"event": "Opened"}',
    '{"event": "Due", "heard_s": 1e300}', '{"event": "Shut"}', "null", '"x"', "2026-02-31T10:00:00.000Z",
    "0000-00-00T00:00:00.000Z", "9999-12-31T23:59:59.999Z", "0001-01-01T00:00:00.000Z",
    "2026-03-01T18:05:60.000Z", "2026-03-01", "change Am E", "change Am E x4", "re-land F", "change E",
    "passage", "H", "level A Bm", "change Am E x99999999999", "pass", "fail", "void", "ask", "speak-up",
    "\x1b[2J\x1b]0;x\x07", "=1+1", "Robin", "Kim", "\u202etsil", "a" * 5000, "A\x00B", "rename", "archive",
    "9" * 400, "\ud7ff",
)  # fmt: skip
"""What a cell may be changed to."""


def text(chance: random.Random) -> str:
    """A short odd text."""
    kind = chance.random()
    if kind < 0.08:
        return chance.choice(DEEP)
    if kind < 0.6:
        return chance.choice(NASTY)
    if kind < 0.8:
        codes = [chance.choice((chance.randint(1, 126), chance.randint(128, 0xD7FF))) for _ in range(20)]
    codes = [chance.choice((chance.randint(1, 126), chance.randint(128, 0xD7FF))) for _ in range(20)]
    return "".join(map(chr, codes))[: chance.randint(1, 20)]


def mutated(data: bytes, chance: random.Random, others: tuple[bytes, ...] = ()) -> bytes:
    """The bytes with one to a few changes: flipped, cut, doubled, moved, or with something odd put in."""
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        data = chance.choice(_CHANGES)(data, chance)
    if others and chance.random() < 0.05:
        other = chance.choice(others)
        data = data[: chance.randint(0, len(data))] + other[chance.randint(0, len(other)) :]
    return data


def _slice(data: bytes, chance: random.Random) -> tuple[int, int]:
    first = chance.randint(0, len(data))
    return first, min(len(data), first + chance.choice((1, 2, 4, 10, 40, 200, len(data))))


def _flip(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 8, 64))):
        if changed:
            changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _cut(data: bytes, chance: random.Random) -> bytes:
    first, last = _slice(data, chance)
    return data[:first] + data[last:]


def _double(data: bytes, chance: random.Random) -> bytes:
    first, last = _slice(data, chance)
    times = chance.choice((1, 1, 2, 10, 1000 if last - first < 50 else 2))
    return data[:last] + data[first:last] * times + data[last:]


def _put_in(data: bytes, chance: random.Random) -> bytes:
    at = chance.randint(0, len(data))
    return data[:at] + text(chance).encode("utf-8", "surrogateescape") + data[at:]


def _value(data: bytes, chance: random.Random) -> bytes:
    """Put something odd in the place of a word or number."""
    marks = b" \n\t\"'<>=,:/[]{}|"
    starts = [at for at in range(1, len(data)) if data[at - 1] in marks and data[at] not in marks]
    if not starts:
        return _put_in(data, chance)
    at = chance.choice(starts)
    end = next((place for place in range(at, len(data)) if data[place] in marks), len(data))
    return data[:at] + text(chance).encode("utf-8", "surrogateescape") + data[end:]


def _swap_lines(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return b"\n".join(lines)


_CHANGES = (_flip, _flip, _cut, _double, _put_in, _put_in, _value, _value, _value, _swap_lines)
