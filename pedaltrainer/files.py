"""Small files of the player's, written so that a power cut leaves a whole one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from pedaltrainer.errors import InputError


def write_whole(path: Path, text: str) -> None:
    """Write text to a file, through a neighbour and a rename: the old file or the new one, never half of one.

    Its folder is made if needed; a link is followed, so that a file kept
    elsewhere stays there. Raises InputError when it cannot be written.
    """
    target = path.resolve()
    temporary: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "wb", dir=target.parent, prefix=f".{target.stem}-", delete=False
        ) as file:
            temporary = Path(file.name)
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(target)
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise InputError(
            f"{path} cannot be written ({error.strerror}); "
            "make its folder writable or choose another with --data."
        ) from error
