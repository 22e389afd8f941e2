"""What was found on this computer, measured, with a word on what to do about each trouble."""

from __future__ import annotations

import json
import math
import platform
import queue
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from fractions import Fraction
from importlib import metadata
from pathlib import Path

import mido
import pygame

from pedaltrainer import __version__
from pedaltrainer.errors import InputError
from pedaltrainer.live.app import SWITCH_INTERVAL_S
from pedaltrainer.live.options import delays_s
from pedaltrainer.pedals.bindings import ONE_SWITCH, Binding, BoundEdge
from pedaltrainer.pedals.events import InputStatus
from pedaltrainer.pedals.midi.backend import choose_backend
from pedaltrainer.pedals.midi.hub import InputHub
from pedaltrainer.pedals.midi.input import list_inputs
from pedaltrainer.pedals.midi.ports import is_selectable
from pedaltrainer.pedals.recogniser import Recogniser
from pedaltrainer.records import preferences
from pedaltrainer.records.log import FILE_NAME, Log
from pedaltrainer.screen.window import open_display
from pedaltrainer.timing.clock_out import ClockOut, SendingDelay
from pedaltrainer.timing.midi_clock import clock_of
from pedaltrainer.timing.sound_device import USUAL_SOUND, SoundWish
from pedaltrainer.timing.stream import ClickStream, StreamHealth, open_stream
from pedaltrainer.timing.track import Track, TrackBar

LIBRARIES = ("mido", "python-rtmidi", "pygame", "pygame-ce", "numpy")
SLOW_PRESS_MS = 5.0
PRESS_EVERY_S = 0.02
LOOP_NAME = "pedaltrainer check"


@dataclass(frozen=True, slots=True)
class PressTimes:
    """From a press's arrival to its decision. way: how the presses came in."""

    way: str
    presses: int
    median_ms: float
    worst_ms: float


@dataclass(frozen=True, slots=True)
class Examined:
    """Everything `doctor` found. troubles: sentences, each with what to do."""

    program: str
    python: str
    system: str
    libraries: dict[str, str]
    midi_backend: str
    midi_inputs: list[str]
    sound_device: str
    sound_latency_ms: float
    sound_silent: bool
    click_callbacks: int
    click_worst_late_ms: float
    screen: str
    presses: PressTimes
    midi_clock: SendingDelay
    log: str
    takes: int
    troubles: list[str] = field(default_factory=list)


def examine(folder: Path, seconds: float = 3.0) -> Examined:
    """Look at MIDI, sound, screen and log, and measure presses and click for `seconds`."""
    troubles: list[str] = []
    choice = choose_backend()
    inputs = list_inputs(choice)
    if choice.module is None:
        troubles.append(
            "MIDI does not work here; the keys do: space, the arrows and a page-turner are the foot. "
            f"({choice.reason.rstrip('.')}.)"
        )
    elif not any(is_selectable(name) for name in inputs):
        troubles.append("No MIDI pedal is connected; plug one in, or use the keys. It is found by itself.")
    stream, notice = open_stream(0.0, _wish(folder))
    try:
        if notice:
            troubles.append(f"{notice} Connect loudspeakers or headphones and start again.")
        with _clock_to_nowhere(stream, seconds) as clock:
            presses = _measure_presses(choice.module is not None, seconds)
        health = stream.health()
        sound = (stream.name, stream.latency_s * 1000, stream.silent)
    finally:
        stream.close()
    troubles += _sound_troubles(health) + _press_troubles(presses)
    screen, screen_trouble = _screen()
    log, takes, log_trouble = _log(folder)
    troubles += [trouble for trouble in (screen_trouble, log_trouble) if trouble]
    return Examined(
        program=__version__,
        python=platform.python_version(),
        system=f"{platform.system()} {platform.release()}",
        libraries=dict(_libraries()),
        midi_backend=choice.reason if choice.module else "none",
        midi_inputs=inputs,
        sound_device=sound[0],
        sound_latency_ms=round(sound[1], 1),
        sound_silent=sound[2],
        click_callbacks=health.callbacks,
        click_worst_late_ms=round(health.worst_late_ms, 2),
        screen=screen,
        presses=presses,
        midi_clock=clock.lateness(),
        log=log,
        takes=takes,
        troubles=troubles,
    )


def as_json(examined: Examined) -> str:
    return json.dumps(asdict(examined), indent=2)


def in_words(examined: Examined) -> str:
    """The findings for reading, troubles last."""
    presses, clock = examined.presses, examined.midi_clock
    steadiness = (
        f"{examined.click_callbacks} callbacks, the latest {examined.click_worst_late_ms:.1f} ms late"
        if examined.click_callbacks
        else "not measured"
    )
    rows = (
        ("program", f"pedaltrainer {examined.program}, Python {examined.python}, {examined.system}"),
        ("libraries", ", ".join(f"{name} {version}" for name, version in examined.libraries.items())),
        ("MIDI", examined.midi_backend),
        ("inputs", ", ".join(examined.midi_inputs) or "none"),
        ("sound", f"{examined.sound_device}, {examined.sound_latency_ms:.0f} ms to the ear"),
        ("click", steadiness),
        (
            "press",
            f"decided {presses.median_ms:.2f} ms after it arrived, {presses.worst_ms:.2f} ms at worst "
            f"({presses.presses} presses, {presses.way})",
        ),
        (
            "clock",
            f"sent up to {clock.p99_ms:.2f} ms late, {clock.worst_ms:.2f} ms at worst "
            f"({clock.messages} messages of a MIDI clock, to nowhere)",
        ),
        ("screen", examined.screen),
        ("log", f"{examined.log} ({examined.takes} takes)"),
    )
    found = "\n".join(f"{name:<10} {value}" for name, value in rows)
    if not examined.troubles:
        return f"{found}\n\nNo trouble was found."
    return found + "\n\n" + "\n".join(f"- {trouble}" for trouble in examined.troubles)


