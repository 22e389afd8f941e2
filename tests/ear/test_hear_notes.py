"""Takes of a session by a MIDI guitar's notes: one clock for all of them, and clean takes at other tempi."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from pedaltrainer.ear.from_notes import NotesHeard, hear_notes
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, Unheard, UnheardError
from pedaltrainer.timing.played_notes import PlayedNote
from tests.benchmarks.ear_notes_session import said_of
from tests.ear.made_up import expected_of
from tests.ear.strummed import Fault
from tests.ear.test_from_notes import FAITHFUL
from tests.ear.tracked import HEXAPHONIC, ONE_CHANNEL, ROUGH, STANDARD, Played, tracked

OK, LATE = HeardAs.OK, HeardAs.LATE


class Evening:
    """One guitar; every note comes so late on the clock of presses."""

    def __init__(self, channels: tuple[int, ...] = HEXAPHONIC, delay_s: float = 0.08) -> None:
        self.guitar = Played(np.random.default_rng(7), FAITHFUL, channels)
        self.delay_s = delay_s
        self.clean: list[NotesHeard] = []

    def notes(self, faults: dict[int, Fault] | None = None, tempo_bpm: float = 90) -> list[PlayedNote]:
        return tracked(expected_of("C F", tempo_bpm), self.guitar, self.delay_s, faults)[0]

    def plays(self, faults: dict[int, Fault] | None = None, tempo_bpm: float = 90) -> NotesHeard:
        return hear_notes(expected_of("C F", tempo_bpm), self.notes(faults, tempo_bpm), self.clean)

    def warms_up(self) -> None:
        for tempo_bpm in (90, 104):
            self.clean.append(self.plays(tempo_bpm=tempo_bpm))


def verdicts(one: NotesHeard) -> list[HeardAs]:
    return [landing.verdict for landing in one.heard.landings]


@pytest.mark.parametrize("channels", [HEXAPHONIC, ONE_CHANNEL], ids=["a channel a string", "one channel"])
def test_a_late_landing_is_told_beside_clean_takes_at_other_tempi(channels):
    evening = Evening(channels)
    evening.warms_up()
    one = evening.plays({5: Fault(late_ms=100)}, tempo_bpm=77)
    assert one.heard.take is HeardTake.MISSED
    assert verdicts(one) == [OK] * 5 + [LATE] + [OK] * 2
    assert one.heard.landings[5].late_ms == pytest.approx(100, abs=35)
    assert evening.plays(tempo_bpm=120).heard.take is HeardTake.CLEAN


def test_a_take_that_is_late_nearly_throughout_is_told_since_the_clock_is_the_same():
    evening = Evening()
    evening.warms_up()
    one = evening.plays({number: Fault(late_ms=110) for number in range(3, 8)})
    assert verdicts(one) == [OK] * 3 + [LATE] * 5


def test_a_take_in_which_nothing_is_in_its_place_is_never_called_clean():
    """It may be the player, or sound that is later than it was: nobody can tell."""
    evening = Evening()
    evening.warms_up()
    evening.delay_s += 0.12
    one = evening.plays()
    assert one.heard.take is HeardTake.UNSURE
    assert LATE not in verdicts(one)


def test_chords_a_beat_late_are_not_taken_for_chords_in_time():
    evening = Evening(delay_s=60 / 90)
    with pytest.raises(UnheardError) as trouble:
        evening.plays()
    # At each place the chord before sounds.
    assert trouble.value.why is Unheard.OTHER_CHORD


def test_what_is_no_guitars_take_is_no_verdict():
    evening = Evening()
    evening.warms_up()
    take = evening.notes()
    piano = [replace(one, note=one.note + 48) for one in take]
    flood = sorted(
        [*take, *(PlayedNote(3 + number / 1500, 40 + number % 30, 0) for number in range(3000))],
        key=lambda one: one.t_s,
    )
    for notes, why in (
        ([], Unheard.NO_CHORDS),
        (take[:9], Unheard.OTHER_TEMPO),
        (piano, Unheard.OTHER_INSTRUMENT),
        (flood, Unheard.FLOOD),
    ):
        with pytest.raises(UnheardError) as trouble:
            hear_notes(expected_of("C F", 90), notes, evening.clean)
        assert trouble.value.why is why


@pytest.mark.parametrize("rates", [STANDARD, ROUGH], ids=["standard", "rough"])
def test_what_it_would_answer_by_itself_is_right(rates):
    """A small part of docs/evidence/ear.md, from seeds of its own."""
    said = sum((said_of(seed, rates, HEXAPHONIC) for seed in range(810_000, 810_016)), start=Counter())
    assert said["late or not struck", "answered"] > 8
    assert said["clean", "answered"] == 0
