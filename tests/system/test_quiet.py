"""What libraries say of their troubles stays off the player's terminal."""

from __future__ import annotations

import subprocess
import sys

import pytest

COMPLAINS = """
import sys
import rtmidi
from pedaltrainer.system.quiet import hush_alsa
if "hushed" in sys.argv:
    hush_alsa()
try:
    rtmidi.MidiIn(rtmidi.API_LINUX_ALSA)
except Exception:
    pass
"""


def complaint(*words: str) -> str:
    return subprocess.run(
        [sys.executable, "-c", COMPLAINS, *words], capture_output=True, text=True, check=True
    ).stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="there is no ALSA elsewhere")
def test_alsas_own_complaint_is_not_printed_once_it_is_hushed():
    if "ALSA" not in complaint():
        pytest.skip("ALSA has nothing to complain of here")
    assert complaint("hushed") == ""


def test_choosing_a_midi_library_and_a_sound_device_prints_nothing():
    code = (
        "from pedaltrainer.pedals.midi.backend import choose_backend; choose_backend(); "
        "from pedaltrainer.timing.stream import open_stream; open_stream(0.1)[0].close()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
