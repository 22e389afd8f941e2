"""The sound while the stage is open: opened as wished, told of when it breaks, followed when it goes."""

from __future__ import annotations

import threading

from pedaltrainer.live.act import Act
from pedaltrainer.live.options import Options
from pedaltrainer.timing.sound_device import chosen, device_names
from pedaltrainer.timing.stream import AudioStream, ClickStream, SilentStream, open_stream
from pedaltrainer.timing.told_latency import told_latency_s

SOUND_GONE = "The sound device has stopped: the click is silent"
LOOK_AGAIN_S, SOON_S = 2.0, 0.5
"""How often it is looked for a device that is wished for and not played to; how soon after one has gone."""
SETTLED_S = 1.0
"""Until then a device may still be starting."""
DECIDING_S = 0.2
"""From a decision to the first click, beside the time that sound takes to reach the ear."""


def open_as_wished(options: Options, start_s: float = 0.0) -> tuple[ClickStream, str | None]:
    """A stream as the options have it, and one sentence for the player when there is no device."""
    stream, notice = open_stream(options.volume, options.sound, options.answer_sounds, start_s)
    sound_as_set(stream, options)
    return stream, notice


def sound_as_set(stream: ClickStream, options: Options) -> None:
    """Let a stream be as loud, and as late, as the options have it."""
    delay_s = options.sound.delay_of(stream.name)
    stream.set_as(options.volume, options.answer_sounds, delay_s, options.backing_level)


def lead_s(stream: ClickStream) -> float:
    """From a decision to the first click on a stream, at the least."""
    return stream.latency_s + DECIDING_S


class Sounding:
    """Looks after the stream of whoever has the stage. For one thread, which tells it the time."""

    def __init__(self) -> None:
        self._heard: ClickStream | None = None
        self._stumbles = 0
        self._looked_s = float("-inf")
        self._asked: ClickStream | None = None
        self._told: list[float | None] = []

    def look_after(self, act: Act, options: Options, t_s: float) -> None:
        """Tell what happened to the sound since, and follow the device that is wished for."""
        if act.stream.lost:
            self._go_on_silently(act, t_s)
            return
        self._tell_stumbles(act, t_s)
        self._take_what_is_told(act, options, t_s)
        if not act.plays and t_s - self._looked_s >= LOOK_AGAIN_S:
            self._looked_s = t_s
            if not _is_as_wished(act.stream, options):
                self._change(act, options, t_s)

    def _go_on_silently(self, act: Act, t_s: float) -> None:
        gone = act.stream
        act.sound_lost(SilentStream(start_s=gone.heard_s(t_s)), t_s, SOUND_GONE)
        gone.close()
        self._looked_s = t_s - LOOK_AGAIN_S + SOON_S

    def _tell_stumbles(self, act: Act, t_s: float) -> None:
        health = act.stream.health()
        if act.stream is not self._heard:
            self._heard, self._stumbles = act.stream, 0
        if health.stumbles > self._stumbles:
            self._stumbles = health.stumbles
            act.stumbled(health.stumbled_s, t_s)

    def _take_what_is_told(self, act: Act, options: Options, t_s: float) -> None:
        """The system is asked once, of each stream, how late it reaches the ear; a thread waits for that."""
        stream = act.stream
        if not isinstance(stream, AudioStream) or stream.health().seconds < SETTLED_S:
            return
        if stream is not self._asked:
            self._asked, self._told = stream, []
            ask = threading.Thread(
                target=lambda told=self._told: told.append(told_latency_s(stream.frames)),
                name="asks the system",
                daemon=True,
            )
            ask.start()
        elif self._told and not act.plays:
            stream.told_s = self._told.pop()
            if stream.told_s is not None:
                sound_as_set(stream, options)
                act.sound_known(t_s, lead_s(stream))

    def _change(self, act: Act, options: Options, t_s: float) -> None:
        before = act.stream
        start_s = before.heard_s(t_s)
        before.close()
        stream, _ = open_as_wished(options, start_s)
        if not stream.silent:
            act.sound_back(stream, t_s, lead_s(stream))
        elif before.silent:
            act.stream = stream
        else:
            act.sound_lost(stream, t_s, SOUND_GONE)


def _is_as_wished(stream: ClickStream, options: Options) -> bool:
    """A device that was not named is left alone: the system may call another one its default by now."""
    names = device_names()
    if stream.silent:
        return not names
    same_block = stream.frames == options.sound.frames
    return same_block and chosen(names, options.sound.device, stream.name) == stream.name
