"""Pedaltrainer: every chord change clean and in time, and a record that shows it.

Three functions tell the story: `live.app.run` joins devices, clock and log;
`session.step` decides what happens next; `practice.ladders` turns answers
into the next tempo.
"""

import os

# What the libraries print about themselves would get between the player and the output.
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

__version__ = "0.1.0"
