"""Which input the ear listens to: a microphone, or a MIDI guitar."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pedaltrainer.pedals.midi.guitar_port import GuitarPort
from pedaltrainer.pedals.midi.input import list_inputs
from pedaltrainer.pedals.pedalboard import Pedalboard
from pedaltrainer.showing.home.set_up import MIDI_GUITAR
from pedaltrainer.timing.guitar import Guitar
from pedaltrainer.timing.microphone import Hearing, input_names, open_microphone


def guitar_part(
    wish: str, sounds: Callable[[], Sequence[str]], midi: Callable[[], Sequence[str]]
) -> str | None:
    """A part of the name of the MIDI input that is wished for; None where a microphone is.

    sounds, midi: the names of the inputs there are. "MIDI guitar: NAME" is one for sure, also while it is
    not plugged in; a bare part of a name is looked for among the sound inputs first.
    """
    kind, colon, name = wish.partition(":")
    if colon and kind.strip().casefold() == MIDI_GUITAR.casefold():
        return name.strip()
    part = wish.casefold()
    if not part or any(part in one.casefold() for one in sounds()):
        return None
    return wish if any(part in one.casefold() for one in midi()) else None


class EarInput:
    """What the ear of a stage listens to. A MIDI input that is the ear's is no pedal, session or not."""

    def __init__(self, pedals: Pedalboard) -> None:
        self._pedals = pedals
        self._wish = ""
        self._guitar: Guitar | None = None

    def look_after(self, wish: str) -> None:
        """What is wished for may have changed."""
        if wish == self._wish:
            return
        self._wish = wish
        part = guitar_part(wish, input_names, list_inputs)
        self._guitar = guitar = None if part is None else Guitar()
        self._pedals.give_up(None if part is None or guitar is None else GuitarPort(part, guitar))

    def open(self) -> Hearing | Guitar | None:
        """For a session; None where there is no microphone."""
        return self._guitar or open_microphone(self._wish)
