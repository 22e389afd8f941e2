"""The ear in a session: takes of a made-up guitar come in by a made-up microphone and are told as heard."""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator

import numpy as np
import pytest

from pedaltrainer.ear.checking import BEFORE_S, CHECK_CLICKS
from pedaltrainer.live.ear import Ear
from pedaltrainer.live.ear_source import BEFORE_THE_COUNT_S
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.effects import Run
from pedaltrainer.session.events import EarHeard, SoundChecked
from pedaltrainer.showing.heard import heard_words
from pedaltrainer.songs.metre import FOUR_FOUR
from pedaltrainer.songs.shipped import shape_book
from pedaltrainer.timing.click import SoundBank
from pedaltrainer.timing.grid import RATE
from tests.ear.instruments import Instrument, steel_guitar
from tests.ear.made_up import expected_of
from tests.ear.picked import picked
from tests.ear.strummed import Fault, Hand, Room, strummed

DRILL, ROOM = parse_drill("C F"), Room(delay_ms=20)


class MadeUpMicrophone:
    """Gives what it was handed: one sound a take."""

    name = "made up"
    lost = False

    def __init__(self) -> None:
        self.came: list[np.ndarray | None] = []
        self.closed = False

    def between(self, from_t_s: float, to_t_s: float) -> np.ndarray | None:
        came = self.came.pop(0)
        # It began before the count-in.
        return (
            None
            if came is None
            else np.concatenate((came[:1] * np.zeros(round(BEFORE_THE_COUNT_S * RATE)), came))
        )

    def level(self) -> float:
        return 0.2

    def close(self) -> None:
        self.closed = True


class WholeMicrophone(MadeUpMicrophone):
    """Gives of one sound as much as it is asked for; it begins where it was asked for first."""

    def __init__(self, sound: np.ndarray) -> None:
        super().__init__()
        self.sound, self.asked_s = np.concatenate((np.zeros(round(BEFORE_THE_COUNT_S * RATE)), sound)), []

    def between(self, from_t_s: float, to_t_s: float) -> np.ndarray:
        self.asked_s.append(to_t_s - from_t_s)
        return self.sound[: round((to_t_s - from_t_s) * RATE)]


class Evening:
    """Takes of one hand in one room, at the tempos asked for, each handed to the ear."""

    def __init__(self, guitar, room: Room = ROOM) -> None:
        self.room, self.hand = room, Hand(guitar, np.random.default_rng(5))
        self.microphone, self.said = MadeUpMicrophone(), queue.SimpleQueue()
        self.ear = Ear(self.microphone, shape_book(), self.said.put)
        self.serial = 0

    def plays(
        self, faults: dict[int, Fault] | None = None, tempo_bpm: int = 90, clean: bool | None = None
    ) -> EarHeard:
        """A take; what the ear says of it. clean: as the foot then answers, None for not at all."""
        expected = expected_of("C F", tempo_bpm)
        self.microphone.came.append(strummed(expected, self.hand, self.room, faults)[0].astype(np.float64))
        return self.listens(tempo_bpm, clean)

    def listens(
        self,
        tempo_bpm: int = 90,
        clean: bool | None = None,
        drill=DRILL,
        landings: int = 8,
        began_s: float = -100.0,
    ) -> EarHeard:
        self.serial += 1
        # Long over by the clock of presses: there is nothing to wait for.
        run = Run(self.serial, drill, tempo_bpm, began_s, 4, FOUR_FOUR, landings)
        self.ear.listen_to(run, SimulatedStream())
        heard = self.said.get(timeout=10)
        if clean is not None:
            self.ear.answered(run, clean)
        return heard


@pytest.fixture(scope="session")
def guitar(tmp_path_factory) -> Instrument:
    return steel_guitar(tmp_path_factory.mktemp("notes"))


@pytest.fixture
def evening(guitar) -> Iterator[Evening]:
    one = Evening(guitar)
    yield one
    one.ear.close()
    assert one.microphone.closed
    assert one.ear.trouble == ""


def test_after_two_clean_takes_a_late_landing_is_told_of_takes_at_any_tempo(evening):
    first = evening.plays(clean=True)
    assert not first.has_reference
    evening.plays(tempo_bpm=100, clean=True)
    heard = evening.plays({4: Fault(late_ms=110)}, tempo_bpm=84)
    assert heard.has_reference
    assert heard.guard
    assert (heard.take, heard.landings[4].verdict) == ("missed", "late")
    assert heard.landings[4].late_ms == pytest.approx(110, abs=35)
    assert heard.is_sure
    assert evening.plays(tempo_bpm=84).take == "clean"


def test_a_silent_string_is_told_by_its_name_and_is_nothing_to_answer_by(evening):
    for _ in range(2):
        evening.plays(clean=True)
    heard = evening.plays({4: Fault(dead=(1,))})
    assert heard_words(heard) == "Landing 5: A silent"
    assert not heard.is_sure


