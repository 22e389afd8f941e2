"""What the log holds of each player: python read_the_log.py [FOLDER]"""

import sys
from datetime import datetime
from pathlib import Path

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.known import evidence
from pedaltrainer.history.played import played_by_day
from pedaltrainer.records.log import Log, default_folder


def main(folder: Path) -> None:
    # read_only: nothing is written or brought forward, also while a session writes.
    with Log.open(folder, read_only=True) as log:
        players = log.players()
        for player in players:
            days = played_by_day(log, player)
            minutes = sum(day.minutes for day in days.values())
            print(f"{player}: {minutes:.0f} minutes on {len(days)} days")
            for take in log.takes(player=player, limit=3):
                print(f"  {take.started_utc}  {take.drill:<16} {take.tempo_bpm:5g} BPM  {take.outcome}")

    # A clean tempo is not stored. It is worked out from the takes, for a moment in time.
    for player in players:
        for drill, known in evidence(Desk(folder, player), datetime.now().astimezone()).items():
            bpm, low_bpm, high_bpm = known.estimate
            print(f"  {player}, {drill}: {bpm:.0f} BPM, between {low_bpm:.0f} and {high_bpm:.0f}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else default_folder())
