"""A click as a WAV file, and where its beats are: python click_to_wav.py [FILE]"""

import sys
from pathlib import Path

from pedaltrainer.timing.click import ClickPlan, Sound, onsets
from pedaltrainer.timing.grid import RATE
from pedaltrainer.timing.wav import render_wav


def main(out: Path) -> None:
    # Four beats of count-in, then sixteen landings in bars of four, at 97 beats a minute.
    plan = ClickPlan(start_sample=0, tempo_bpm=97, count_in_beats=4, beats=16)
    render_wav(out, plan, volume=0.4)
    print(f"{out}: {plan.count_in_beats + plan.beats} beats")

    # The same function places the clicks of the stage. Each is computed from the start: nothing adds up.
    for sample, sound in onsets(plan):
        if sound is Sound.ACCENT:
            print(f"a bar begins on sample {sample}, at {sample / RATE:.6f} s")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "click.wav"))
