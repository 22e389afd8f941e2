"""Runs cases in a program of its own, watches that each comes to an end, and says what went wrong.

A case runs commands as a player types them, in-process, in a folder of its own. It goes well when each ends
with exit code 0, or 2 and a sentence; when no traceback, no mistake of ours and nothing that steers a
terminal is printed; when it ends within LIMIT_S; and when the files that it was given are as they were.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import select
import shutil
import signal
import stat
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

LIMIT_S = 10.0
NOW = "now.json"
"""Where the words are kept that are being carried out."""
STEERS = frozenset(chr(code) for code in (*range(32), *range(127, 160))) - {"\n", "\t", "\r"}
"""Characters that a terminal obeys instead of showing them (ISO/IEC 6429, C0 and C1)."""
ZONES = ("UTC", "America/Los_Angeles", "Pacific/Auckland")
"""Where the cases happen, by turns: far to the west a moment has another day than far to the east."""
_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Said:
    """What one command came to."""

    code: int
    out: str
    err: str
    trouble: str = ""


@dataclass(slots=True)
class Result:
    """What came of all cases: how many commands they ran, by exit code, and what went wrong."""

    cases: int = 0
    codes: Counter[str] = field(default_factory=Counter)
    found: list[dict[str, object]] = field(default_factory=list)
    seconds: float = 0.0
    longest_s: float = 0.0

    @property
    def kinds(self) -> Counter[str]:
        return Counter(str(one["kind"]) for one in self.found)


Case = Callable[[int, Path], "Trial"]
"""Prepares the case of a number in an empty folder."""


@dataclass(slots=True)
class Trial:
    """One case: commands to run in turn, and files that none of them may change, whatever they are given."""

    commands: list[list[str]]
    keep: list[Path] = field(default_factory=list)
    note: str = ""
    check: Callable[[], str | None] = lambda: None
    """What else must hold at the end; a sentence when it does not."""
    steers_ok: bool = False


def device(path: Path, number: int = 5) -> None:
    """A device of the memory: 5 has no end, 3 takes everything (Linux, "devices.txt", major 1).

    The superuser is given a node of their own: a program gone wrong must not replace the machine's.
    """
    if os.geteuid() == 0:
        os.mknod(path, 0o666 | stat.S_IFCHR, os.makedev(1, number))
    else:
        path.symlink_to({5: "/dev/zero", 3: "/dev/null"}[number])


def command(words: Sequence[str], typed: str = "") -> Said:
    """Run one command in this process, with both channels caught."""
    from pedaltrainer.cli import main

    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="surrogateescape") for _ in range(2))
    before = sys.stdout, sys.stderr, sys.stdin
    sys.stdout, sys.stderr, sys.stdin = out, err, io.StringIO(typed)
    code, trouble = 0, ""
    try:
        code = main(list(words))
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 1
    except BaseException:
        code, trouble = 1, traceback.format_exc()
    finally:
        sys.stdout, sys.stderr, sys.stdin = before
    texts = []
    for channel in (out, err):
        with contextlib.suppress(ValueError):
            channel.flush()
            texts.append(channel.buffer.getvalue().decode("utf-8", "surrogateescape"))
    return Said(code, *[*texts, "", ""][:2], trouble)


def faults_of(said: Said) -> Iterator[tuple[str, str]]:
    """What is wrong with how a command ended: a kind, and the words to look for."""
    if said.trouble or "Traceback" in said.err:
        yield "traceback", (said.trouble or said.err)[-1500:]
    elif "a mistake of ours" in said.err:
        yield "ours", said.err.strip()[-600:]
    elif said.code not in (0, 2):
        yield "code", f"exit code {said.code}: {said.err[-300:]}"
    elif said.code == 2 and not said.err.strip() and not said.out.strip():
        yield "silent", "exit code 2 without a word"
    steering = sorted({repr(mark) for mark in STEERS if mark in said.out or mark in said.err})
    if steering:
        yield "escape", f"prints {', '.join(steering)}"


def _contents(paths: Sequence[Path]) -> dict[Path, object]:
    return {path: _content(path) for path in paths}


def _content(path: Path) -> object:
    try:
        return path.read_bytes() if path.is_file() else (os.path.lexists(path) and path.lstat().st_mode)
    except OSError as error:
        return error.errno


def run_case(case: Case, number: int, scratch: Path) -> tuple[Counter[str], list[dict[str, object]], float]:
    """Run one case; its exit codes, what went wrong, and how long its longest command took."""
    folder = scratch / str(number)
    folder.mkdir()
    # What is written under a name alone is written here.
    os.chdir(folder)
    with _zone(ZONES[number % len(ZONES)]):
        return _carried_out(case, number, folder, scratch)


@contextlib.contextmanager
def _zone(name: str) -> Iterator[None]:
    """While inside, the machine is in that time zone."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = name
    time.tzset()
    try:
        yield
    finally:
        os.environ.pop("TZ")
        os.environ |= {} if before is None else {"TZ": before}
        time.tzset()


