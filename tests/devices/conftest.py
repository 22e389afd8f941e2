"""Fixtures for tests on real devices: private JACK servers with virtual pedals, and an X server."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.devices.jack import JackServer, VirtualPedal, end_orphans, jack_is_here
from tests.devices.window import Screen, missing_programs

IN_A_CHILD = "PEDALTRAINER_TEST_IN_A_CHILD"
TRIES = 3


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """A test on JACK runs in a process of its own.

    Such a process has been lost, once in JACK's library and once for a reason that is not known: no other
    test is to go down with it. One that dies of a signal says so and is tried again; a failure of the test
    itself is one at the first try.
    """
    on_jack = {"jack_server", "mortal_server", "steady_jack_server"} & set(getattr(item, "fixturenames", ()))
    if not on_jack or IN_A_CHILD in os.environ:
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    call = pytest.CallInfo.from_call(lambda: _run_in_a_child(item), when="call")
    report = item.ihook.pytest_runtest_makereport(item=item, call=call)
    item.ihook.pytest_runtest_logreport(report=report)
    item.session._setupstate.teardown_exact(nextitem)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def _run_in_a_child(item: pytest.Item) -> None:
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", item.nodeid]
    where, environment = item.config.rootpath, os.environ | {IN_A_CHILD: "1"}
    for _ in range(TRIES):
        done = subprocess.run(command, cwd=where, env=environment, capture_output=True, text=True)
        if done.returncode >= 0:
            break
        warnings.warn(f"{item.nodeid} died of signal {-done.returncode}: tried again", stacklevel=1)
        end_orphans()
    if "1 skipped" in done.stdout:
        pytest.skip("skipped in its own process")
    if done.returncode:
        told = f"{done.stdout[-6000:]}{done.stderr[-2000:]}"
        pytest.fail(f"in its own process, {done.returncode}:\n{told}", pytrace=False)


def _serving(synchronous: bool) -> Iterator[JackServer]:
    if not jack_is_here():
        if os.environ.get("CI"):
            pytest.fail("jackd is missing, and CI must run the tests on real MIDI ports")
        pytest.skip("jackd is not installed")
    server = JackServer(synchronous)
    try:
        yield server
    finally:
        server.stop()


@pytest.fixture
def jack_server() -> Iterator[JackServer]:
    """A jackd of this test's own. Missing: skipped, but a failure in CI.

    Clients are killed on it. JACK's library looks into what the dead have left while it closes others'
    ports, and on a busy machine has crashed there, the program with it: no test inherits that.
    """
    yield from _serving(synchronous=False)


@pytest.fixture(scope="session")
def steady_jack_server() -> Iterator[JackServer]:
    """A jackd that waits for late clients: no message is lost or given twice, however busy the machine."""
    yield from _serving(synchronous=True)


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


@pytest.fixture
def steady_jack(steady_jack_server: JackServer, monkeypatch: pytest.MonkeyPatch) -> JackServer:
    """The server for counted messages: whoever goes must take leave of it."""
    for name, value in steady_jack_server.environment.items():
        monkeypatch.setenv(name, value)
    return steady_jack_server


@pytest.fixture
def steady_pedal(steady_jack: JackServer) -> Iterator[VirtualPedal]:
    """A pedal whose every message arrives, once."""
    with VirtualPedal(steady_jack.environment) as pedal:
        yield pedal


@pytest.fixture
def mortal_server(monkeypatch: pytest.MonkeyPatch) -> Iterator[JackServer]:
    """A server of this test's own, which may die."""
    for server in _serving(synchronous=False):
        for name, value in server.environment.items():
            monkeypatch.setenv(name, value)
        yield server


@pytest.fixture(scope="session")
def screen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Screen]:
    """One screen for the whole run: each window that is shown on it goes before the next comes."""
    if missing := missing_programs():
        if os.environ.get("CI"):
            pytest.fail(f"missing, and CI must run whole sessions: {', '.join(missing)}")
        pytest.skip(f"not installed: {', '.join(missing)}")
    opened = Screen(tmp_path_factory.mktemp("screen"))
    try:
        yield opened
    finally:
        opened.close()


@pytest.fixture
def sound_server(tmp_path: Path) -> Iterator[str]:
    """The address of a PulseAudio server of this test's own, with two null sinks to play to; or a skip."""
    if shutil.which("pulseaudio") is None:
        pytest.skip("PulseAudio is not installed")
    socket = tmp_path / "sound"
    server = subprocess.Popen(
        ["pulseaudio", "-n", "--exit-idle-time=-1", "--daemonize=no", "-L",
         "module-null-sink rate=48000 sink_name=lamp sink_properties=device.description=Lamp", "-L",
         "module-null-sink rate=48000 sink_name=shed sink_properties=device.description=Shed", "-L",
         f"module-native-protocol-unix auth-anonymous=1 socket={socket}"],
        env=dict(os.environ, XDG_RUNTIME_DIR=str(tmp_path), HOME=str(tmp_path)),
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        for _ in range(100):
            if socket.exists() or server.poll() is not None:
                break
            time.sleep(0.05)
        if not socket.exists():
            pytest.skip("PulseAudio cannot be started here")
        yield f"unix:{socket}"
    finally:
        server.terminate()
        server.wait(10)
