"""What became of takes that the log would not have, in words. Pure."""

from __future__ import annotations

from pathlib import Path

from pedaltrainer.system.amounts import counted


def kept_words(kept_in: Path | None) -> str:
    """What has become of a session that the log would not have."""
    if kept_in is None:
        return "What was answered since then could be kept nowhere else either."
    return f"Everything of this session is kept in {kept_in} and goes into the log at the next start."


def taken_in_words(takes: int) -> str:
    """What was kept aside earlier is in the log now."""
    are = "is" if takes == 1 else "are"
    return f"{counted(takes, 'take')} that the log would not have earlier {are} in it now."
