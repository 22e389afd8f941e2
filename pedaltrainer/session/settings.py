"""What a session is run with. Frozen, pure; kept in the log, so that a field is never renamed."""

from __future__ import annotations

from dataclasses import dataclass

from pedaltrainer.practice.drill import Drill
from pedaltrainer.practice.kinds import SLOW_BPM
from pedaltrainer.practice.ladders.ladder import LADDERS, Ladder, LadderStart, PastResult
from pedaltrainer.practice.rules import NEWEST, RULES, Rules
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.songs.metre import FOUR_FOUR, Metre, parse_metre
from pedaltrainer.timing.grid import count_in_bars, short_count_in

FIRST_START_BPM = 60
"""Where a drill that was never practised begins: slow enough to think."""
GENTLE_RISE = 0.15
"""Of a drill that begins where its player said: how much faster than the one before a take may be."""
ANSWER_S = 1.0
"""How long it takes to answer, the gesture's own wait included: what a ladder reckons with."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a session is run with. Kept in the log beside the inputs, for replay."""

    drills: tuple[Drill, ...]
    answer_style: AnswerStyle = AnswerStyle.ASK
    ladder: str = "steps"
    starts_bpm: tuple[int, ...] = ()
    """Where each drill's ladder begins; a drill beyond the end begins at FIRST_START_BPM."""
    start_named: bool = False
    """The player has named the first tempo: no ladder may know better."""
    mode: str = "measure"
    """measure: find the clean tempo and end; practise: stay where the player learns."""
    histories: tuple[tuple[PastResult, ...], ...] = ()
    """What was found before, a tuple a drill; a drill beyond the end is new."""
    first_tempo_bpm: float = 0.0
    """How fast the player says changes go, where a drill without a history begins, to rise gently from there;
    0: not said."""
    step_bpm: int = 8
    landings: int = 8
    beats_per_bar: int = 4
    """Quarters in a bar of a drill of which `metres` tells nothing: all there is in logs of before."""
    metres: tuple[str, ...] = ()
    """The metre of each drill as `parse_metre` reads it, "" where nothing asks for one; the last one holds
    for the drills beyond the end."""
    minutes: float | None = None
    minutes_each: tuple[float, ...] = ()
    """In a planned session the minutes of each drill; `minutes` is then not asked."""
    modes: tuple[str, ...] = ()
    """In a planned session the mode of each drill: measure, practise, or slow (the tempo is held)."""
    reasons: tuple[str, ...] = ()
    """In a planned session why each drill is in it; the session then begins with its plan."""
    targets_bpm: tuple[float, ...] = ()
    """The tempo that the songs ask of each drill; 0 for none. A planned block ends when it is reached."""
    practise_chance: float = 0.87
    """The chance of a clean take that practise keeps to; the default is that of the first logs."""
    ear: bool = False
    """The ear listens beside the foot, after a sound check."""
    sound_checked: bool = False
    """It was checked in a session before this one, which home led to as well."""
    ear_answers: bool = False
    """It answers by itself where it is sure that a take was missed."""
    capo: int = 0
    """The fret that the capo is at; chords are named as they are fingered above it."""
    strings: tuple[tuple[str, ...], ...] = ()
    """Of each drill that is played string by string, what its strings are called, as they are picked."""
    first_steps: tuple[int, ...] = ()
    """The step that each drill with steps begins at; a drill beyond the end begins at its first."""
    rules: int = NEWEST
    """Which rules the ladders measure by (`practice.rules`); logs that do not say are of the first."""
    reaction_s: float = 0.25
    grace_s: float = 2.0
    """How long after the last landing of a speak-up take a press still means that take."""
    breath_s: float = 0.5
    """From an answer to the next count-in, which gives the hand its time: a second here is one not played."""
    count_s: float = 0.7
    """The breath after a miss where more than one can be said: time for a foot that has just tapped."""
    lead_s: float = 0.3
    """From a decision to the first click it asks for: more than the sound takes to reach the ear."""
    rest_after_s: float = 20 * 60
    rest_s: float = 120
    rate: int = 48_000
    show_cautions: bool = False
    ask_sight: bool = False
    teach: bool = False
    """Begin with a lesson for the pedal, and close after it."""
    played_before_s: float = 0.0
    """What was played since the last rest before this session: a rest is offered that much sooner."""
    seed: int | None = None
    counts_misses: bool = False
    """Where every take is asked about: after a miss another press says that there was more than one."""
    grammar: int = 3
    """What the controls mean: 3 as in `transitions`; 2 with a shorter menu; 1 in logs that do not name it."""

    def metre_of(self, drill_index: int) -> Metre:
        """The metre that a drill is counted in."""
        named = next(iter(self.metres[drill_index : drill_index + 1] or self.metres[-1:]), "")
        return parse_metre(named) or Metre(self.beats_per_bar, FOUR_FOUR.beat_unit)

    def whole_count_in(self, drill_index: int) -> int:
        """Beats of the count-in of a drill's first take: whole bars of it, and at least four beats."""
        beats = self.metre_of(drill_index).beats
        return count_in_bars(beats) * beats

    @property
    def measured_by(self) -> Rules:
        return RULES[self.rules]

    def taken_off_s(self, drill: Drill, tempo_bpm: float) -> float:
        """What is taken off a press in a take to find the landing that it is about."""
        return self.measured_by.off_s(self.reaction_s, float(drill.beats_per_landing) * 60 / tempo_bpm)

    def count_in_beats(self, drill_index: int, tempo_bpm: int, first: bool) -> int:
        """Beats of a take's count-in: shorter after a drill's first, where the rules say so."""
        whole = self.whole_count_in(drill_index)
        is_short = self.measured_by.short_count_in and not first
        return min(short_count_in(tempo_bpm), whole) if is_short else whole

    @property
    def pause_s(self) -> float:
        """Seconds from the end of a take to the next count-in, the answer included."""
        answer_s = ANSWER_S if self.answer_style is AnswerStyle.ASK else 0.0
        return answer_s + self.breath_s + self.lead_s

    @property
    def allowances_s(self) -> tuple[float, ...]:
        """Seconds for each drill: as planned, or the minutes asked for shared evenly, or five minutes."""
        if self.minutes_each:
            return tuple(minutes * 60 for minutes in self.minutes_each)
        minutes = 5.0 if self.minutes is None else self.minutes / len(self.drills)
        return (minutes * 60,) * len(self.drills)

    @property
    def first_bpm(self) -> int:
        """Where a drill begins of which nothing is known."""
        return round(self.first_tempo_bpm) or FIRST_START_BPM

    def target_bpm(self, drill_index: int) -> float | None:
        """The tempo that is asked of a drill; None where none is."""
        return next(iter(self.targets_bpm[drill_index : drill_index + 1]), 0.0) or None

    def landings_of(self, drill: Drill) -> int:
        """Landings in a take: as set, or a passage once through, a short one over and over."""
        if not drill.row.rounds:
            return drill.row.landings or self.landings
        times = -(-self.landings // len(drill.chords))
        return times * len(drill.chords)

    def strings_of(self, drill_index: int) -> tuple[str, ...]:
        """What the strings of a drill are called that is played string by string."""
        return next(iter(self.strings[drill_index : drill_index + 1]), ())

    def first_step(self, drill_index: int) -> int:
        return next(iter(self.first_steps[drill_index : drill_index + 1]), 0)

    def new_ladder(self, drill_index: int) -> Ladder:
        """The ladder of one of the drills, before its first take."""
        mode = self.modes[drill_index] if self.modes else self.mode
        # Slow work has no tempo to look for.
        row = self.drills[drill_index].row
        slow_bpm = row.slow_bpm
        slow = mode == "slow" or slow_bpm is not None
        known = self.starts_bpm[drill_index : drill_index + 1]
        history = self.histories[drill_index : drill_index + 1]
        start_bpm = known[0] if known else self.first_bpm
        named = bool(known) and (self.start_named or mode == "slow")
        gentle = bool(self.first_tempo_bpm) and not named and not (history and history[0])
        start = LadderStart(
            start_bpm=start_bpm,
            first_bpm=start_bpm if named or gentle else None,
            most_rise=GENTLE_RISE if gentle else None,
            step_bpm=self.step_bpm,
            landings=self.landings_of(self.drills[drill_index]),
            count_in_beats=self.whole_count_in(drill_index),
            beats_per_chord=max(1, round(self.drills[drill_index].beats_per_landing)),
            speak_up=self.answer_style is AnswerStyle.SPEAK_UP,
            reaction_s=self.reaction_s,
            pause_s=self.pause_s,
            rules=self.measured_by,
            mode=mode,
            history=history[0] if history else (),
            practise_chance=self.practise_chance,
            counts_misses=self.counts_misses,
            slow_bpm=slow_bpm or SLOW_BPM,
            gives_way=row.gives_way,
        )
        return LADDERS["hold" if slow else self.ladder](start)
