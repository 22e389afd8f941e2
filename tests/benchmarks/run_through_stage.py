"""A run-through on the stage: frames, chords on time, the callback; and which landing a press is taken for.

    python -m tests.benchmarks.run_through_stage [--seconds 600] [--size 1920x1080] [--tempo 97]

Run it under a display (Xvfb will do). An invented song rolls by over and over at 110 % with its click and a
backing through the sound device there is; each frame is drawn as the program draws it, at its pace. A chord
is late by the time from the instant at which the stage is to change for it (half a beat before it lands) to
the end of the first frame that shows it. A MIDI clock follows, sent to nowhere: how late after its sample is
each message handed over? The other table needs no stage: feet of 250 +- 80 ms, pressing for
single missed landings.
"""

from __future__ import annotations

import argparse
import re
import resource
import sys
import time

import numpy as np
import pygame
from tabulate import tabulate

from pedaltrainer.live.band import Band
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.run_through import landing_meant, pass_of
from pedaltrainer.screen.window import Stage
from pedaltrainer.session.events import Given, Opened
from pedaltrainer.session.run_through import RunSettings, RunState, run_step
from pedaltrainer.showing.run_through import run_view, shown_name
from pedaltrainer.showing.view_of import Surroundings
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.shipped import demo_songs, shape_book
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.timing.backing.feels import Backing
from pedaltrainer.timing.clock_out import ClockOut
from pedaltrainer.timing.midi_clock import clock_of
from pedaltrainer.timing.stream import open_stream
from pedaltrainer.timing.track import click_samples

FRAMES_PER_SECOND = 60


def rolling(seconds: float, size: tuple[int, int], tempo_bpm: float | None) -> None:
    sys.setswitchinterval(0.0005)
    stage, around = Stage(size, windowed=True), Surroundings(shape_book())
    stream, _ = open_stream(0.4)
    band = Band(Backing(level=0.6))
    clock = ClockOut(lambda data: None)
    chart = write_chart(demo_songs()[1])
    if tempo_bpm is None:
        settings = RunSettings(chart, 110, rate=stream.rate)
    else:
        chart = re.sub(r"(?m)^tempo: .*$", f"tempo: {tempo_bpm:g}", chart)
        settings = RunSettings(chart, 100, rate=stream.rate)
    one = settings.one_pass
    due = [(chord.at_s - 0.5 * one.bars[chord.bar].beat_s, shown_name(chord.name)) for chord in one.chords]
    time.sleep(1.0)
    frames, late_ms, longest_ms = 0, [], 0.0
    began_s, cpu_s = time.perf_counter(), time.process_time()
    first_kb = 0
    while time.perf_counter() - began_s < seconds:
        state, _ = run_step(RunState(settings), Opened(0.0))
        heard_s = stream.heard_s(time.perf_counter())
        state, _ = run_step(state, Given(heard_s, heard_s, 0.0, Control.PASS_, "foot"))
        start = round(state.start_s * stream.rate)
        plan = stream.play_clicks([(start + sample, sound) for sample, sound in click_samples(one.track)])
        band.accompany(one.track, start, plan, stream)
        clock.follow(clock_of(one.track, stream.rate), state.start_s, stream.rate, stream)
        shown = 0
        while (at_s := state.at_s(stream.heard_s(time.perf_counter()))) < one.end_s:
            for event in pygame.event.get():
                stage.note_event(event)
            before_s = time.perf_counter()
            view = run_view(state, stream.heard_s(before_s), around)
            stage.draw(view)
            now_s = time.perf_counter()
            longest_ms = max(longest_ms, (now_s - before_s) * 1000)
            frames += 1
            while shown < len(due) and due[shown][0] <= at_s:
                if view.now_chord == due[shown][1]:
                    late_ms.append(1000 * (state.at_s(stream.heard_s(now_s)) - due[shown][0]))
                shown += 1
            wait_s = began_s + frames / FRAMES_PER_SECOND - time.perf_counter()
            if wait_s > 0:
                time.sleep(wait_s)
            elif wait_s < -0.5:
                began_s -= wait_s
            if time.perf_counter() - began_s > seconds:
                break
        first_kb = first_kb or resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    spent_s = time.perf_counter() - began_s
    health = stream.health()
    print(f"{size[0]}x{size[1]}, {spent_s:.0f} s: {frames / spent_s:.1f} frames a second")
    print(f"longest frame: {longest_ms:.1f} ms")
    print(f"share of one core: {100 * (time.process_time() - cpu_s) / spent_s:.1f} %")
    late = np.array(late_ms)
    p99 = np.percentile(late, 99)
    print(f"chords: {len(late)}, late by {np.median(late):.1f} ms, p99 {p99:.1f}, most {late.max():.1f}")
    print(f"callbacks: {health.callbacks}, late by more than one buffer: {health.late_callbacks}")
    print(f"missed clicks: {health.missed_clicks}")
    sent = clock.lateness()
    print(
        f"clock: {sent.messages} messages, late by {sent.median_ms} ms, "
        f"p99 {sent.p99_ms}, most {sent.worst_ms}"
    )
    last_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"most memory: {first_kb / 1024:.0f} MB after one pass, {last_kb / 1024:.0f} at the end")
    clock.close()
    band.close()
    stream.close()
    stage.close()


def marks() -> None:
    """Of a hundred presses: taken for the landing that was missed, for one beside it, for another."""
    chance = np.random.default_rng(5)
    rows = []
    for chords, beats in (("| C G Am F |", 1), ("| C / G / |", 2), ("| C | G |", 4)):
        for tempo in (60, 80, 100, 120, 140):
            song = parse_chart(f"tempo: {tempo}\n" + f"{chords}\n" * 16, "marks")
            one = pass_of(song, 100)
            off = []
            for _ in range(2000):
                missed = int(chance.integers(1, len(one.landings) - 2))
                press_s = one.landings[missed].at_s + max(0.05, chance.normal(0.25, 0.08))
                meant = landing_meant(one, press_s, 0.25)
                off.append(abs((-99 if meant is None else meant) - missed))
            right, near = (100 * np.mean(np.array(off) <= most) for most in (0, 1))
            rows.append([beats, tempo, f"{right:.1f}", f"{near:.1f}"])
    headers = ["beats a chord", "BPM", "right, %", "within one landing, %"]
    print(tabulate(rows, headers, tablefmt="pipe"))


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=600.0)
    parser.add_argument("--size", default="1920x1080")
    parser.add_argument("--tempo", type=float, help="in BPM; at 110 % of the song's without it")
    asked = parser.parse_args()
    marks()
    width, height = (int(part) for part in asked.size.split("x"))
    rolling(asked.seconds, (width, height), asked.tempo)


if __name__ == "__main__":
    main()
