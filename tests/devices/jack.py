"""A private JACK server and a virtual pedal: a real MIDI port in a process of its own.

The pedal is a process so that it can be killed the way a plug is pulled: with
no word of farewell. Run as `python -m tests.devices.jack CLIENT PORT` it opens
the port and sends each line of hexadecimal bytes it reads; a line
"@SECONDS" waits, "=T" until time.perf_counter() is T. Each line is answered
with the time.perf_counter() at which the bytes were handed over.
"""

from __future__ import annotations

import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

NAMES, SERVER_NAME = 6, "pedaltrainer-test-"
BACKEND = "mido.backends.rtmidi/UNIX_JACK"
ROOT = Path(__file__).parents[2]


def jack_is_here() -> bool:
    return shutil.which("jackd") is not None


def wait_until(happened: Callable[[], bool], within_s: float = 10.0, step_s: float = 0.005) -> bool:
    """Whether it happened in time. Generous limits: a busy machine is not a fault."""
    end_s = time.perf_counter() + within_s
    while not happened():
        if time.perf_counter() > end_s:
            return False
        time.sleep(step_s)
    return True


def end_orphans() -> None:
    """End the servers whose test has died before it could, so that their names are free again."""
    for place in Path("/proc").glob("[0-9]*"):
        try:
            is_ours = SERVER_NAME.encode() in (place / "cmdline").read_bytes()
            parent = (place / "stat").read_text().rpartition(")")[2].split()[1]
            if is_ours and parent == "1":
                os.kill(int(place.name), signal.SIGKILL)
        except (OSError, IndexError):
            continue  # it is gone by itself


class JackServer:
    """A jackd of our own on the dummy driver, found through the environment.

    Its name is one of a few, taken in random order: JACK keeps room for eight
    servers, and a server that was killed holds its place until one of the
    same name starts.

    synchronous: it waits for a client that is late in a cycle. Otherwise it
    goes on and the MIDI events of that cycle are gone: without real-time
    priority on a busy machine about one press in a thousand. But it then also
    waits for a client that was killed, so tests that kill one do without.
    """

    def __init__(self, synchronous: bool = False) -> None:
        self._mode = ["-S"] if synchronous else []
        first = secrets.randbelow(NAMES)
        for number in range(NAMES):
            if self._start(f"{SERVER_NAME}{(first + number) % NAMES}"):
                return
        raise RuntimeError("jackd did not start under any of the names for tests")

    def _start(self, name: str) -> bool:
        self.name = name
        self.environment = {
            "JACK_DEFAULT_SERVER": name,
            "JACK_NO_START_SERVER": "1",
            "MIDO_BACKEND": BACKEND,
        }
        command = ["jackd", "-n", name, *self._mode, "-r", "-d", "dummy", "-r", "48000", "-p", "64"]
        self._process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        # A jackd that finds its name taken ends at once, and the name's owner answers in its place.
        time.sleep(0.2)
        wait_until(lambda: self._process.poll() is not None or self._answers(), within_s=20, step_s=0.05)
        if self._process.poll() is None and self._answers():
            return True
        self.stop()
        return False

    def _answers(self) -> bool:
        listing = subprocess.run(
            ["jack_lsp", "-s", self.name], capture_output=True, check=False, env=os.environ | self.environment
        )
        return listing.returncode == 0

    def kill(self) -> None:
        """Let the server die under its clients."""
        self._process.kill()
        self._process.wait()

    def stop(self) -> None:
        if self._mode:
            # A synchronous jackd that ever had a client does not end when asked to (1.9.21).
            self.kill()
            return
        self._process.terminate()
        try:
            self._process.wait(5)
        except subprocess.TimeoutExpired:
            self.kill()

    def revive(self) -> None:
        """Start again after `kill`, under the same name."""
        if not self._start(self.name):
            raise RuntimeError(f"jackd did not start again as {self.name}")


class VirtualPedal:
    """A pedal that can press, send any bytes, be pulled out (`kill`) and plugged in (`start`)."""

    def __init__(self, environment: dict[str, str], client: str = "test pedal", port: str = "out") -> None:
        self.client, self.port = client, port
        self.name = f"{client}:{port}"
        self._environment = os.environ | environment
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Plug in; returns when the port exists."""
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.devices.jack", self.client, self.port],
            cwd=ROOT,
            env=self._environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            bufsize=1,
        )
        assert self._process.stdout is not None
        if self._process.stdout.readline() != "ready\n":
            raise RuntimeError(f"the virtual pedal {self.name} could not open its port")

    def kill(self) -> None:
        """Pull out with no word of farewell: SIGKILL, nothing is tidied up."""
        if self._process is not None:
            self._process.send_signal(signal.SIGKILL)
        self._forget()

    def leave(self) -> None:
        """Pull out in order: the port is taken away as a system does it when a plug is pulled."""
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.close()
            try:
                self._process.wait(5)
            except subprocess.TimeoutExpired:
                self.kill()
        self._forget()

    def _forget(self) -> None:
        if self._process is not None:
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    pipe.close()
            self._process = None

    def send(self, *messages: str) -> float:
        """Send messages, each as hexadecimal bytes ("b0 40 7f"); return when the last left (t_s)."""
        assert self._process is not None
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write("".join(f"{message}\n" for message in messages))
        self._process.stdin.flush()
        return [float(self._process.stdout.readline()) for _ in messages][-1]

    def press(self) -> float:
        """Controller 64 (damper pedal), channel 1, down."""
        return self.send("b0 40 7f")

    def release(self) -> float:
        return self.send("b0 40 00")

    def tap(self, down_s: float = 0.05) -> float:
        """Down, wait, up; return when it went down."""
        down_at_s = self.press()
        self.send(f"@{down_s}", "b0 40 00")
        return down_at_s

    def __enter__(self) -> VirtualPedal:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.leave()


def _be_a_pedal(client: str, port: str) -> None:
    import rtmidi

    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name=client)
    out.open_virtual_port(port)
    print("ready", flush=True)
    for line in sys.stdin:
        if line.startswith("@"):
            time.sleep(float(line[1:]))
        elif line.startswith("="):
            time.sleep(max(0.0, float(line[1:]) - time.perf_counter()))
        else:
            out.send_message(list(bytes.fromhex(line)))
        print(time.perf_counter(), flush=True)
    # A synchronous server waits five seconds for a client that goes without having closed.
    out.delete()


if __name__ == "__main__":
    _be_a_pedal(*sys.argv[1:3])
