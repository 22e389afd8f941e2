"""Rows saved from a log that SQLite will not read: page by page, as far as they go.

A table's rows stand in the leaf pages of its tree, each page complete in itself, and rows of a table
WITHOUT ROWID in the pages of an index tree (SQLite, "Database File Format", sections 1.6 and 2). So a page
is read wherever it lies, whatever the pages above it have become; a row that runs over is followed through
its overflow pages. Which table a row is of is told by its columns, and every row is held against the rules
of the log before it is believed.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

_TABLE_LEAF, _INDEX_LEAF, _INDEX_INTERIOR = 13, 10, 2
_HEADER_BYTES = 100
_USUAL_PAGE_BYTES = 4096
_MOST_TURNS = 8
_WAL_HEADER_BYTES, _FRAME_HEADER_BYTES = 32, 24
_WAL_MAGIC = (0x377F0682, 0x377F0683)
_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
"""Bytes of an integer by its serial type (section 2.1)."""


class TornError(Exception):
    """A row or page that is not whole."""


class Pages:
    """The pages of a log and of the write-ahead log beside it, by number from 1."""

    def __init__(self, path: Path) -> None:
        self._file = path.read_bytes()
        self.size = _page_bytes(self._file)
        self.count = -(-len(self._file) // self.size)
        wal = Path(f"{path}-wal")
        self._newer = _committed(wal.read_bytes(), self.size) if wal.is_file() else {}
        self.count = max([self.count, *self._newer])
        self.left_over_bytes = _MOST_TURNS * len(self._file)
        """How much more is read of what runs over: pages may be made to lead to the same ones for ever."""
        # Bytes at the end of each page that are not SQLite's: none in a log of ours.
        self.usable = self.size

    def page(self, number: int) -> bytes:
        """A page, shorter than the others where the file was cut off."""
        return self._newer.get(number) or self._file[(number - 1) * self.size : number * self.size]


def _page_bytes(file: bytes) -> int:
    if len(file) >= _HEADER_BYTES and file.startswith(b"SQLite format 3\0"):
        (size,) = struct.unpack_from(">H", file, 16)
        size = 65536 if size == 1 else size
        if size >= 512 and size & (size - 1) == 0:
            return int(size)
    return _USUAL_PAGE_BYTES


def _committed(wal: bytes, size: int) -> dict[int, bytes]:
    """The newest state of each page that a whole transaction left in a write-ahead log (section 4.1)."""
    if len(wal) < _WAL_HEADER_BYTES or struct.unpack_from(">I", wal)[0] not in _WAL_MAGIC:
        return {}
    salts = wal[16:24]
    done: dict[int, bytes] = {}
    open_frames: dict[int, bytes] = {}
    for at in range(_WAL_HEADER_BYTES, len(wal) - _FRAME_HEADER_BYTES - size + 1, _FRAME_HEADER_BYTES + size):
        number, pages_after_commit = struct.unpack_from(">II", wal, at)
        if wal[at + 8 : at + 16] != salts:
            break
        open_frames[number] = wal[at + _FRAME_HEADER_BYTES : at + _FRAME_HEADER_BYTES + size]
        if pages_after_commit:
            done |= open_frames
            open_frames = {}
    return done


def records(pages: Pages, number: int) -> Iterator[tuple[Any, ...] | None]:
    """The rows that a page holds, each as its values; None for each that is not whole.

    Nothing for a page of any other kind. A row's own number is not among its values.
    """
    page = pages.page(number)
    start = _HEADER_BYTES if number == 1 else 0
    kind = page[start] if len(page) > start else 0
    if kind not in (_TABLE_LEAF, _INDEX_LEAF, _INDEX_INTERIOR):
        return
    pointers_at = start + (12 if kind == _INDEX_INTERIOR else 8)
    if len(page) < pointers_at:
        return
    (cells,) = struct.unpack_from(">H", page, start + 3)
    for cell in range(min(cells, (len(page) - pointers_at) // 2)):
        (at,) = struct.unpack_from(">H", page, pointers_at + 2 * cell)
        try:
            yield _values(_payload(pages, page, at, kind))
        except (TornError, IndexError, struct.error, UnicodeDecodeError):
            yield None


def _payload(pages: Pages, page: bytes, at: int, kind: int) -> bytes:
    """The whole payload of a cell, with what runs over (section 1.6)."""
    if kind == _INDEX_INTERIOR:
        at += 4
    size, at = _varint(page, at)
    if kind == _TABLE_LEAF:
        _, at = _varint(page, at)
    usable = pages.usable
    most = usable - 35 if kind == _TABLE_LEAF else (usable - 12) * 64 // 255 - 23
    if size <= most:
        here = size
    else:
        least = (usable - 12) * 32 // 255 - 23
        here = least + (size - least) % (usable - 4)
        here = here if here <= most else least
    payload = page[at : at + here]
    if len(payload) < here:
        raise TornError
    if here == size:
        return payload
    (next_page,) = struct.unpack_from(">I", page, at + here)
    return payload + _overflow(pages, next_page, size - here)


def _overflow(pages: Pages, number: int, left: int) -> bytes:
    parts: list[bytes] = []
    seen: set[int] = set()
    while left > 0:
        pages.left_over_bytes -= pages.size
        if number in seen or not 1 <= number <= pages.count or pages.left_over_bytes < 0:
            raise TornError
        seen.add(number)
        page = pages.page(number)
        part = page[4 : 4 + min(left, pages.usable - 4)]
        if len(part) < min(left, pages.usable - 4):
            raise TornError
        parts.append(part)
        left -= len(part)
        (number,) = struct.unpack_from(">I", page)
    return b"".join(parts)


def _values(payload: bytes) -> tuple[Any, ...]:
    """The values of a record (section 2.1)."""
    header_size, at = _varint(payload, 0)
    body, values = header_size, []
    while at < header_size:
        serial, at = _varint(payload, at)
        value, body = _value(payload, body, serial)
        values.append(value)
    return tuple(values)


def _value(payload: bytes, at: int, serial: int) -> tuple[Any, int]:
    if serial == 0:
        return None, at
    if serial in (8, 9):
        return serial - 8, at
    if serial in (10, 11):
        raise TornError
    size = 8 if serial == 7 else _INTEGER_BYTES.get(serial) or (serial - 12) // 2
    part = payload[at : at + size]
    if len(part) < size:
        raise TornError
    if serial in _INTEGER_BYTES:
        return int.from_bytes(part, "big", signed=True), at + size
    if serial == 7:
        return struct.unpack(">d", part)[0], at + size
    return (part if serial % 2 == 0 else part.decode("utf-8")), at + size


def _varint(data: Sequence[int], at: int) -> tuple[int, int]:
    """A number of 1 to 9 bytes, and where the next thing begins (section 1.6)."""
    value = 0
    for step in range(8):
        byte = data[at + step]
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at + step + 1
    return (value << 8) | data[at + 8], at + 9
