"""What every room's tests may use: the program's commands, as a player types them."""

from __future__ import annotations

import contextlib
import gc
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from xdist.scheduler import LoadScopeScheduling

from pedaltrainer.cli import main
from pedaltrainer.live.ending import ENDING

# No timed asserts: on a busy machine any example may take long.
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")


DEVICES = "devices"


class ByFile(LoadScopeScheduling):
    """A file's tests run in one process, and so do all that wait for devices, beside those that compute.

    Marks of groups would do, but pytest-xdist 3.8 loses them with pytest 9.2.
    """

    def _split_scope(self, nodeid: str) -> str:
        return DEVICES if waits(Path(nodeid)) else nodeid.partition("::")[0]


def waits(path: Path) -> bool:
    """Does a test wait for devices, in real time?"""
    return DEVICES in path.parts


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByFile:
    return ByFile(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What waits longest begins first."""
    items.sort(key=lambda item: not waits(item.path))


def pytest_runtest_setup(item: pytest.Item) -> None:
    """What is done in real time goes before what only computes beside it, as far as the system lets us."""
    if "PYTEST_XDIST_WORKER" in os.environ and hasattr(os, "setpriority"):
        with contextlib.suppress(PermissionError):
            os.setpriority(os.PRIO_PROCESS, 0, 0 if waits(item.path) else 10)


def pytest_collection_finish() -> None:
    """What was collected stays to the end: it need not be looked through again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture
def ran(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """The exit code of a command, what it prints, and what it says of trouble."""

    def run(*words: object) -> tuple[int, str, str]:
        try:
            code = main([str(word) for word in words])
        except SystemExit as left:
            code = int(left.code or 0)
        return (code, *capsys.readouterr())

    return run


@pytest.fixture
def said(ran: Callable[..., tuple[int, str, str]]) -> Callable[..., str]:
    """What a command prints when all is well."""

    def run(*words: object) -> str:
        code, out, trouble = ran(*words)
        assert code == 0, trouble
        return out

    return run


@pytest.fixture
def refused(ran: Callable[..., tuple[int, str, str]]) -> Callable[..., str]:
    """The one sentence of a refusal that is the user's to mend."""

    def run(*words: object) -> str:
        code, out, trouble = ran(*words)
        assert (code, out) == (2, ""), trouble
        (line,) = trouble.strip().splitlines()
        return line

    return run


@pytest.fixture
def found(said: Callable[..., str]) -> Callable[..., Any]:
    """What a command finds, as its JSON tells it."""

    def run(*words: object) -> Any:
        return json.loads(said(*words, "--json"))

    return run


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a disk of its own, of 256 KiB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = shutil.which("mount")
    if mount is None or sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("only the superuser of a Linux machine may mount a small disk")
    done = subprocess.run([mount, "-t", "tmpfs", "-o", "size=256k", "tmpfs", disk], capture_output=True)
    if done.returncode != 0:
        pytest.skip(f"this machine mounts no small disk: {done.stderr.decode().strip()}")
    yield disk
    subprocess.run(["umount", disk], check=True)


@pytest.fixture
def as_at_a_terminal() -> Iterator[None]:
    """No signal that ends a session is ignored, nor by programs that are started meanwhile.

    A shell ignores interrupts in what it runs in the background (POSIX, "Asynchronous AND-OR Lists"), and
    `nohup` ignores hang-ups.
    """
    ignored = [number for number in ENDING if signal.getsignal(number) is signal.SIG_IGN]
    for number in ignored:
        signal.signal(number, signal.default_int_handler if number is signal.SIGINT else signal.SIG_DFL)
    yield
    for number in ignored:
        signal.signal(number, signal.SIG_IGN)
