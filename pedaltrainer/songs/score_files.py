"""From a MusicXML file, plain or compressed, to its elements, with nothing else read. Thin shell.

A score from a stranger may be made to fill the memory or to fetch other files: defusedxml refuses entities
and outside references, and sizes, depth and the unpacked size of an .mxl are limited here.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import iterparse

from pedaltrainer.errors import InputError
from pedaltrainer.system.reading import read_some

LARGEST_BYTES = 10_000_000
LARGEST_CONTAINER_BYTES = 100_000
MOST_ELEMENTS = 500_000
DEEPEST = 64
"""Elements in one another: a score has about ten."""
_CONTAINER = "META-INF/container.xml"
_ZIP_BEGINS = b"PK"


def read_elements(path: Path) -> Element:
    """The root element of a score. Raises InputError when it cannot be read, is no XML or is unsafe."""
    data = _limited(path)
    if data.startswith(_ZIP_BEGINS):
        data = _unpacked(path, data)
    return _parsed(str(path), data)


def _limited(path: Path) -> bytes:
    return _checked_size(str(path), read_some(path, LARGEST_BYTES), LARGEST_BYTES)


def _checked_size(name: str, data: bytes, limit: int) -> bytes:
    if len(data) > limit:
        raise InputError(
            f"{name} has more than {limit / 1_000_000:g} MB; save the score with the chords' part alone."
        )
    return data


def _unpacked(path: Path, data: bytes) -> bytes:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = _parsed(f"{path}, {_CONTAINER}", _member(path, archive, _CONTAINER))
            rootfile = next((element for element in container.iter() if _tag(element) == "rootfile"), None)
            name = "" if rootfile is None else rootfile.get("full-path", "")
            return _member(path, archive, name)
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, OSError, RuntimeError, ValueError) as error:
        raise InputError(
            f"{path} is no compressed score that can be opened; save it again as .mxl or as .musicxml."
        ) from error


def _member(path: Path, archive: zipfile.ZipFile, name: str) -> bytes:
    limit = LARGEST_CONTAINER_BYTES if name == _CONTAINER else LARGEST_BYTES
    with archive.open(name) as file:
        return _checked_size(f"{path}, {name}, unpacked,", file.read(limit + 1), limit)


def _tag(element: Element) -> str:
    """The element's name without the namespace that a container may have."""
    return str(element.tag).rpartition("}")[2]


def _parsed(name: str, data: bytes) -> Element:
    depth = elements = 0
    root: Element | None = None
    try:
        for event, element in iterparse(io.BytesIO(data), events=("start", "end"), forbid_external=True):
            depth += 1 if event == "start" else -1
            elements += event == "start"
            root = element if root is None else root
            if depth > DEEPEST or elements > MOST_ELEMENTS:
                raise InputError(
                    f"{name} has elements more than {DEEPEST} deep or more than {MOST_ELEMENTS:,} of them, "
                    "as no score has; save it again from the program that wrote it."
                )
    except DefusedXmlException as error:
        raise InputError(
            f"{name} defines entities or refers to other files, which is not safe; "
            "save it again from the program that wrote it."
        ) from error
    except (ParseError, LookupError, ValueError) as error:
        raise InputError(
            f"{name} is not well-formed XML ({error}); save it again from the program that wrote it."
        ) from error
    assert root is not None  # an empty file is a ParseError
    return root
