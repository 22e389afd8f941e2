"""Made-up takes: a drill strummed from single notes, with what went wrong in it known to the millisecond.

Every figure below is our own choice of what a practice room is like; no published source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft, rfftfreq

from pedaltrainer.ear.expected import Expected
from pedaltrainer.timing.click import SoundBank
from pedaltrainer.timing.grid import RATE
from tests.ear.instruments import Instrument, Wave, at_pitch

OPEN = (40, 45, 50, 55, 59, 64)


@dataclass(frozen=True)
class Fault:
    """What goes wrong at a landing. late_ms: how late. dead, muffled: 0-based strings, lowest first. frets:
    another chord, or one with a finger beside its place. absent: nothing is struck."""

    late_ms: float = 0
    dead: tuple[int, ...] = ()
    muffled: tuple[int, ...] = ()
    frets: tuple[int | None, ...] | None = None
    absent: bool = False


@dataclass(frozen=True)
class Room:
    """Where it is played. click_db: the leaked click's peak beside a stroke's, None for headphones;
    noise_db: how far the noise lies below the strokes. rough: a hand that varies more and makes more
    noise."""

    click_db: float | None = None
    noise_db: float = 30
    delay_ms: float = 0
    rough: bool = False
    guitar: bool = True
    seed: int = 0


@dataclass
class Hand:
    """What stays the same from take to take: the guitar's tuning, the way through the air, the player's
    habits."""

    instrument: Instrument
    rng: np.random.Generator
    cents: np.ndarray = field(init=False)
    echo: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        self.cents = self.rng.normal(0, 4, 6)
        self.echo = _room_response(self.rng)


def strummed(
    expected: Expected, hand: Hand, room: Room, faults: Mapping[int, Fault] | None = None
) -> tuple[Wave, list[float]]:
    """Samples of the take (48 kHz), and where each landing begins in them, in s (nan: absent)."""
    rng, rough, faults = hand.rng, room.rough, faults or {}
    end_s = expected.landings[-1].at_s + expected.beat_s + 0.6 + room.delay_ms / 1000
    out = np.zeros(round(end_s * RATE), np.float32)
    ends: dict[int, list[tuple[float, int, Wave]]] = {string: [] for string in range(6)}
    truth = []
    timing_s = 0.015 if rough else 0.008
    frets: tuple[int | None, ...] = (None,) * 6
    for number, landing in enumerate(expected.landings):
        fault = faults.get(number, Fault())
        drift = float(np.clip(rng.normal(0, timing_s), -2 * timing_s, 2 * timing_s))
        at = landing.at_s + room.delay_ms / 1000 + drift + fault.late_ms / 1000
        lift = at - 0.5 * expected.beat_s * rng.uniform(0.5, 1)
        # The hand comes off: fretted strings stop, open ones ring on.
        for string, fret in enumerate(frets):
            if fret and ends[string] and rng.random() < (0.7 if rough else 0.9):
                ends[string].append((lift, -1, np.zeros(0, np.float32)))
        if rough and rng.random() < 0.12:
            _stroke(rng, hand, (0, 0, 0, 0, 0, 0), lift + 0.05, ends, 0.012, -14, rough, frozenset(range(6)))
        if fault.absent:
            truth.append(float("nan"))
            continue
        frets = fault.frets or landing.shape.frets
        sounding = tuple(None if string in fault.dead else fret for string, fret in enumerate(frets))
        length = rng.uniform(0.010, 0.055)
        _stroke(rng, hand, sounding, at, ends, length, 0, rough, frozenset(fault.muffled))
        for string in fault.dead:
            ends[string].append((at, -1, np.zeros(0, np.float32)))
        truth.append(at)
    for pieces in ends.values():
        pieces.sort(key=lambda piece: piece[0])
        for (at, _, wave), after in zip(pieces, [*(p[0] for p in pieces[1:]), end_s], strict=False):
            put(out, at, wave, after)
    if not room.guitar:
        out[:] = 0
    return in_room(expected, hand, room, out, [at for at in truth if at == at]), truth


def in_room(expected: Expected, hand: Hand, room: Room, out: Wave, strokes: Sequence[float]) -> Wave:
    """What the microphone gets of a guitar: thumps, the click, noise, and nothing above full scale. strokes:
    where it was struck, in s."""
    rng = hand.rng
    loud = float(
        np.percentile([np.abs(out[round(t * RATE) :][: RATE // 5]).max() for t in strokes] or [1], 50)
    )
    loud = loud or 0.5
    _thumps(rng, out, loud, room.rough)
    if room.click_db is not None:
        out += _click(expected, hand, room, len(out), loud * 10 ** (room.click_db / 20))
    rms = loud / 5
    size = next_fast_len(len(out), real=True)
    white = np.fft.rfft(rng.normal(0, 1, size))
    white /= np.sqrt(np.maximum(np.arange(len(white)), 40 * size / RATE))
    pink = np.fft.irfft(white, size)[: len(out)].astype(np.float32)
    out += pink * (rms * 10 ** (-room.noise_db / 20) / float(pink.std()))
    return out * (0.5 / max(0.5, float(np.abs(out).max())))


def _stroke(rng, hand, frets, at, ends, length_s, level_db, rough, muffled) -> None:  # type: ignore[no-untyped-def]
    """A stroke from the lowest string up, or now and then down."""
    order = [string for string in range(6) if frets[string] is not None]
    if rng.random() < 0.1:
        order.reverse()
    touch = rng.uniform(1200, 5000) if rough else rng.uniform(1800, 5000)
    fade = rng.uniform(0.0, 2.0 if rough else 1.2)
    place_of_stroke = rng.uniform(0.12, 0.22) if rough else rng.uniform(0.14, 0.19)
    for place, string in enumerate(order):
        start = at + length_s * place / max(1, len(order) - 1)
        cents = hand.cents[string] + rng.normal(0, 1.5)
        wave = at_pitch(hand.instrument.notes[OPEN[string] + frets[string]], cents)
        pitch_hz = 440 * 2 ** ((OPEN[string] + frets[string] - 69) / 12)
        wave = struck(wave, touch * rng.uniform(0.85, 1.15), pitch_hz, place_of_stroke + rng.normal(0, 0.004))
        time = np.arange(len(wave), dtype=np.float32) / RATE
        gain = 0.12 * 10 ** ((level_db + rng.normal(0, 3.0 if rough else 2.0)) / 20)
        if string in muffled:
            gain *= 10 ** (-rng.uniform(3, 8) / 20)
            wave = struck(wave, 700, pitch_hz, 0.0) * np.exp(-time / rng.uniform(0.02, 0.05))
        ends[string].append((start, place, wave * np.exp(-time * fade) * np.float32(gain)))


def struck(wave: Wave, cutoff_hz: float, pitch_hz: float, place: float) -> Wave:
    """A slope of one pole above a frequency; and, but for 0, softer partials with a node at the stroke's
    place."""
    size = next_fast_len(len(wave), real=True)
    hz = rfftfreq(size, 1 / RATE).astype(np.float32)
    shape = 1 / np.sqrt(1 + (hz / cutoff_hz) ** 2)
    if place:
        # A string struck at a share of its length has partial k in proportion to |sin(pi k share)|.
        shape *= 0.3 + 0.9 * np.abs(np.sin(np.pi * hz / pitch_hz * place))
    return irfft(rfft(wave, size) * shape, size)[: len(wave)]


def put(out: Wave, at_s: float, wave: Wave, until_s: float) -> None:
    start = round(at_s * RATE)
    count = min(len(wave), len(out) - start, round((until_s - at_s) * RATE) + 480)
    if count <= 0:
        return
    cut = wave[:count].copy()
    fade = min(count, 480)
    if count < len(wave):
        cut[-fade:] *= np.linspace(1, 0, fade, dtype=np.float32)
    out[start : start + count] += cut


def _thumps(rng: np.random.Generator, out: Wave, loud: float, rough: bool) -> None:
    """A foot, a knee, the guitar's body: dull knocks at any time."""
    for _ in range(rng.poisson(2 if rough else 0.7)):
        time = np.arange(RATE // 8) / RATE
        knock = np.sin(2 * np.pi * rng.uniform(60, 140) * time) * np.exp(-time / 0.02)
        knock += 0.1 * rng.normal(0, 1, len(time)) * np.exp(-time / 0.004)
        at = rng.integers(0, len(out) - len(time))
        out[at : at + len(time)] += (knock * loud * rng.uniform(0.05, 0.3)).astype(np.float32)


def _room_response(rng: np.random.Generator) -> np.ndarray:
    """The direct sound, six reflections, and a tail that falls by 60 dB in 0.15-0.45 s."""
    response = np.zeros(RATE // 4)
    response[0] = 1
    for _ in range(6):
        response[rng.integers(30, 1500)] += rng.uniform(-0.5, 0.5)
    time = np.arange(len(response)) / RATE
    response += rng.normal(0, 0.02, len(response)) * np.exp(-6.9 * time / rng.uniform(0.15, 0.45))
    return response


def _click(expected: Expected, hand: Hand, room: Room, length: int, peak: float) -> Wave:
    bank, dry = SoundBank(RATE), np.zeros(length)
    for at_s, sound in expected.clicks:
        start = round((at_s + room.delay_ms / 1000) * RATE)
        pcm = bank[sound][: max(0, length - start)]
        dry[start : start + len(pcm)] += pcm
    # From take to take somebody moves: a little of the response is another one.
    response = hand.echo + 0.1 * _room_response(hand.rng) * np.linspace(0, 1, len(hand.echo))
    size = next_fast_len(length + len(response), real=True)
    wet = np.fft.irfft(np.fft.rfft(dry, size) * np.fft.rfft(response, size), size)[:length]
    return (wet / np.abs(wet).max() * peak).astype(np.float32)


def faulty(
    rng: np.random.Generator, kind: str, shape: Sequence[int | None], others: Sequence[Sequence[int | None]]
) -> Fault:
    """A fault of a kind: late, absent, wrong (another chord), finger (one finger a fret off), dead,
    muffled."""
    sounding = [string for string, fret in enumerate(shape) if fret is not None]
    if kind == "late":
        return Fault(late_ms=float(rng.uniform(70, 200)))
    if kind == "absent":
        return Fault(absent=True)
    if kind == "wrong":
        choice = [tuple(one) for one in others if tuple(one) != tuple(shape)]
        return Fault(frets=choice[rng.integers(len(choice))])
    string = int(rng.choice(sounding))
    if kind == "finger":
        held = [one for one in sounding if shape[one]] or sounding
        string = int(rng.choice(held))
        fret = int(shape[string] or 0)
        moved = max(0, fret + int(rng.choice([-1, 1])))
        return Fault(frets=tuple(moved if one == string else at for one, at in enumerate(shape)))
    return Fault(dead=(string,)) if kind == "dead" else Fault(muffled=(string,))
