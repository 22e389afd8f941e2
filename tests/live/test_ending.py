"""Signals end a session as closing its window does, and nothing else of the program."""

from __future__ import annotations

import os
import signal
import threading

import pytest

from pedaltrainer.live import ending

on_posix = pytest.mark.skipif(os.name != "posix", reason="signals are sent as POSIX has it")


@on_posix
@pytest.mark.usefixtures("as_at_a_terminal")
@pytest.mark.parametrize("number", ending.ENDING)
def test_a_signal_only_asks_for_the_end_however_often_it_comes(number: signal.Signals) -> None:
    before = signal.getsignal(number)
    with ending.by_signals() as asked:
        assert not asked.asked
        for _ in range(3):
            signal.raise_signal(number)
        assert asked.asked
    assert signal.getsignal(number) == before


@on_posix
def test_a_signal_that_is_ignored_stays_ignored() -> None:
    # As `nohup` starts a program (POSIX, nohup).
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with ending.by_signals() as asked:
            signal.raise_signal(signal.SIGHUP)
            assert not asked.asked
    finally:
        signal.signal(signal.SIGHUP, before)


def test_outside_the_main_thread_signals_are_left_alone() -> None:
    found: list[object] = []

    def session() -> None:
        with ending.by_signals():
            found.append(signal.getsignal(signal.SIGTERM))

    before = signal.getsignal(signal.SIGTERM)
    thread = threading.Thread(target=session)
    thread.start()
    thread.join()
    assert found == [before]
