"""The kinds of drill in words: what one types, what the hand does, what a miss is, what is measured."""

from __future__ import annotations

from pedaltrainer.practice.drill import Own, parse_drill
from pedaltrainer.practice.kinds import KINDS, Kind
from pedaltrainer.telling.text_boxes import Terminal


def drills_words(terminal: Terminal, own: Own) -> str:
    """All kinds of drill, one after the other. own: the player's."""
    blocks = []
    for kind, row in (*KINDS.items(), *own.items()):
        measured = "its clean tempo is" if row.slow_bpm is None else "nothing is"
        blocks += [
            f'play "{_example(kind, own)}"',
            terminal.wrapped(f"  {row.what[:1].upper()}{row.what[1:]}."),
            terminal.wrapped(f"  A miss is: {row.miss}. Of this {measured} measured."),
        ]
    last = 'Any of them without its picture, as a drill of its own: play "F Am unseen".'
    return "\n".join((*blocks, last))


def drills_json(own: Own) -> list[dict[str, object]]:
    return [
        {
            "kind": str(kind),
            "example": _example(kind, own),
            "what": row.what,
            "miss": row.miss,
            "beats": row.cycle,
            "stages": [stage.word for stage in row.stages],
            "measured": row.slow_bpm is None,
        }
        for kind, row in (*KINDS.items(), *own.items())
    ]


def _example(kind: str, own: Own) -> str:
    if kind in own:
        return f"{kind} {own[kind].example}"
    return parse_drill(f"{kind} {KINDS[Kind(kind)].example}").words
