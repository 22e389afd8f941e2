"""The commands, a module a group: each adds its parsers and carries them out.

Rooms are imported inside the commands: `log` needs no window and `--help` needs nothing at all.
"""

from pedaltrainer.commands import neck, packs, pedals, record, report, session, sheet, songs, tracks, upkeep

GROUPS = (session, songs, tracks, record, upkeep, report, sheet, packs, neck, pedals)
"""In the order in which `--help` lists them."""
