"""Make the guide's pictures with the program itself: `python docs/pictures/make_pictures.py [FOLDER]`.

A made-up player practises "Am E" and "C G" by `session.step`; each picture is
what `present` and the stage make of the state it was in. The pictures of the neck
and of a song are drawn by their commands.
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from pedaltrainer import cli
from pedaltrainer.neck.book import read_shape_book
from pedaltrainer.neck.chords.tuning import STANDARD_TUNING
from pedaltrainer.paper.page import our_look, save
from pedaltrainer.paper.sheet import PAPERS, drawn_pages
from pedaltrainer.pedals.events import Control
from pedaltrainer.pedals.taught import lesson as pedal_lesson
from pedaltrainer.pedals.taught.teach_state import TeachState
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.rehearsal.player import MadeUpPlayer, first_miss
from pedaltrainer.screen.window import save_png
from pedaltrainer.session.events import Due, EarHeard, Given, LandingTold, Opened, Pressed, SoundChecked
from pedaltrainer.session.run_through import RunSettings, RunState, run_step
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase, State
from pedaltrainer.session.step import begin, step
from pedaltrainer.showing.run_through import run_view
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import demo_songs
from pedaltrainer.songs.writing import write_chart
from pedaltrainer.telling.sheets import SheetDrill, sheet_of

SIZE = (1366, 768)
STRINGS = STANDARD_TUNING.called
SHAPES = Path(__file__).parents[2] / "configs" / "shapes.toml"
PLAYER = MadeUpPlayer(skill_bpm=84, seed=3)
TAKES_BEFORE = 4
"""The pictures of a take show a ladder that has been climbed a little."""
NECK = {
    "neck-shapes": ("shape", "Bm7b5", "--count", "4"),
    "neck-moves": ("moves", "C Am"),
    "neck-route": ("route", "Em C G D", "--loop"),
}
"""Picture name -> the command that draws it."""
SONG = SHAPES.parent / "songs" / "low-water.chart"
MEASURED = {
    "G Em": 140, "Em C": 112, "C D": 96, "D G": 122, "Em Bm": 64, "Bm C": 80, "Bm": 72, "Em": 170, "C": 150,
}  # fmt: skip
"""The drills of the song that were measured: the made-up player's clean tempo on each, in BPM."""


def states() -> Iterator[State]:
    """Every state of a session in order, from the cautions to the summary."""
    drills = (parse_drill("Am E"), parse_drill("C G"))
    settings = Settings(
        drills=drills, ladder="seek", starts_bpm=(72, 60), show_cautions=True, minutes=5, seed=PLAYER.seed
    )
    state, _ = step(begin(settings), Opened(0.0))
    while state.phase is not Phase.FINISHED:
        yield state
        if state.due_s is not None:
            state, _ = step(state, Due(state.due_s))
            continue
        missed = state.phase is Phase.ASKING and first_miss(PLAYER, state)
        answer = Control.FAIL if missed else Control.PASS_
        now_s = state.now_s + 0.7
        state, _ = step(state, Given(now_s, now_s, now_s, answer, "rehearsal"))
    yield state


def paused(state: State) -> State:
    """The state after the player asked for a pause."""
    now_s = state.now_s + 3.0
    return step(state, Given(now_s, now_s, now_s, Control.PAUSE, "key"))[0]


def lesson() -> TeachState:
    """A lesson for a pedal that waits for its first press."""
    state = TeachState()
    for at_s in (0.0, 2.0):
        state, _ = pedal_lesson.step(state, at_s)
    return state


def in_a_take(words: str, beat: float, step_reached: int = 0) -> tuple[State, float]:
    """A drill in its first take at a beat, and the heard second of it. step_reached: of one with steps."""
    settings = Settings(drills=(parse_drill(words),), first_steps=(step_reached,), strings=(STRINGS,))
    state, _ = step(begin(settings), Opened(0.0))
    state, _ = step(state, Given(1.0, 1.0, 1.0, Control.PASS_, "rehearsal"))
    state, _ = step(state, Due(state.due_s or 0.0))
    return state, state.run.beat_s(beat) if state.run else 0.0


def string_named(words: str, beat: float, pressed_beat: float) -> tuple[State, float]:
    """A take that is played string by string, a moment after a press."""
    state, heard_s = in_a_take(words, beat)
    pressed_s = state.run.beat_s(pressed_beat) if state.run else 0.0
    return step(state, Pressed(pressed_s, pressed_s, "foot"))[0], heard_s


def listened(words: str) -> tuple[State, float]:
    """A take that waits for its answer, and what the ear heard of it."""
    state, _ = in_a_take(words, 0.0)
    state, _ = step(state, Due(state.due_s or 0.0))
    landings = tuple(LandingTold("late", 90.0) if number == 4 else LandingTold("ok") for number in range(8))
    heard = EarHeard(state.now_s, state.serial, "missed", True, True, 40.0, landings)
    return step(state, heard)[0], state.now_s + 1.0


