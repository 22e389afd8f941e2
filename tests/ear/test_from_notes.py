"""The ear on the notes of a MIDI guitar: what it hears, what it forgives, what it leaves open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from pedaltrainer.ear.from_notes import listen_to_notes
from pedaltrainer.ear.strokes import strings_of
from pedaltrainer.ear.verdicts import HeardAs, HeardTake, TakeHeard, Unheard, UnheardError
from pedaltrainer.timing.played_notes import PlayedNote
from tests.benchmarks.ear_notes import table
from tests.ear.made_up import expected_of, shape_of
from tests.ear.strummed import Fault
from tests.ear.tracked import HEXAPHONIC, ONE_CHANNEL, STANDARD, Played, Rates, tracked

CF = expected_of("C F", 90)
FAITHFUL = Rates(octave=0, lost=0, astray=0, twice=0, ghosts=0, pulled=0, muted_sends=0)
D_STRING = 2
OK = HeardAs.OK
WAYS = pytest.mark.parametrize(
    "channels", [HEXAPHONIC, ONE_CHANNEL], ids=["a channel a string", "one channel"]
)


def played(
    *takes: dict[int, Fault],
    channels: tuple[int, ...] = HEXAPHONIC,
    rates: Rates = FAITHFUL,
    delay_s: float = 0.1,
) -> list[list[PlayedNote]]:
    guitar = Played(np.random.default_rng(11), rates, channels)
    return [tracked(CF, guitar, delay_s, faults)[0] for faults in takes]


def heard(
    faults: dict[int, Fault], channels: tuple[int, ...] = HEXAPHONIC, rates: Rates = FAITHFUL
) -> TakeHeard:
    take, *clean = played(faults, {}, {}, channels=channels, rates=rates)
    return listen_to_notes(CF, take, clean)


def verdicts(found: TakeHeard) -> list[HeardAs]:
    return [one.verdict for one in found.landings]


def changed(notes: Sequence[PlayedNote], landing: int, string: int, by: int | None) -> list[PlayedNote]:
    """With the note of a string at a landing so many semitones off; None: it never came."""
    at_s = CF.landings[landing].at_s + 0.1
    (number,) = (
        number for number, one in enumerate(notes)
        if one.channel == HEXAPHONIC[string] and abs(one.t_s - at_s) < 0.2
    )  # fmt: skip
    others = list(notes[:number]) + list(notes[number + 1 :])
    if by is None:
        return others
    return sorted([*others, replace(notes[number], note=notes[number].note + by)], key=lambda one: one.t_s)


@WAYS
def test_a_clean_take_is_heard_as_clean_however_slow_the_low_strings_are(channels):
    found = heard({}, channels)
    assert (found.take, found.guard, found.has_reference) == (HeardTake.CLEAN, True, True)
    assert verdicts(found) == [OK] * 8
    assert max(abs(one.late_ms) for one in found.landings) < 40


@WAYS
@pytest.mark.parametrize(
    ("fault", "verdict"),
    [
        (Fault(late_ms=110), HeardAs.LATE),
        (Fault(absent=True), HeardAs.ABSENT),
        (Fault(frets=shape_of("D").frets), HeardAs.WRONG),
    ],
    ids=["late", "absent", "wrong"],
)
def test_one_fault_is_named_and_nothing_else(channels, fault, verdict):
    found = heard({4: fault}, channels)
    assert found.take is HeardTake.MISSED
    assert verdicts(found) == [OK] * 4 + [verdict] + [OK] * 3
    if verdict is HeardAs.LATE:
        assert found.landings[4].late_ms == pytest.approx(110, abs=35)


@WAYS
def test_a_string_that_is_dead_twice_makes_a_missed_take(channels):
    take, *clean = played({2: Fault(dead=(D_STRING,)), 4: Fault(dead=(D_STRING,))}, {}, {}, channels=channels)
    found = listen_to_notes(CF, take, clean)
    assert found.take is HeardTake.MISSED
    assert verdicts(found) == [OK, OK, HeardAs.DEAD, OK, HeardAs.DEAD, OK, OK, OK]
    assert [one.strings for one in found.landings] == [(), (), (D_STRING,), (), (D_STRING,), (), (), ()]


def test_one_note_that_never_came_is_told_and_alone_decides_no_take():
    take, *clean = played({}, {}, {})
    found = listen_to_notes(CF, changed(take, 4, D_STRING, None), clean)
    assert found.take is HeardTake.UNSURE
    assert found.landings[4].verdict is HeardAs.DEAD
    assert found.landings[4].strings == (D_STRING,)


def test_of_a_converter_that_loses_notes_one_more_is_forgiven_or_doubtful():
    take, *clean = played({}, {}, {})
    clean = [changed(changed(one, 2, D_STRING, None), 6, D_STRING, None) for one in clean]
    found = listen_to_notes(CF, changed(take, 4, D_STRING, None), clean)
    assert (found.take, verdicts(found)) == (HeardTake.CLEAN, [OK] * 8)
    other = listen_to_notes(CF, changed(take, 4, 3, None), clean)
    assert (other.landings[4].verdict, other.landings[4].strings) == (HeardAs.UNSURE, (3,))


def test_where_much_is_sent_that_nobody_played_one_odd_note_is_doubtful_and_the_same_again_is_not():
    clean = [with_ghosts(one) for one in played({}, {})]
    take = with_ghosts(*played({}))
    for by in (None, 1):
        once = listen_to_notes(CF, changed(take, 4, D_STRING, by), clean)
        assert (once.landings[4].verdict, once.landings[4].strings) == (HeardAs.UNSURE, (D_STRING,))
    twice = listen_to_notes(CF, changed(changed(take, 4, D_STRING, None), 6, D_STRING, None), clean)
    assert (twice.take, twice.landings[4].verdict) == (HeardTake.MISSED, HeardAs.DEAD)


def test_open_strings_in_the_gap_show_no_rough_converter():
    """They are the hand's."""
    clean = [with_ghosts(one, note=55) for one in played({}, {})]
    take = with_ghosts(*played({}), note=55)
    found = listen_to_notes(CF, changed(take, 4, D_STRING, None), clean)
    assert found.landings[4].verdict is HeardAs.DEAD


