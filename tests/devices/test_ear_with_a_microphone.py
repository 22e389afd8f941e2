"""The ear end to end: SDL's disk driver as a bit-exact microphone, a session in real time, and its log."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.records.log import Log

LISTEN = """
import sys, time
from pedaltrainer.timing.microphone import input_names, open_microphone
microphone = open_microphone(sys.argv[1])
assert microphone is not None and microphone.name in input_names()
came, until = None, time.perf_counter() + 5
while came is None and time.perf_counter() < until:
    time.sleep(0.02)
    now_s = time.perf_counter()
    came = microphone.between(now_s - 0.6, now_s - 0.2)
steps = set(((came[1:] - came[:-1]) * 32768).tolist())
print(len(came), sorted(steps), microphone.lost, microphone.level() > 0)
microphone.close()
microphone.close()
print(microphone.lost)
"""


def run(program: list[str], **env: str) -> str:
    done = subprocess.run(
        [sys.executable, *program],
        env=os.environ | {"SDL_AUDIODRIVER": "disk", "SDL_DISKAUDIOFILE": os.devnull} | env,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_what_comes_in_is_what_the_microphone_has_sample_by_sample(tmp_path):
    # Each sample one more than the one before, until it begins anew.
    ramp = b"".join(number.to_bytes(2, "little") for number in range(30_000)) * 20
    (tmp_path / "ramp.raw").write_bytes(ramp)
    said = run(["-c", LISTEN, ""], SDL_DISKAUDIOFILEIN=str(tmp_path / "ramp.raw")).splitlines()
    assert said[-2] in {"19200 [1.0] False True", "19200 [-29999.0, 1.0] False True"}
    assert said[-1] == "False"


def test_without_an_input_there_is_no_microphone():
    said = run(
        ["-c", "from pedaltrainer.timing.microphone import open_microphone; print(open_microphone())"],
        SDL_AUDIODRIVER="no such driver",
    )
    assert said.splitlines()[-1] == "None"


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    folder = tmp_path_factory.mktemp("evening")
    said = run(["-m", "tests.devices.microphone_evening", str(folder)])
    return folder, json.loads(said.splitlines()[-1])


def test_two_clean_takes_and_a_late_landing_are_heard_and_answered(evening):
    _, came = evening
    assert came["trouble"] == ""
    assert came["takes"][2] == "missed"
    assert came["landings"][2][3] == "late"
    first, second, third = came["landings"]
    assert not {"late", "absent", "wrong", "dead"} & {*first, *second, *third[:3], *third[4:]}
    # Newest first: the ear answered the last by itself.
    assert came["judges"] == [["ear", "fail"], ["foot", "pass"], ["foot", "pass"]]


def test_its_log_is_told_again_without_any_sound(evening):
    folder, _ = evening
    with Log.open(folder) as log:
        (session,) = log.sessions("Robin")
        heard = [one for one in log.inputs(session.id) if one["event"] == "EarHeard"]
        assert [one["take"] for one in heard][-1] == "missed"
        assert {one["take_utc"] for one in heard} == {row.started_utc for row in log.takes(player="Robin")}
        takes = log.takes(player="Robin")
        assert told_otherwise(session, log.inputs(session.id), takes[::-1]) is None
