"""What every room's tests may use: the program's commands, as a player types them."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from pedaltrainer.cli import main


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What a command prints when all is well."""

    def run(*words: object) -> str:
        assert main([str(word) for word in words]) == 0, capsys.readouterr().err
        return str(capsys.readouterr().out)

    return run


@pytest.fixture
def found(said: Callable[..., str]) -> Callable[..., Any]:
    """What a command finds, as its JSON tells it."""

    def run(*words: object) -> Any:
        return json.loads(said(*words, "--json"))

    return run
