"""What a day of a made-up player's weeks came to."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.practice.coach.readiness import Standing


@dataclass(frozen=True, slots=True)
class Evening:
    """One day of the journey: what was practised, and where every change stood after it.

    true_bpm: by the key of each change, the clean tempo that these hands really have.
    """

    day: int
    takes: int
    drills: tuple[str, ...]
    standings: tuple[Standing, ...]
    true_bpm: dict[str, float]

    @property
    def truly_ready(self) -> int:
        """Changes that these hands can play at the tempo of the song."""
        return sum(self.true_bpm[one.need.drill.key] >= one.need.tempo_bpm for one in self.standings)
