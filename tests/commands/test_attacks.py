"""A sample of the attacks of tests/benchmarks/attacks: odd command lines, files and logs."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from tests.benchmarks.attacks import files, logs, made, words
from tests.benchmarks.attacks.harness import Case, run_case

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the attacks use pipes and devices of POSIX")
SEED = 2026


@pytest.fixture(scope="module", autouse=True)
def _without_devices() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        for name, value in made.NO_DEVICES.items():
            patch.setenv(name, value)
        made.without_devices(patch.setattr)
        yield


def attacked(case: Case, numbers: Sequence[int], scratch: Path) -> list[dict[str, object]]:
    """What went wrong in the cases of these numbers, one after the other in this process."""
    here = Path.cwd()
    try:
        return [fault for number in numbers for fault in run_case(case, number, scratch)[1]]
    finally:
        os.chdir(here)


def test_odd_command_lines_end_in_a_sentence_and_harm_nothing(tmp_path: Path) -> None:
    assert attacked(words.Lines(SEED).case, range(60), tmp_path) == []


@pytest.mark.parametrize("kind", files.SHARES)
def test_odd_files_end_in_a_sentence_and_stay_as_they_are(tmp_path: Path, kind: str) -> None:
    assert attacked(files.Files(SEED, kind).case, range(12), tmp_path) == []


def test_odd_logs_end_in_a_sentence_and_stay_as_they_are(tmp_path: Path) -> None:
    assert attacked(logs.Logs(SEED).case, range(5), tmp_path) == []
