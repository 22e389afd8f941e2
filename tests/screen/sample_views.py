"""Views such as a session makes, one for each moment: for tests, benchmarks and a look by eye."""

from __future__ import annotations

from dataclasses import replace

from pedaltrainer.neck.box import ChordBox
from pedaltrainer.screen.view import (
    AckView,
    HintView,
    LadderView,
    MenuView,
    PageView,
    PlankView,
    PlayView,
    RungMark,
    RungView,
    Scene,
    StageView,
)

# Open chords as every beginner's handbook fingers them (common practice, no published source).
A_MINOR = ChordBox("Am", (None, 0, 2, 2, 1, 0), (0, 0, 2, 3, 1, 0))
E_MAJOR = ChordBox("E", (0, 2, 2, 1, 0, 0), (0, 2, 3, 1, 0, 0))
C_MAJOR = ChordBox("C", (None, 3, 2, 0, 1, 0), (0, 3, 2, 0, 1, 0), stays=frozenset({2, 4}))
A_MINOR_FROM_C = ChordBox("Am", (None, 0, 2, 2, 1, 0), (0, 0, 2, 3, 1, 0), stays=frozenset({2, 4}))
F_BARRE = ChordBox("F", (1, 3, 3, 2, 1, 1), (1, 3, 4, 2, 1, 1))
B_FLAT_HIGH = ChordBox("Bb", (6, 8, 8, 7, 6, 6), (1, 3, 4, 2, 1, 1))

LADDER = LadderView(
    rungs=(
        RungView(72, RungMark.PASSED),
        RungView(76, RungMark.PASSED),
        RungView(80, RungMark.MIXED),
        RungView(84, RungMark.NONE),
        RungView(88, RungMark.NONE),
        RungView(92, RungMark.FAILED),
        RungView(96, RungMark.NONE),
    ),
    now_bpm=84,
    if_pass_bpm=88,
    if_fail_bpm=80,
    best_bpm=80,
    band_bpm=(79.0, 90.0),
)
ANSWERS = (HintView("tap", "clean"), HintView("double tap", "a miss"), HintView("hold", "move on"))

TAKE = PlayView(
    scene=Scene.TAKE,
    headline="Am – E",
    drill="Am – E",
    now_chord="Am",
    next_chord="E",
    tempo_bpm=84,
    target="then 88",
    landing=3,
    landings=8,
    ladder=LADDER,
    hints=(HintView("tap", "pause"), HintView("hold", "move on")),
    plank=PlankView(0.0, 3, 4),
    time_left="6 min left",
)
LIFTED = replace(TAKE, plank=PlankView(1.0, 3, 4, changing=True))
COUNT_IN = replace(
    TAKE,
    scene=Scene.COUNT_IN,
    headline="Count-in",
    count=3,
    landing=0,
    plank=PlankView(0.0, 3, 4, counting=True),
)
READY = replace(
    TAKE,
    scene=Scene.READY,
    headline="Look, then begin",
    drill="C – Am, two fingers stay",
    now_chord="C",
    next_chord="Am",
    now_box=C_MAJOR,
    next_box=A_MINOR_FROM_C,
    plank=None,
    landing=0,
    hints=(HintView("tap", "begin"), HintView("double tap", "other drill"), HintView("hold", "leave")),
)
READY_BARRE = replace(
    READY, drill="F – Bb", now_chord="F", next_chord="Bb", now_box=F_BARRE, next_box=B_FLAT_HIGH
)
READY_ONE = replace(
    READY, drill="F, landed again", now_chord="F", next_chord="F", now_box=F_BARRE, next_box=F_BARRE
)
READY_BARE = replace(
    READY, drill="F#m7 – Bbmaj7", now_chord="F#m7", next_chord="Bbmaj7", now_box=None, next_box=None
)
ASKING = replace(TAKE, scene=Scene.ASKING, headline="How was it?", plank=None, landing=8, hints=ANSWERS)
BREATH = replace(
    TAKE,
    scene=Scene.BREATH,
    headline="Clean: up to 88",
    tempo_bpm=84,
    plank=None,
    landing=8,
    ack=AckView("check", "Clean at 84", 0.1),
)
BREATH_FAIL = replace(
    BREATH,
    headline="A miss: down to 80",
    target="then 80",
    ack=AckView("cross", "Missed at 84", 0.5),
)
WITH_BOXES = replace(
    TAKE, boxes_in_take=True, now_chord="C", next_chord="Am", now_box=C_MAJOR, next_box=A_MINOR_FROM_C
)
LONG_WITH_BOXES = replace(WITH_BOXES, now_chord="F#m7", now_box=replace(F_BARRE, title="F#m7"))
PRESSURE = replace(
    TAKE,
    boxes_in_take=True,
    now_chord="unload",
    next_chord="clear",
    now_box=F_BARRE,
    next_box=F_BARRE,
    headline="F, in four stages",
    instruction="Touch all strings at once, no pressure",
)
ASKING_WITH_BOXES = replace(ASKING, now_box=C_MAJOR, next_box=A_MINOR_FROM_C)
BREATH_WITH_BOXES = replace(BREATH, now_box=C_MAJOR, next_box=A_MINOR_FROM_C)
LONG_NAMES = replace(
    TAKE, now_chord="Bbmaj7", next_chord="Bm7b5", drill="Bbmaj7 – Bm7b5", headline="Bbmaj7 – Bm7b5"
)
SLASH = replace(TAKE, now_chord="C/G", next_chord="F#m7", drill="C/G – F#m7", headline="C/G – F#m7")
SPEAK_UP = replace(TAKE, hints=(HintView("tap", "that was a miss"), HintView("hold", "pause")),
                   ack=AckView("cross", "Miss at landing 3", 0.1))  # fmt: skip
