"""A mistake of ours, written down before it is told."""

from __future__ import annotations

import tempfile
import traceback
from pathlib import Path


def kept() -> Path:
    """Write the particulars of the mistake that is being handled to a file; returns its path."""
    with tempfile.NamedTemporaryFile(
        "w", prefix="pedaltrainer-trouble-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write(traceback.format_exc())
        return Path(file.name)
