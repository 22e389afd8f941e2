"""Pedaltrainer: every chord change clean and in time, and a record that shows it.

Three functions tell the story: `app.run` joins devices, clock and log;
`session.step` decides what happens next; `practice.ladder` turns answers
into the next tempo.
"""

__version__ = "0.1.0"