def with_ghosts(notes: Sequence[PlayedNote], note: int = 58) -> list[PlayedNote]:
    """With a note on the G string half a beat after each landing."""
    ghosts = [PlayedNote(one.at_s + 0.43, note, HEXAPHONIC[3]) for one in CF.landings]
    return sorted([*notes, *ghosts], key=lambda one: one.t_s)


@pytest.mark.parametrize("semitones", [12, -12, 19])
def test_an_octave_and_the_third_partial_are_the_converters(semitones):
    take, *clean = played({}, {}, {})
    found = listen_to_notes(CF, changed(take, 4, D_STRING, semitones), clean)
    assert (found.take, verdicts(found)) == (HeardTake.CLEAN, [OK] * 8)


def test_strings_stand_on_neighbouring_channels_from_either_end():
    """MIDI 1.0, Mode 4: as many channels as strings, from a basic channel on."""
    for channels in (HEXAPHONIC, (0, 1, 2, 3, 4, 5), (15, 14, 13, 12, 11, 10)):
        (notes,) = played({}, channels=channels)
        assert strings_of(CF, notes) == {channel: string for string, channel in enumerate(channels)}
    (notes,) = played({}, channels=ONE_CHANNEL)
    assert strings_of(CF, notes) is None


def test_a_recorder_that_keeps_the_place_shows_a_take_that_was_late_for_the_most_part():
    take, *clean = played({number: Fault(late_ms=100) for number in range(3, 8)}, {}, {})
    assert verdicts(listen_to_notes(CF, take, clean)) == [OK] * 3 + [HeardAs.LATE] * 5


def test_files_that_begin_anywhere_are_found_by_their_chords():
    guitar = Played(np.random.default_rng(5), FAITHFUL, HEXAPHONIC)
    starts = (2.3, 0.2, 1.1)
    take, *clean = (
        tracked(CF, guitar, start, {3: Fault(late_ms=120)} if start == 2.3 else {})[0] for start in starts
    )
    found = listen_to_notes(CF, take, clean)
    assert verdicts(found) == [OK] * 3 + [HeardAs.LATE] + [OK] * 4
    assert found.delay_ms == pytest.approx(2300, abs=60)


def test_without_clean_takes_one_odd_note_is_doubtful():
    take, late = played({}, {3: Fault(late_ms=120)})
    found = listen_to_notes(CF, changed(take, 4, D_STRING, None))
    assert (found.take, found.has_reference) == (HeardTake.UNSURE, False)
    assert (found.landings[4].verdict, found.landings[4].strings) == (HeardAs.UNSURE, (D_STRING,))
    assert listen_to_notes(CF, late).landings[3].verdict is HeardAs.LATE


def test_what_is_not_this_drill_is_no_verdict():
    (take,) = played({})
    for notes, why in (
        ([], Unheard.NO_CHORDS),
        (take[: len(take) // 3], Unheard.OTHER_TEMPO),
        ([*take, PlayedNote(200.0, 60, 0)], Unheard.LONG),
    ):
        with pytest.raises(UnheardError) as trouble:
            listen_to_notes(CF, notes)
        assert trouble.value.why is why
    with pytest.raises(UnheardError) as trouble:
        listen_to_notes(expected_of("D A", 90), take)
    assert trouble.value.why is Unheard.OTHER_CHORD
    with pytest.raises(UnheardError) as trouble:
        listen_to_notes(CF, take, [take, []])
    assert trouble.value.recording == 2


def test_on_takes_that_nothing_was_chosen_by_lates_are_caught_and_clean_landings_left_alone():
    """A small part of docs/evidence/ear.md, from seeds of its own."""
    landings, _, _ = table(range(800_000, 800_020), True, rates=STANDARD)
    of = {
        kind: sum(n for (one, _), n in landings.items() if one == kind) for kind in ("ok", "late", "absent")
    }
    assert landings["late", HeardAs.LATE] == of["late"] > 5
    assert landings["absent", HeardAs.ABSENT] == of["absent"] > 5
    assert landings["ok", HeardAs.LATE] == 0
    assert landings["ok", HeardAs.OK] > 0.98 * of["ok"]