def sound_check() -> tuple[State, float]:
    """What came of a sound check with headphones."""
    state, _ = step(begin(Settings(drills=(parse_drill("C F"),), ear=True)), Opened(0.0))
    state, _ = step(state, Given(1.0, 1.0, 1.0, Control.PASS_, "rehearsal"))
    return step(state, SoundChecked(5.0, "USB microphone", -63.0))[0], 6.0


def before_a_take(words: str) -> tuple[State, float]:
    """A drill to be begun."""
    state, _ = step(begin(Settings(drills=(parse_drill(words),))), Opened(0.0))
    return state, 1.0


def moments(played: list[State]) -> dict[str, tuple[State, float]]:
    """Picture name -> the state to show, and the heard second at which to show it."""
    first = {state.phase: state for state in reversed(played)}
    later = [state for state in played if state.phase is Phase.TAKE and len(state.answers) >= TAKES_BEFORE]
    take = later[0]
    asked = played[played.index(take) + 1]
    answered = next(state for state in played[played.index(asked) :] if state.phase is Phase.BREATH)
    beat_s = 60 / take.ladder.tempo_bpm
    return {
        "cautions": (first[Phase.CAUTIONS], 0.0),
        "stage-ready": (first[Phase.READY], first[Phase.READY].now_s + 2),
        "stage-take": (take, take.now_s + 2.1 * beat_s),
        "stage-lifted": (take, take.now_s + 2.68 * beat_s),
        "stage-asking": (asked, asked.now_s + 1),
        "stage-breath": (answered, answered.now_s + 0.1),
        "menu": (paused(first[Phase.READY]), first[Phase.READY].now_s + 6),
        "lesson": (replace(first[Phase.READY], phase=Phase.TEACHING), 0.0),
        "summary": (first[Phase.FINISHED], first[Phase.FINISHED].now_s + 3),
        "stage-pressure": in_a_take("pressure F", 2.2),
        "stage-air": in_a_take("air F", 2.2),
        "stage-ring": string_named("ring F", 3.2, 2.6),
        "stage-lead": in_a_take("lead C G", 4.2, step_reached=1),
        "stage-ease": in_a_take("ease F", 4.2, step_reached=2),
        "stage-picked": in_a_take("picked C G", 0.2),
        "stage-heard": listened("C F"),
        "sound-check": sound_check(),
        "stage-shared": before_a_take("shared C Am"),
        "drill-done": (first[Phase.DRILL_DONE], first[Phase.DRILL_DONE].now_s + 3),
    }


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    around = Surroundings(read_shape_book(SHAPES), input_name="one foot switch", lesson=lesson())
    for name, (state, heard_s) in moments(list(states())).items():
        view = present(state, heard_s, around)
        save_png(replace(view, ack=None) if name == "menu" else view, folder / f"{name}.png", SIZE)
        print(f"{name}.png: {state.phase}")
    for name, words in NECK.items():
        run(*words, "--picture", folder / f"{name}.png", "--data", folder)
        print(f"{name}.png: {' '.join(words)}")
    draw_run_through(folder / "run-through.png", around)
    print("run-through.png: a song run through")
    draw_song(folder / "song-ready.png")
    print("song-ready.png: song ready")
    draw_sheet(folder / "sheet-blank.png")
    print("sheet-blank.png: sheet")


def draw_run_through(picture: Path, around: Surroundings) -> None:
    """A run-through of a song of the made-up band, with a bar flagged."""
    settings = RunSettings(write_chart(demo_songs()[1]), 80)
    state, _ = run_step(RunState(settings), Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
    begin_s = state.start_s + settings.one_pass.counted_in_s
    bar = settings.one_pass.bars[7]
    state, _ = run_step(state, Pressed(begin_s + bar.start_s - 1.0, 5.0, "foot"))
    save_png(run_view(state, begin_s + bar.start_s + 1.2, around), picture, SIZE)


def draw_song(picture: Path) -> None:
    """How ready a made-up player is for a song, after a first look at most of its changes."""
    with tempfile.TemporaryDirectory() as scratch:
        mine = ("--data", scratch, "--player", "Robin")
        for drill, clean_bpm in MEASURED.items():
            run("rehearse", "--fast", drill, "--skill", clean_bpm, "--minutes", 4, *mine)
        run("song", "add", SONG, "--data", scratch)
        run("song", "ready", "--picture", picture, *mine)


def draw_sheet(picture: Path) -> None:
    """The first page of `sheet --blank "Dm G7" F "C Am"`."""
    drills = [SheetDrill(parse_drill(words)) for words in ("Dm G7", "F", "C Am")]
    blank = sheet_of(drills, read_shape_book(SHAPES), blank=True)
    with our_look(salt=""):
        save(next(drawn_pages(blank, PAPERS["a4"])), picture)


def run(*words: object) -> None:
    """Run one of the program's commands without its words."""
    with contextlib.redirect_stdout(io.StringIO()):
        cli.main([str(word) for word in words])


if __name__ == "__main__":
    main()
