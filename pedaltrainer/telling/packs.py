"""Packs in words, and as plain data. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pedaltrainer.packs.pack import Pack, PackDrill
from pedaltrainer.telling.plan import minutes_words
from pedaltrainer.telling.text_boxes import Terminal

NO_PACKS = "No packs in use. Take one into use with: pedaltrainer pack use FILE"


def packs_report(packs: Sequence[Pack], terminal: Terminal) -> str:
    """Each pack with its notes, drills and songs."""
    return "\n\n".join(pack_report(pack, terminal) for pack in packs) or NO_PACKS


def pack_report(pack: Pack, terminal: Terminal) -> str:
    """What a pack asks for."""
    by = f", by {pack.teacher}" if pack.teacher else ""
    whose = f", for {pack.pupil}" if pack.pupil else ""
    daily = f"; {minutes_words(pack.minutes)} a day" if pack.minutes is not None else ""
    lines = [f"{pack.title}{by}{whose}{daily}", *pack.notes.splitlines()]
    lines += [f"  {_drill_words(one)}" for one in pack.drills]
    if pack.songs:
        lines.append(f"  songs: {', '.join(one.song.title for one in pack.songs)}")
    if pack.shapes:
        lines.append(f"  shapes: {', '.join(pack.shapes)}")
    return "\n".join(terminal.wrapped(line, "  ") for line in lines)


def _drill_words(one: PackDrill) -> str:
    target = "" if one.target_bpm is None else f": {one.target_bpm:g} BPM"
    note = f" ({' '.join(one.note.split())})" if one.note else ""
    return f"{one.drill.title}{target}{note}"


def notes_report(packs: Sequence[Pack], terminal: Terminal) -> str:
    """What the teachers say, to go with today's plan; empty when they say nothing."""
    said = list(_said(packs))
    return "\n".join(terminal.wrapped(line, "  ") for line in said)


def _said(packs: Sequence[Pack]) -> Iterator[str]:
    for pack in packs:
        if pack.notes:
            who = f" ({pack.teacher})" if pack.teacher else ""
            yield f"{pack.title}{who}: {' '.join(pack.notes.split())}"
        for one in pack.drills:
            if one.note:
                yield f"  {one.drill.title}: {' '.join(one.note.split())}"


def plain(pack: Pack) -> dict[str, Any]:
    """A pack as plain data."""
    return {
        "title": pack.title,
        "teacher": pack.teacher,
        "for": pack.pupil,
        "notes": pack.notes,
        "minutes": pack.minutes,
        "drills": [
            {"words": one.drill.words, "target_bpm": one.target_bpm, "note": one.note} for one in pack.drills
        ],
        "songs": [one.song.title for one in pack.songs],
        "shapes": list(pack.shapes),
    }