def _carried_out(
    case: Case, number: int, folder: Path, scratch: Path
) -> tuple[Counter[str], list[dict[str, object]], float]:
    codes: Counter[str] = Counter()
    found: list[dict[str, object]] = []
    longest_s = 0.0
    try:
        trial = case(number, folder)
        before = _contents(trial.keep)
        for words in trial.commands:
            (scratch / NOW).write_text(json.dumps(words))
            began_s = time.perf_counter()
            said = command(words)
            longest_s = max(longest_s, time.perf_counter() - began_s)
            codes[str(said.code)] += 1
            for kind, what in faults_of(said):
                if kind == "escape" and trial.steers_ok:
                    continue
                found.append(
                    {"number": number, "kind": kind, "words": words, "what": what, "note": trial.note}
                )
        for path, content in _contents(trial.keep).items():
            if content != before[path]:
                found.append(
                    {"number": number, "kind": "harm", "words": trial.commands, "what": f"{path} was changed",
                     "note": trial.note}
                )  # fmt: skip
        odd = trial.check()
        if odd:
            found.append(
                {"number": number, "kind": "check", "words": trial.commands, "what": odd, "note": trial.note}
            )
    finally:
        os.chdir(scratch)
        _remove(folder)
    return codes, found, longest_s


def _remove(folder: Path) -> None:
    for path in [folder, *folder.rglob("*")]:
        with contextlib.suppress(OSError):
            if path.is_dir() and not path.is_symlink():
                path.chmod(0o700)
    shutil.rmtree(folder, ignore_errors=True)


# --- in a program of its own ------------------------------------------------------------------


def attack(case: Case, numbers: Sequence[int], say: Callable[[str], None] = lambda words: None) -> Result:
    """Run the cases of these numbers, each watched from another program; a hang is ended and counted."""
    result, began_s = Result(), time.perf_counter()
    left = list(numbers)
    while left:
        left = _watched(case, left, result, say)
    result.seconds = time.perf_counter() - began_s
    return result


def _watched(case: Case, numbers: list[int], result: Result, say: Callable[[str], None]) -> list[int]:
    """Run cases in a child until they are done or one hangs; returns the numbers that are left."""
    scratch = Path(tempfile.mkdtemp(prefix="attack-"))
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        _work(case, numbers, scratch, writer)
        os._exit(0)
    os.close(writer)
    done, pending = 0, b""
    try:
        while True:
            # Preparing a case takes time too.
            ready, _, _ = select.select([reader], [], [], 3 * LIMIT_S)
            chunk = os.read(reader, 1 << 16) if ready else None
            if chunk == b"":
                break
            if chunk is None:
                os.kill(child, signal.SIGKILL)
                words = (scratch / NOW).read_text() if (scratch / NOW).exists() else "its preparation"
                hang = {"number": numbers[done], "kind": "hang", "words": words, "what": "no end"}
                result.found.append(hang)
                say(f"{numbers[done]}: hang: {words}")
                result.cases += 1
                done += 1
                break
            pending += chunk
            *lines, pending = pending.split(b"\n")
            for line in lines:
                codes, found, longest_s = json.loads(line)
                if longest_s > LIMIT_S:
                    found.append(
                        {"number": numbers[done], "kind": "slow", "words": [], "what": f"{longest_s:.1f} s"}
                    )
                result.codes.update(codes)
                result.found += found
                result.cases += 1
                result.longest_s = max(result.longest_s, longest_s)
                done += 1
                for one in found:
                    say(f"{one['number']}: {one['kind']}: {one['what']}")
                if result.cases % 500 == 0:
                    say(f"{result.cases} cases")
    finally:
        os.close(reader)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        shutil.rmtree(scratch, ignore_errors=True)
    if done < len(numbers) and os.WIFSIGNALED(status) and os.WTERMSIG(status) != signal.SIGKILL:
        result.found.append(
            {"number": numbers[done], "kind": "crash", "words": [], "what": f"signal {os.WTERMSIG(status)}"}
        )
        result.cases += 1
        done += 1
    return numbers[done:]


def _work(case: Case, numbers: Sequence[int], scratch: Path, writer: int) -> None:
    # What is kept of troubles goes with the cases.
    for name in ("temporary", "home"):
        (scratch / name).mkdir()
    tempfile.tempdir = str(scratch / "temporary")
    os.environ |= {"HOME": str(scratch / "home"), "XDG_DATA_HOME": str(scratch / "home")}
    with os.fdopen(writer, "wb", buffering=0) as out:
        for number in numbers:
            try:
                codes, found, longest_s = run_case(case, number, scratch)
            except BaseException:
                found = [
                    {"number": number, "kind": "harness", "words": [], "what": traceback.format_exc()[-1500:]}
                ]
                codes, longest_s = Counter(), 0.0
            out.write(json.dumps([codes, found, longest_s], default=str).encode() + b"\n")


def tell(name: str, result: Result) -> None:
    """What came of it, and the first of each kind of trouble."""
    codes = ", ".join(f"{count:,} with {code}" for code, count in sorted(result.codes.items()))
    print(f"{name}: {result.cases:,} cases, {sum(result.codes.values()):,} commands ({codes})")
    print(f"  {result.seconds:.0f} s; longest command {result.longest_s:.1f} s")
    kinds = ", ".join(f"{count:,} {kind}" for kind, count in result.kinds.most_common()) or "none"
    print(f"  went wrong: {kinds}")
    seen: Counter[str] = Counter()
    for one in result.found:
        key = f"{one['kind']}: {str(one['what']).strip().splitlines()[-1][:110]}"
        seen[key] += 1
        if seen[key] == 1 and len(seen) <= _SHOWN * 4:
            print(f"  case {one['number']}: {key}\n      {str(one['words'])[:300]} {one.get('note', '')}")
    for key, count in seen.most_common(_SHOWN):
        print(f"  {count:6,} x {key}")