TROUBLE = replace(TAKE, notices=("No sound device: the click is silent",))

CAUTIONS = PageView(
    title="Before you play",
    lines=(
        "Warm up slowly for a few minutes.",
        "Stop at pain, tingling or numbness.",
        "Rest your hands every 20 minutes.",
        "Keep the click quiet.",
    ),
    small_print=("If it hurts, ask a doctor; if it sticks, ask a teacher.",),
    hints=(HintView("tap", "understood"), HintView("hold", "leave")),
)
REST = PageView(
    title="Time for a rest",
    lines=("Twenty minutes played.", "Shake the hands out, look far away."),
    hints=(HintView("tap", "rest"), HintView("double tap", "play on")),
    figure="2:00",
    figure_words="minutes",
)
DRILL_SUMMARY = PageView(
    title="Am – E",
    lines=("Fastest clean take: 88", "12 takes, 9 clean", "Up 4 since yesterday"),
    hints=(HintView("tap", "next drill"), HintView("hold", "finish")),
    figure="84 BPM",
    figure_words="clean tempo, 79 to 90",
)
SESSION_SUMMARY = PageView(
    title="Today",
    lines=("Am – E: 84", "C – G: 72", "F, landed again: 60", "F#m7 – Bbmaj7: 52"),
    hints=(HintView("tap", "once more"), HintView("hold", "finish")),
    small_print=("18 minutes played. Stop at pain, tingling or numbness.",),
)
MENU = MenuView(
    title="What shall it be?",
    choices=("Am – E", "C – G", "F, landed again", "All of them", "Leave"),
    chosen=1,
    hints=(HintView("tap", "down"), HintView("double tap", "take it"), HintView("hold", "leave")),
)

LONG_MENU = MenuView(
    title="Paused",
    choices=(
        "Go on",
        "Skip this take",
        "Take the last answer back",
        "Next drill",
        "Finish",
        "Rest a while",
        "Teach the pedal",
        "What each press says",
        "Louder",
    ),
    chosen=0,
    hints=(HintView("tap", "move"), HintView("double tap", "not now"), HintView("hold", "choose")),
    boxes=(C_MAJOR, A_MINOR_FROM_C),
)
FASTER_THAN = replace(DRILL_SUMMARY, figure="faster than 190 BPM", figure_words="nothing was missed yet")

ALL: dict[str, StageView] = {
    "ready": READY,
    "ready-barre": READY_BARRE,
    "ready-one": READY_ONE,
    "ready-bare": READY_BARE,
    "count-in": COUNT_IN,
    "take": TAKE,
    "lifted": LIFTED,
    "speak-up": SPEAK_UP,
    "trouble": TROUBLE,
    "long-names": LONG_NAMES,
    "slash": SLASH,
    "asking": ASKING,
    "breath": BREATH,
    "breath-fail": BREATH_FAIL,
    "cautions": CAUTIONS,
    "rest": REST,
    "drill-summary": DRILL_SUMMARY,
    "session-summary": SESSION_SUMMARY,
    "menu": MENU,
    "take-with-boxes": WITH_BOXES,
    "long-with-boxes": LONG_WITH_BOXES,
    "pressure": PRESSURE,
    "asking-with-boxes": ASKING_WITH_BOXES,
    "breath-with-boxes": BREATH_WITH_BOXES,
    "long-menu": LONG_MENU,
    "faster-than": FASTER_THAN,
}
