from __future__ import annotations

import os
import shutil

import pytest

from tests.ear.instruments import FLUID, Instrument, from_soundfont


@pytest.fixture(scope="session")
def guitar(tmp_path_factory: pytest.TempPathFactory) -> Instrument:
    """A steel-strung guitar of a SoundFont (Debian: fluidsynth and fluid-soundfont-gm)."""
    if not (shutil.which("fluidsynth") and FLUID.exists()):
        assert not os.environ.get("CI"), "CI installs fluidsynth and fluid-soundfont-gm"
        pytest.skip("needs fluidsynth and fluid-soundfont-gm")
    return from_soundfont(FLUID, 25, tmp_path_factory.mktemp("notes"))
