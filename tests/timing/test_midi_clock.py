"""The MIDI clock: what is sent on which sample, and when it is sent."""

from __future__ import annotations

import threading
import time
from fractions import Fraction
from itertools import pairwise
from statistics import median

import mido
import pytest

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.track import take_track
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.timing.clock_out import ClockOut
from pedaltrainer.timing.midi_clock import CLOCK, CONTINUE, START, STOP, ClockMessage, clock_of
from pedaltrainer.timing.track import BarAndBeat, Track, click_samples
from tests.timing.tracks import tracks

RATE = 48_000


def take(tempo_bpm: float, metre: Metre = FOUR_FOUR, count_in: int = 4) -> Track:
    return take_track(parse_drill("Am F"), tempo_bpm, 8, count_in, metre)


def clocks(messages: tuple[ClockMessage, ...]) -> list[int]:
    return [message.sample for message in messages if message.data == CLOCK]


@pytest.mark.parametrize("tempo_bpm", [40, 97, 133.5, 240])
@pytest.mark.parametrize(("metre", "a_beat"), [(FOUR_FOUR, 24), (Metre(2, Fraction(3, 8)), 36)])
def test_24_clocks_a_quarter_run_through_the_count_in_on_exact_samples(tempo_bpm, metre, a_beat):
    sent = clocks(clock_of(take(tempo_bpm, metre)))
    assert len(sent) == (4 + 8) * a_beat
    assert sent == [
        round(clock * 60 * RATE / Fraction(str(tempo_bpm)) / a_beat) for clock in range(len(sent))
    ]


@pytest.mark.parametrize("name", tracks())
def test_a_clock_falls_on_every_beat_that_is_clicked_whatever_the_tempo_and_the_metre_do(name):
    track = tracks()[name]
    beats = {
        round(track.seconds_at(BarAndBeat(number, Fraction(beat))) * RATE)
        for number, bar in enumerate(track.bars)
        for beat in range(bar.beats)
    }
    assert beats <= set(clocks(clock_of(track)))
    assert beats <= {sample for sample, _ in click_samples(track)}


def test_start_comes_before_the_first_landing_so_that_the_next_clock_is_a_followers_first_beat():
    messages = clock_of(take(60))
    after = messages.index(next(message for message in messages if message.data == START)) + 1
    assert messages[after] == ClockMessage(4 * RATE, CLOCK)
    assert 0 < messages[after].sample - messages[after - 1].sample == RATE // 48
    assert messages[-1] == ClockMessage(12 * RATE, STOP)
    assert sum(message.data in (START, CONTINUE, STOP) for message in messages) == 2


def test_within_a_song_its_position_is_sent_first_and_what_follows_goes_on_from_there():
    first, *rest = clock_of(take(60), sixteenths=200)
    told = mido.Message.from_bytes(first.data)
    assert (told.type, told.pos) == ("songpos", 200)
    assert [message.data for message in rest if message.data in (START, CONTINUE)] == [CONTINUE]


def test_every_message_is_one_that_a_midi_library_knows():
    kinds = {mido.Message.from_bytes(message.data).type for message in clock_of(take(97), sixteenths=16_400)}
    assert kinds == {"clock", "continue", "stop", "songpos"}


def test_no_message_is_before_the_one_it_follows_without_a_count_in_too():
    for messages in (clock_of(take(133.5, count_in=0)), *(clock_of(track) for track in tracks().values())):
        assert all(here.sample <= there.sample for here, there in pairwise(messages))


class Steady:
    """A stream of which each second is heard at its own instant."""

    def __init__(self) -> None:
        self.began_s = time.perf_counter()

    def t_s(self, heard_s: float) -> float:
        return self.began_s + heard_s


def test_all_of_a_clock_is_sent_in_order_and_never_before_its_time():
    sent: list[tuple[float, bytes]] = []
    out = ClockOut(lambda data: sent.append((time.perf_counter(), data)))
    messages, stream, over = clock_of(take(300)), Steady(), threading.Event()
    out.follow(messages, 0.05, RATE, stream)
    until_s = time.perf_counter() + 10
    while len(sent) < len(messages) and time.perf_counter() < until_s:
        over.wait(0.01)
    out.close()
    assert [data for _, data in sent] == [message.data for message in messages]
    for (at_s, _), message in zip(sent, messages, strict=True):
        assert at_s >= stream.t_s(0.05 + message.sample / RATE)
    assert out.lateness().messages == len(messages)


def test_a_follower_recovers_the_tempo_from_one_bar_of_what_was_sent():
    """Within 0.2 BPM, by the median of its 73 beats of 24 clocks: one that came late does no harm."""
    sent: list[float] = []
    out, stream = ClockOut(lambda data: sent.append(time.perf_counter()) if data == CLOCK else None), Steady()
    out.follow(clock_of(take(160)), 0.05, RATE, stream)
    time.sleep(1.8)
    out.close()
    assert len(sent) > 97
    beats_s = [there - here for here, there in zip(sent[:73], sent[24:97], strict=True)]
    assert 60 / median(beats_s) == pytest.approx(160, abs=0.2)


def test_what_breaks_off_is_told_to_stop_and_what_never_began_is_not():
    sent: list[bytes] = []
    out, stream = ClockOut(sent.append), Steady()
    out.follow(clock_of(take(240)), 0.0, RATE, stream)
    while START not in sent:
        time.sleep(0.005)
    out.stop()
    while sent[-1] != STOP:
        time.sleep(0.005)
    count = len(sent)
    time.sleep(0.1)
    assert len(sent) == count
    out.follow(clock_of(take(20)), 3600, RATE, stream)
    out.close()
    assert sent[count:] == []


def test_a_port_that_fails_is_told_and_harms_nothing():
    def fail(data: bytes) -> None:
        raise OSError("the port is gone")

    out = ClockOut(fail)
    out.follow(clock_of(take(300)), 0.0, RATE, Steady())
    while not out.trouble:
        time.sleep(0.005)
    out.close()
    assert out.trouble == "OSError: the port is gone"


def test_how_late_it_is_can_be_asked_while_it_sends():
    out, stream = ClockOut(lambda data: None), Steady()
    out.follow(clock_of(take(300)), 0.0, RATE, stream)
    until_s = time.perf_counter() + 1.0
    asked = 0
    while time.perf_counter() < until_s:
        asked = max(asked, out.lateness().messages)
    out.close()
    assert 60 < asked <= out.lateness().messages
