"""Sound and MIDI files that appear whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from pedaltrainer.errors import InputError


@contextlib.contextmanager
def whole_file(path: str | Path) -> Iterator[BinaryIO]:
    """A file to write into, beside its place; renamed into it at the end, removed if that is not reached.

    Raises InputError when it cannot be written there.
    """
    target = Path(path)
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=".track-", suffix=".part", dir=target.parent)
        part = Path(name)
        with os.fdopen(handle, "wb") as file:
            yield file
        # mkstemp makes files private; a practice track is an ordinary file.
        umask = os.umask(0)
        os.umask(umask)
        part.chmod(0o666 & ~umask)
        part.replace(target)
        part = None
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(f"{target} cannot be written ({why}); choose another file with --out.") from error
    finally:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()
