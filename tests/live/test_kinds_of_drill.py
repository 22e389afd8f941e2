"""Every kind of drill, played to its end by a made-up player, kept, and told again from the log."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from pedaltrainer.history.desk import Desk
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.pedals.events import Control
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.hands import hands
from pedaltrainer.practice.kinds import KINDS
from pedaltrainer.practice.ladders.rungs import Finding
from pedaltrainer.practice.take import AnswerStyle
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.learner import Learner
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.screen.view import Sight
from pedaltrainer.screen.window import layout_of
from pedaltrainer.session.events import Due, Given, Opened
from pedaltrainer.session.replay import event_from_json, replay, settings_from_json
from pedaltrainer.session.settings import Settings
from pedaltrainer.session.state import Phase, State
from pedaltrainer.session.step import begin, step
from pedaltrainer.showing.beat import stages_of
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.shipped import shape_book

EXAMPLES = [f"{kind} {KINDS[kind].example}" for kind in KINDS]


@pytest.mark.parametrize("words", [*EXAMPLES, "C G unseen", "air F C", "bass F", "push D A x2"])
@pytest.mark.parametrize("style", AnswerStyle)
def test_it_is_played_to_its_end_kept_and_told_again_from_the_log(words, style, tmp_path: Path):
    drill = parse_drill(words)
    chosen = Settings((drill,), style, "seek", minutes=2)
    options = Options(chosen, Desk(tmp_path, "Robin"), made_up=MadeUpPlayer(80, 5))
    with Log.open(tmp_path) as log:
        state = fast.rehearse(options, log).state
        (row,) = log.sessions("Robin")
        inputs = log.inputs(row.id)
        assert log.drills("Robin") == [drill.key]
    (result,) = state.all_results
    assert result.takes > 2
    if drill.row.measures_nothing:
        assert result.result.finding is Finding.SLOW_WORK
        assert {take.tempo_bpm for take in state.takes_so_far} <= {drill.row.slow_bpm, *range(20, 50)}
    else:
        assert result.result.interval_bpm is not None
    *_, (again, _) = replay(settings_from_json(row.settings), map(event_from_json, inputs))
    assert [one.take for one in again.answers] == [one.take for one in state.answers]


@pytest.mark.parametrize("words", EXAMPLES)
def test_what_the_stage_shows_of_it_can_be_read_and_says_what_the_hand_does(words):
    around, seen = Surroundings(shape_book()), set()
    for state, heard_s in moments(words):
        view = present(state, heard_s, around)
        assert layout_of(view, (1366, 768), Sight(15.6, 2.0)).shortfalls == ()
        seen.add(view.now_chord)
    drill = parse_drill(words)
    # In a level drill the second shape is moved, and sounds another chord there.
    names = {hand.name for hand in hands(drill, shape_book())}
    stages = {stage.word for hand in hands(drill, shape_book()) for stage in stages_of(drill, hand.shape)}
    assert seen >= (stages or names)


def moments(words: str) -> list[tuple[State, float]]:
    """A drill before its first take, and in every half beat of it."""
    ready, _ = step(begin(Settings((parse_drill(words),))), Opened(0.0))
    playing, _ = step(ready, Given(1.0, 1.0, 1.0, Control.PASS_, "foot"))
    playing, _ = step(playing, Due(playing.due_s or 0.0))
    assert playing.run is not None
    in_take = replace(playing, phase=Phase.TAKE)
    halves = range(-2, 2 * playing.run.beats)
    return [(ready, 1.0), *((in_take, playing.run.beat_s(half / 2)) for half in halves)]


def test_the_next_chord_of_a_shuffled_loop_is_shown_a_chord_ahead():
    around = Surroundings(shape_book())
    shown = [present(state, heard_s, around) for state, heard_s in moments("shuffled C Am F G")[5:]]
    changes = [(here, there) for here, there in pairwise(shown) if here.now_chord != there.now_chord]
    assert len(changes) > 5
    assert all(here.next_chord == there.now_chord for here, there in changes)


def test_a_drill_without_its_picture_shows_names_and_no_boxes():
    around = Surroundings(shape_book())
    for state, heard_s in moments("C G unseen"):
        view = present(state, heard_s, around)
        assert view.now_box is None
        assert view.next_box is None
        assert view.now_chord in {"C", "G"}


def test_hands_that_learn_can_learn_every_kind():
    learner = Learner(shape_book(), 3)
    for words in EXAMPLES:
        assert learner.skill_bpm(parse_drill(words)) > 10