# --- measuring ------------------------------------------------------------------


def _measure_presses(midi: bool, seconds: float) -> PressTimes:
    """Send presses for a while, through a MIDI port of our own where the system has such, and time them."""
    heard: queue.SimpleQueue[BoundEdge | None] = queue.SimpleQueue()
    late_ms: list[float] = []

    def decide() -> None:
        recogniser = Recogniser()
        while (edge := heard.get()) is not None:
            recogniser, outputs = recogniser.feed(edge)
            if any(isinstance(output, BoundEdge) for output in outputs):
                late_ms.append((time.perf_counter() - edge.t_s) * 1000)

    decider = threading.Thread(target=decide, daemon=True)
    interval_s = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    decider.start()
    way = _press_for(seconds, heard, midi)
    heard.put(None)
    decider.join()
    sys.setswitchinterval(interval_s)
    if not late_ms:
        return PressTimes(f"{way}, none came back", 0, 0.0, 0.0)
    return PressTimes(way, len(late_ms), round(statistics.median(late_ms), 3), round(max(late_ms), 3))


@contextmanager
def _clock_to_nowhere(stream: ClickStream, seconds: float) -> Iterator[ClockOut]:
    """A MIDI clock at 120 BPM that nothing hears, to see how late it is sent while presses come."""
    clock = ClockOut(lambda data: None)
    bars = tuple(TrackBar(4, Fraction(1, 4), 120.0) for _ in range(math.ceil(seconds)))
    clock.follow(
        clock_of(Track("", bars), stream.rate), stream.heard_s(time.perf_counter()), stream.rate, stream
    )
    try:
        yield clock
    finally:
        clock.close()


def _press_for(seconds: float, heard: queue.SimpleQueue[BoundEdge | None], midi: bool) -> str:
    until_s = time.perf_counter() + seconds
    if midi:
        with _own_port(heard) as port:
            if port is not None:
                down = True
                while time.perf_counter() < until_s:
                    port.send(mido.Message("control_change", control=64, value=127 if down else 0))
                    down = not down
                    time.sleep(PRESS_EVERY_S)
                return "through a MIDI port of this computer"
    rule, down = Binding("check", "switch", ONE_SWITCH), True
    while time.perf_counter() < until_s:
        heard.put(BoundEdge(time.perf_counter(), rule.device, rule.switch, down, rule))
        down = not down
        time.sleep(PRESS_EVERY_S)
    return "inside the program, for want of a MIDI port of our own"


@contextmanager
def _own_port(heard: queue.SimpleQueue[BoundEdge | None]) -> Iterator[mido.ports.BaseOutput | None]:
    """A virtual output that our own input listens to; None where the system has no virtual ports."""

    def status(_: InputStatus) -> None:
        return

    try:
        port = mido.open_output(LOOP_NAME, virtual=True)
    except Exception:
        # What a missing feature raises differs from system to system; none of it matters here.
        yield None
        return
    try:
        # A port needs a moment until other programs, ourselves among them, see it.
        time.sleep(0.2)
        with InputHub(heard.put, status, wanted=LOOP_NAME):
            yield port
    except InputError:
        yield None
    finally:
        port.close()


def _sound_troubles(health: StreamHealth) -> list[str]:
    if health.late_callbacks:
        return [
            f"The click was asked for late {health.late_callbacks} times; close other programs, "
            "and play with a cable rather than wireless."
        ]
    return []


def _press_troubles(presses: PressTimes) -> list[str]:
    if presses.worst_ms > SLOW_PRESS_MS:
        return [
            f"A press took {presses.worst_ms:.0f} ms to be decided; "
            "close other programs that use the processor."
        ]
    return []


# --- looking --------------------------------------------------------------------


def _wish(folder: Path) -> SoundWish:
    """The sound as it is set up; settings that cannot be read are told of where they are used."""
    try:
        kept = preferences.load(folder)
    except InputError:
        return USUAL_SOUND
    general_s = kept.sound_delay_ms / 1000 or None
    return SoundWish(kept.sound_device, kept.sound_buffer, general_s, delays_s(kept.sound_delays))


def _libraries() -> Iterator[tuple[str, str]]:
    for name in LIBRARIES:
        try:
            yield name, metadata.version(name)
        except metadata.PackageNotFoundError:
            continue


def _screen() -> tuple[str, str | None]:
    try:
        open_display()
        width, height = pygame.display.get_desktop_sizes()[0]
        driver = pygame.display.get_driver()
        refresh = _refresh_hz()
    except pygame.error as trouble:
        return "none", f"There is no screen ({trouble}); start the trainer in a desktop session."
    finally:
        pygame.display.quit()
    words = f"{refresh:.0f} Hz" if refresh else "refresh not told by the system"
    return f"{width} x {height}, {words} ({driver})", None


def _refresh_hz(frames: int = 30) -> float | None:
    """The screen's refresh, timed over frames that wait for it; None where nothing waits."""
    try:
        pygame.display.set_mode((320, 200), pygame.SCALED, vsync=1)
    except pygame.error:
        return None
    pygame.display.flip()
    began_s = time.perf_counter()
    for _ in range(frames):
        pygame.display.flip()
    rate_hz = frames / (time.perf_counter() - began_s)
    return rate_hz if 20 <= rate_hz <= 400 else None


def _log(folder: Path) -> tuple[str, int, str | None]:
    path = folder / FILE_NAME
    if not path.exists():
        return f"{path}, not begun yet", 0, None
    try:
        with Log.open(folder, read_only=True) as log:
            return str(path), log.count_takes(), None
    except InputError as trouble:
        return str(path), 0, str(trouble)
