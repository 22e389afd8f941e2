"""The ear in a session by a MIDI guitar: made-up notes come in, and what they were is told."""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator

import mido
import numpy as np
import pytest

from pedaltrainer.live.ear import Ear
from pedaltrainer.live.ear_input import guitar_part
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.effects import Run
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.showing.heard import heard_words
from pedaltrainer.songs.metre import FOUR_FOUR
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.timing.guitar import Guitar
from tests.ear.made_up import expected_of
from tests.ear.strummed import Fault
from tests.ear.test_from_notes import FAITHFUL
from tests.ear.tracked import HEXAPHONIC, Played, tracked

DRILL, LONG_AGO_S = parse_drill("C F"), 60.0


class NotesEvening:
    """Takes that are over by the clock of presses, at the tempos asked for, each handed to the ear."""

    def __init__(self) -> None:
        self.hand = Played(np.random.default_rng(3), FAITHFUL, HEXAPHONIC)
        self.guitar, self.said = Guitar(), queue.SimpleQueue()
        self.guitar.plugged_in("Six")
        self.guitar._whole_from_s = 0.0
        self.ear = Ear(self.guitar, shape_book(), self.said.put)
        self.serial = 0

    def sends(self, note: int, t_s: float) -> None:
        self.guitar.came(mido.Message("note_on", note=note), t_s)

    def plays(
        self, faults: dict[int, Fault] | None = None, tempo_bpm: int = 90, clean: bool | None = None
    ) -> EarHeard:
        start_s = time.perf_counter() - LONG_AGO_S + 20 * self.serial
        for one in tracked(expected_of("C F", tempo_bpm), self.hand, 0.05, faults)[0]:
            self.guitar.came(mido.Message("note_on", note=one.note, channel=one.channel), start_s + one.t_s)
        return self.listens(start_s, tempo_bpm, clean)

    def listens(self, start_s: float, tempo_bpm: int = 90, clean: bool | None = None) -> EarHeard:
        self.serial += 1
        run = Run(self.serial, DRILL, tempo_bpm, start_s, 4, FOUR_FOUR, 8)
        self.ear.listen_to(run, SimulatedStream())
        heard = self.said.get(timeout=10)
        if clean is not None:
            self.ear.answered(run, clean)
        return heard

    def checks(self) -> SoundChecked:
        self.ear.check(SimulatedStream())
        return self.said.get(timeout=5)


@pytest.fixture
def evening() -> Iterator[NotesEvening]:
    one = NotesEvening()
    yield one
    one.ear.close()
    assert one.ear.trouble == ""


def test_after_two_clean_takes_a_late_landing_is_answered_for(evening):
    assert not evening.plays(clean=True).has_reference
    assert not evening.plays(tempo_bpm=100, clean=True).has_reference, "one alone is none to answer by"
    heard = evening.plays({4: Fault(late_ms=110)}, tempo_bpm=84)
    assert (heard.take, heard.landings[4].verdict, heard.by_notes) == ("missed", "late", True)
    assert heard.landings[4].late_ms == pytest.approx(110, abs=35)
    assert heard.is_sure
    assert heard.first_sure == 5


def test_a_silent_string_is_told_by_its_name_and_is_nothing_to_answer_by(evening):
    for _ in range(2):
        evening.plays(clean=True)
    heard = evening.plays({4: Fault(dead=(2,))})
    assert "Landing 5: D silent" in heard_words(heard)
    assert not heard.is_sure


def test_what_is_no_guitars_take_is_a_sentence_each_and_no_verdict(evening):
    start_s = time.perf_counter() - 30
    assert heard_words(evening.listens(start_s)) == "No note came from the MIDI guitar"
    for beat in range(8):
        evening.sends(100, start_s + 3 + beat)
    assert heard_words(evening.listens(start_s)) == "Those are no guitar's notes"
    for number in range(6000):
        evening.sends(40 + number % 20, start_s + 4 + number / 2000)
    assert heard_words(evening.listens(start_s)) == "Too many notes for a guitar"
    evening.guitar.plugged_in("Six")  # again: it was away
    told = evening.listens(start_s)
    assert (told.take, told.why, told.is_sure) == ("unsure", "gone", False)
    assert heard_words(told) == "The MIDI guitar has gone"


def test_a_guitar_that_never_came_is_told_with_every_take():
    said: queue.SimpleQueue = queue.SimpleQueue()
    ear = Ear(Guitar(), shape_book(), said.put)
    ear.listen_to(Run(1, DRILL, 90, time.perf_counter() - 60, 4, FOUR_FOUR, 8), SimulatedStream())
    assert heard_words(said.get(timeout=5)) == "No MIDI guitar was found"
    ear.check(SimulatedStream())
    assert said.get(timeout=5).why == "no input"
    ear.close()


def test_the_check_hears_open_strings_by_their_names(evening):
    assert evening.ear.strings() == ()
    assert evening.checks().why == "silent"
    evening.sends(100, time.perf_counter())
    assert evening.checks().why == "other instrument"
    for note in (40, 50, 64):
        evening.sends(note, time.perf_counter())
    assert evening.ear.strings() == ("low E", "D", "high E")
    checked = evening.checks()
    assert (checked.name, checked.why, checked.click_db, checked.by_notes) == ("Six", "", None, True)


def test_under_a_capo_the_open_strings_are_higher():
    guitar = Guitar()
    ear = Ear(guitar, shape_book(), lambda said: None, capo=3)
    for note in (40, 43):
        guitar.came(mido.Message("note_on", note=note), 1.0)
    assert ear.strings() == ("low E",)
    ear.close()


@pytest.mark.parametrize(
    ("wish", "part"),
    [
        ("", None),
        ("usb", None),  # a microphone, before the guitar of the same maker
        ("six", "six"),
        ("nothing of the kind", None),
        ("MIDI guitar: six", "six"),
        ("midi guitar:Usb", "Usb"),
        ("MIDI guitar: to be plugged in", "to be plugged in"),
    ],
)
def test_a_name_means_a_microphone_first_and_a_midi_guitar_for_sure(wish, part):
    assert guitar_part(wish, lambda: ["USB Audio"], lambda: ["Foot", "USB Six Strings"]) == part
