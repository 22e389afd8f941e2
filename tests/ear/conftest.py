from __future__ import annotations

import pytest

from tests.ear.instruments import Instrument, steel_guitar


@pytest.fixture(scope="session")
def guitar(tmp_path_factory: pytest.TempPathFactory) -> Instrument:
    return steel_guitar(tmp_path_factory.mktemp("notes"))
