"""The ladder that seeks, against a made-up player of known clean tempo: python climb_a_ladder.py [BPM]"""

import random
import sys

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.ladders.ladder import LADDERS, LadderStart
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.rehearsal.player import MadeUpPlayer


def main(true_bpm: float) -> None:
    drill, player, chance = parse_drill("Am F"), MadeUpPlayer(true_bpm), random.Random(7)
    ladder = LADDERS["seek"](LadderStart(start_bpm=70))

    # A ladder is a value: `answered` gives the ladder after one more take, and leaves this one as it is.
    for number in range(1, 16):
        tempo_bpm = ladder.tempo_bpm
        is_clean = chance.random() < player.clean_take_chance(tempo_bpm, drill)
        ladder = ladder.answered(Take(drill, tempo_bpm, 8, Outcome.PASS_ if is_clean else Outcome.FAIL))
        found = ladder.result()
        low_bpm, high_bpm = found.interval_bpm or (0.0, 0.0)
        print(
            f"{number:2}. {tempo_bpm:3} BPM {'clean ' if is_clean else 'missed'}   "
            f"the clean tempo is between {low_bpm:.0f} and {high_bpm:.0f}"
        )
    print(f"In truth it is {true_bpm:g} BPM.")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 92.0)
