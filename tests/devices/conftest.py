"""Fixtures for tests on real ports: a private JACK server and a virtual pedal on it."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.devices.jack import JackServer, VirtualPedal, jack_is_here


@pytest.fixture(scope="session")
def jack_server() -> Iterator[JackServer]:
    """A jackd for the whole run, stopped at its end. Missing: skipped, but a failure in CI."""
    if not jack_is_here():
        if os.environ.get("CI"):
            pytest.fail("jackd is missing, and CI must run the tests on real MIDI ports")
        pytest.skip("jackd is not installed")
    server = JackServer()
    try:
        yield server
    finally:
        server.stop()


@pytest.fixture
def jack(jack_server: JackServer, monkeypatch: pytest.MonkeyPatch) -> JackServer:
    """The server, with this process's MIDI pointed at it for the length of one test."""
    for name, value in jack_server.environment.items():
        monkeypatch.setenv(name, value)
    return jack_server


@pytest.fixture
def virtual_pedal(jack: JackServer) -> Iterator[VirtualPedal]:
    """A pedal, plugged in; pulled out at the end."""
    with VirtualPedal(jack.environment) as pedal:
        yield pedal
