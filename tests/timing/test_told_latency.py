"""What PulseAudio tells of a stream's latency, read with care."""

from __future__ import annotations

import pytest

from pedaltrainer.timing.told_latency import latencies_in


def stream(pid: str, buffer_us: object, sink_us: object) -> dict[str, object]:
    return {
        "properties": {"application.process.id": pid},
        "buffer_latency_usec": buffer_us,
        "sink_latency_usec": sink_us,
    }


def test_the_streams_of_this_process_alone_are_read():
    said = [stream("7", 8000.0, 622.0), stream("8", 1.0, 1.0)]
    assert list(latencies_in(said, 7)) == pytest.approx([0.008622])


@pytest.mark.parametrize("said", [{}, [3], [{}], [stream("7", None, 1)], [stream("7", "x", 1)], "no"])
def test_what_is_not_as_expected_tells_nothing(said):
    assert list(latencies_in(said, 7)) == []
