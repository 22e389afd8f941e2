"""The bars of a chart as they are read, line by line, until a section is whole. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from pedaltrainer.neck.gap import Gap
from pedaltrainer.songs.bar_lines import (
    AS_BEFORE,
    AS_TWO_BEFORE,
    BarLine,
    Line,
    SignWord,
    UnreadableError,
    read_bar,
    words_of,
)
from pedaltrainer.songs.heads import LEAST_BPM, MOST_BPM, USUAL_TEMPO, Tempo
from pedaltrainer.songs.jumps import AT_THE_BEGINNING, JUMPS, SIGN_WORDS, Sign
from pedaltrainer.songs.metre import FOUR_FOUR, Metre
from pedaltrainer.songs.repeats import Repeats
from pedaltrainer.songs.slot_words import SlotSpelling, pushed
from pedaltrainer.songs.song import Bar, Mark, Slot
from pedaltrainer.songs.written import WrittenPart

MOST_BARS = 2_000
MOST_SLOTS = 20_000
"""In a song written out."""
MOST_TIMES = 99
TOO_LONG = f"a song has {MOST_BARS:,} bars and {MOST_SLOTS:,} slots at most, written out; repeat fewer times"


def checked_times(times: int) -> int:
    """So many times; raises UnreadableError for too many and for none."""
    if not 1 <= times <= MOST_TIMES:
        raise UnreadableError(f"“x{times}” is not x1 to x{MOST_TIMES}; say how often it is played")
    return times


@dataclass(slots=True)
class BarReader:
    """What holds from bar to bar, and the bars of the section so far.

    tempo, metre, pattern, spelling and last_bar hold for the song; number: of its bars so far. gap and
    section_pattern are the section's. signs: by the place of their bar in `written`; coming: those of the bar
    that comes next. lines: of bars in this section.
    """

    tempo: Tempo = USUAL_TEMPO
    metre: Metre = FOUR_FOUR
    pattern: str = ""
    spelling: SlotSpelling = field(default_factory=SlotSpelling)
    last_bar: Bar | None = None
    number: int = 0
    gap: Gap | None = None
    section_pattern: str | None = None
    written: list[Bar] = field(default_factory=list)
    signs: dict[int, set[Sign]] = field(default_factory=dict)
    coming: set[Sign] = field(default_factory=set)
    repeats: Repeats = field(default_factory=Repeats)
    lines: int = 0
    has_chord: bool = False
    has_jump: bool = False
    in_bars: bool = False
    at_bar_line: bool = False
    at_signs: bool = False
    """A sign stands between the last bar line and the next."""

    @property
    def place(self) -> str:
        """Where in its line the reader is, in words."""
        if self.at_bar_line:
            return f", after bar {self.number}" if self.number else ""
        return f", bar {self.number + 1}" if self.in_bars else ""

    def read(self, text: str, line_number: int) -> None:
        """Read a line of bars. Raises UnreadableError, and then `place` says where."""
        self.in_bars = True
        self.lines += 1
        words: list[str] = []
        before: BarLine | None = None
        since = len(self.repeats.bars)
        for word in words_of(text if text.startswith("|") else f"| {text}"):
            if isinstance(word, str):
                words.append(word)
                continue
            if isinstance(word, SignWord):
                self.put([word.sign], within=bool(words))
                continue
            if words:
                self._add_bar(words)
                words = []
            elif before is not None and before.line is word.line is Line.PLAIN and not self.at_signs:
                raise UnreadableError(
                    "the bar is empty; write % for the bar before again, or N.C. for no chord"
                )
            self.at_signs = False
            self._bar_line(word, since, line_number)
            before = word
        if words:
            self._add_bar(words)
        self.in_bars = False

    def put(self, signs: Sequence[Sign], within: bool = False) -> None:
        """Signs that stand within a bar, behind one, or on a line of their own."""
        self.at_signs = True
        for one in signs:
            sign = one
            if sign is Sign.CODA_SIGN:
                sign = Sign.CODA if self.has_jump else Sign.TO_CODA
            self.has_jump = self.has_jump or sign in JUMPS
            if sign in AT_THE_BEGINNING or within:
                self.coming.add(sign)
            elif not self.written:
                raise UnreadableError(
                    f"“{SIGN_WORDS[sign]}” stands before any bar of its section; write it behind the bar "
                    "that it ends"
                )
            else:
                self.signs.setdefault(len(self.written) - 1, set()).add(sign)

    def refuse_signs_behind(self) -> None:
        """Raise UnreadableError for a sign that waits for a bar, when there are no more."""
        for sign in sorted(self.coming):
            raise UnreadableError(
                f"“{SIGN_WORDS[sign]}” stands behind all bars; write it before the bar that it begins"
            )

    def again(self, times: int) -> None:
        """The section so far is played `times` times in all. Raises UnreadableError unless it is one line."""
        if self.lines != 1 or len(self.repeats.bars) != len(self.written):
            raise UnreadableError(
                f"“x{times}” on a line of its own may be for the line above or for all of its section; write "
                "it behind that line, or behind the section's name as in [Verse] x2"
            )
        self.repeats.again(0, checked_times(times))

    def end(self, name: str, times: int) -> WrittenPart | None:
        """The section, that another one may begin; None when it has no bars."""
        order = self.repeats.finish()
        bars, signs, passed_over = tuple(self.written), self.signs, frozenset(self.repeats.passed_over)
        self.repeats, self.written, self.signs, self.lines = Repeats(), [], {}, 0
        self.gap = self.section_pattern = None
        return WrittenPart(name, bars, order, passed_over, times, signs) if bars else None

    def _add_bar(self, words: list[str]) -> None:
        if words == [AS_TWO_BEFORE]:
            for bar in self._two_before():
                self._keep(bar)
            return
        pattern = self.pattern if self.section_pattern is None else self.section_pattern
        if words == [AS_BEFORE]:
            slots, pushes = self._as_before(), frozenset[int]()
        else:
            spelt, pushes = self.spelling.bar(words)
            slots = read_bar(spelt, self.metre)
        for slot in slots:
            if not self.has_chord and slot.mark in (Mark.STRUCK, Mark.HELD):
                raise UnreadableError(
                    f"“{slot.mark}” comes before any chord; write the chord, or - for nothing"
                )
            self.has_chord = self.has_chord or slot.chord is not None
        unit = self.metre.beat_unit
        bar = Bar(slots, self.metre.beats, unit, self.tempo.in_beats(unit), self.gap, pattern)
        if not LEAST_BPM <= bar.tempo_bpm <= MOST_BPM:
            raise UnreadableError(
                f"the tempo comes to {bar.tempo_bpm:g} beats a minute of {self.metre}; "
                f"write {LEAST_BPM} to {MOST_BPM}"
            )
        if pushes:
            # The first of a bar lands in the bar before.
            before, bar = pushed(self.written[-1] if self.written else None, bar, pushes)
            self.written[-1:] = [] if before is None else [before]
        self._keep(bar)

    def _keep(self, bar: Bar) -> None:
        if self.coming:
            self.signs.setdefault(len(self.written), set()).update(self.coming)
            self.coming = set()
        self.repeats.add(len(self.written))
        self.written.append(bar)
        self.last_bar = bar
        self.number += 1

    def _as_before(self) -> tuple[Slot, ...]:
        before = self.last_bar
        if before is None:
            raise UnreadableError("% repeats the bar before, and there is none; write the chords")
        if (before.beats, before.beat_unit) != self.metre:
            raise UnreadableError("% repeats a bar of another metre; write the chords")
        return before.slots

    def _two_before(self) -> list[Bar]:
        if len(self.written) < 2:
            raise UnreadableError("%% repeats the two bars before, and there are not two; write the chords")
        return self.written[-2:]

    def _bar_line(self, bar_line: BarLine, since: int, line_number: int) -> None:
        line, times, self.at_bar_line = bar_line.line, bar_line.times, True
        if line in (Line.CLOSE, Line.CLOSE_AND_OPEN):
            self.repeats.close(None if times is None else checked_times(times))
        if line in (Line.OPEN, Line.CLOSE_AND_OPEN):
            self.repeats.open(line_number)
        if line is Line.ENDING and (self.repeats.ending is None or 1 in bar_line.rounds):
            self.repeats.first_ending(bar_line.rounds)
        elif line in (Line.ENDING, Line.NEXT_ENDING):
            self.repeats.next_ending(bar_line.rounds)
        if line is Line.AGAIN:
            self.repeats.again(since, checked_times(times or 0))
        if len(self.repeats.bars) > MOST_BARS:
            raise UnreadableError(TOO_LONG)
        self.at_bar_line = False
