"""The one way out to the terminal: whatever is printed, whoever wrote it, cannot steer what it is shown on.

Names, titles and what a MIDI device calls itself come from other people. A terminal obeys control characters
(ISO/IEC 6429) instead of showing them, and Unicode's marks of direction turn round what follows (UAX #9).
Both are shown as a mark, as is half a character; where a terminal lacks letters, plain ones stand for them.
"""

from __future__ import annotations

import errno
import os
import re
import sys

from pedaltrainer.errors import InputError

_STEERS = re.compile(
    "\r(?!\n)|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
_MARK = "\N{REPLACEMENT CHARACTER}"
_PLAIN = str.maketrans({"–": "-", "…": "...", "×": "x", "“": '"', "”": '"'})


def harmless(text: str) -> str:
    """The text with a mark in the place of every character that would steer a terminal; lines stay lines."""
    return _STEERS.sub(_MARK, text)


def harmless_json(text: str) -> str:
    """The same of JSON, where such a character can be named instead (RFC 8259, section 7)."""
    return _STEERS.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def put(text: str, *, to_stderr: bool = False, end: str = "\n") -> None:
    """Print a text that is harmless.

    Raises BrokenPipeError when nobody reads any more, and InputError when what reads it takes no more.
    """
    stream = sys.stderr if to_stderr else sys.stdout
    if stream is None:
        return
    encoding = stream.encoding or "ascii"
    text = harmless(text)
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = text.translate(_PLAIN).encode(encoding, errors="replace").decode(encoding)
    try:
        print(text, file=stream, end=end, flush=True)
    except BrokenPipeError:
        raise
    except OSError as error:
        if to_stderr:
            return
        if error.errno == errno.EIO:
            # A terminal that was closed reads no more than a pipe does.
            raise BrokenPipeError from error
        raise InputError(f"What was found cannot be printed ({error.strerror}).") from error


def put_as_is(text: str) -> None:
    """Print what has its own line ends, such as CSV, without another one after it."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(newline="")
    put(text, end="")


def nobody_reads() -> None:
    """What is still to be printed goes nowhere, so that the end of the program does not stumble over it."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        try:
            os.dup2(nowhere, stream.fileno())
        except (OSError, ValueError, AttributeError):
            continue