def test_of_strings_picked_one_by_one_those_that_do_not_ring_are_named_and_no_clean_take_is_needed(evening):
    drill, (d, b) = parse_drill("ring F"), (2, 4)
    expected = expected_of("ring F", 60, landings=2)
    wave, _ = picked(expected, evening.hand, evening.room, {d: "dead", b: "half"})
    evening.microphone.came.append(wave.astype(np.float64))
    heard = evening.listens(60, drill=drill, landings=2)
    assert heard_words(heard) == "Landing 1: D, B silent"
    assert heard.silent == ("D", "B")
    assert heard.is_sure


@pytest.mark.parametrize(("delay_ms", "times"), [(5, 1), (220, 2)])
def test_before_clean_takes_have_shown_the_delay_it_waits_longer_only_where_sound_comes_in_late(
    guitar, delay_ms, times
):
    expected = expected_of("C F", 90)
    wave, _ = strummed(expected, Hand(guitar, np.random.default_rng(5)), Room(delay_ms=delay_ms))
    evening = Evening(guitar)
    evening.ear.close()
    evening.microphone = WholeMicrophone(wave.astype(np.float64))
    evening.ear = Ear(evening.microphone, shape_book(), evening.said.put)
    heard = evening.listens(began_s=time.perf_counter() - expected.landings[-1].at_s - 0.5)
    evening.ear.close()
    assert [one.verdict for one in heard.landings] == ["ok"] * 8
    assert len(evening.microphone.asked_s) == times
    assert evening.ear.trouble == ""


def test_takes_that_were_missed_or_taken_back_are_no_reference(evening):
    evening.plays(clean=False)
    evening.plays(clean=True)
    evening.ear.taken_back(2)
    assert not evening.plays(clean=True).has_reference
    assert evening.plays(clean=True).has_reference


def test_a_take_that_it_hears_as_missed_is_no_reference_whatever_the_foot_says(evening):
    assert evening.plays({2: Fault(absent=True)}, clean=True).take == "missed"
    assert not evening.plays(clean=True).has_reference


def test_over_a_loud_click_nothing_is_judged(guitar):
    one = Evening(guitar, Room(click_db=15, delay_ms=20))
    try:
        for _ in range(2):
            one.plays(clean=True)
        heard = one.plays({4: Fault(late_ms=150)})
        assert (heard.guard, heard.landings, heard.is_sure) == (False, (), False)
    finally:
        one.ear.close()


def test_a_backing_that_reaches_the_microphone_lets_nothing_be_judged(guitar):
    one = Evening(guitar, Room(click_db=-25, delay_ms=20))
    try:
        assert one.plays(clean=True).guard
        one.ear.backing = True
        assert not one.plays().guard
    finally:
        one.ear.close()


@pytest.mark.parametrize(
    ("came", "why"),
    [
        (np.zeros(8 * RATE), "silent"),
        (np.ones(8 * RATE), "clipped"),
        (np.random.default_rng(1).normal(0, 0.05, 8 * RATE), None),
    ],
)
def test_what_cannot_be_heard_is_said_and_never_judged(evening, came, why):
    evening.microphone.came.append(came)
    heard = evening.listens()
    assert heard.why == (why or heard.why)
    assert heard.take == "unsure"
    assert not heard.is_sure


def test_a_microphone_that_went_in_mid_take_is_said(evening):
    evening.microphone.lost = True
    evening.microphone.came.append(None)
    assert evening.listens().why == "gone"


def test_without_a_microphone_a_sound_check_says_so(guitar):
    said: queue.SimpleQueue = queue.SimpleQueue()
    ear = Ear(None, shape_book(), said.put)
    ear.check(SimulatedStream())
    assert said.get(timeout=5).why == "no input"
    assert ear.level() is None
    ear.close()


def test_drills_of_neither_whole_chords_nor_single_strings_are_left_to_the_foot(evening):
    run = Run(1, parse_drill("pressure F"), 60, -100.0, 4, FOUR_FOUR, 2)
    evening.ear.listen_to(run, SimulatedStream())
    with pytest.raises(queue.Empty):
        evening.said.get(timeout=0.05)


@pytest.mark.parametrize("delay_ms", [None, 12.0, 180.0])
def test_a_sound_check_finds_the_click_and_how_long_its_way_is(evening, delay_ms):
    room = np.random.default_rng(2).normal(0, 0.0005, round(4.2 * RATE))
    if delay_ms is not None:
        bank = SoundBank(RATE, 0.3)
        for at_s, sound in CHECK_CLICKS:
            start = round((BEFORE_S + at_s + delay_ms / 1000) * RATE)
            room[start : start + len(bank[sound])] += bank[sound] / 32768
    evening.microphone.between = lambda from_t_s, to_t_s: room
    stream = SimulatedStream()
    # What is asked of it was long ago.
    stream.heard_s = lambda t_s: -100.0
    evening.ear.check(stream)
    checked = evening.said.get(timeout=5)
    assert isinstance(checked, SoundChecked)
    assert len(stream.clicks[0]) == 6
    if delay_ms is None:
        assert (checked.click_db, checked.delay_ms) == (None, None)
    else:
        assert checked.delay_ms == pytest.approx(delay_ms, abs=3)
        assert checked.click_db > 20
    assert checked.noise_db == pytest.approx(-66, abs=1.5)
