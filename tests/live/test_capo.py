"""A capo in a session: chords are named as they are fingered above it, and what sounds moves with it."""

from __future__ import annotations

import pytest

from pedaltrainer.cli import main
from pedaltrainer.errors import InputError
from pedaltrainer.history.desk import Desk
from pedaltrainer.live.band import Band
from pedaltrainer.live.conductor import Conductor
from pedaltrainer.live.ear import Ear
from pedaltrainer.live.fast import SimulatedStream
from pedaltrainer.live.home.choosing import hear
from pedaltrainer.live.home.house import House
from pedaltrainer.live.options import Options
from pedaltrainer.live.starting import of_drills
from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.session.effects import PlayRun, Run
from pedaltrainer.session.replay import settings_from_json, settings_to_json
from pedaltrainer.showing.view_of import Surroundings, present
from pedaltrainer.songs.metre import FOUR_FOUR
from pedaltrainer.songs.shipped import shape_book
from tests.session.playing import Playing, settings


def test_the_stage_names_it_beside_the_drill_and_the_shapes_are_those_without_it():
    plain, capoed = Playing(settings("C F")), Playing(settings("C F", capo=3))
    views = [present(play.state, 0.0, Surroundings(shape_book())) for play in (plain, capoed)]
    assert [view.drill for view in views] == ["C – F", "C – F, capo 3"]
    assert views[0].boxes == views[1].boxes


def test_the_backing_sounds_as_much_higher():
    asked = []

    class Listened(Band):
        def accompany(self, track, at_sample, plan, stream) -> None:
            asked.append(track.capo)

    class NoBook:
        is_behind = False

        def add_inputs(self, inputs) -> None: ...

    play = Playing(settings("C F", capo=3))
    conductor = Conductor(play.state, SimulatedStream(), NoBook(), band=Listened())
    run = Run(1, parse_drill("C F"), 90, 0.0, 4, FOUR_FOUR, 8)
    conductor._carry_out(PlayRun(run))
    assert asked == [3]


def test_a_change_that_is_heard_at_home_and_what_the_ear_expects_are_as_much_higher(tmp_path):
    desk = Desk(tmp_path, "Robin")
    house, heard = House(Options(settings("C F", capo=3), desk)), []
    house.strum = heard.extend
    hear(house, "C F")
    c_chord = shape_book().find("C")
    # Three semitones: a fret is one (from the neck's arithmetic).
    assert list(heard[0]) == [note + 3 for note in c_chord.midi]
    ear = Ear(None, shape_book(), print, capo=3)
    expected = ear._expected(Run(1, parse_drill("C F"), 90, 0.0, 4, FOUR_FOUR, 8))
    ear.close()
    assert [note - 3 for note in expected.landings[0].shape.midi] == list(c_chord.midi)


def test_it_is_the_same_drill_in_the_record_and_stands_in_the_settings(tmp_path):
    desk, drill = Desk(tmp_path, "Robin"), parse_drill("C F")
    made = of_drills(settings("Am E", capo=3), desk, [drill])
    assert made.drills[0].key == drill.key
    assert settings_from_json(settings_to_json(made)).capo == 3


def test_a_shape_that_would_run_off_the_neck_is_refused_in_one_sentence(tmp_path):
    desk, high = Desk(tmp_path, "Robin"), parse_drill("A[x.12.14.14.14.12]")
    assert of_drills(settings("Am E"), desk, [high]).capo == 0
    with pytest.raises(InputError, match=r"no fret 1\d above the capo at 11") as refusal:
        of_drills(settings("Am E", capo=11), desk, [high])
    assert str(refusal.value).count("\n") == 0


def test_a_capo_that_no_neck_has_is_refused(tmp_path, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["play", "C F", "--capo", "12", "--data", str(tmp_path)])
    assert ended.value.code == 2
    assert "--capo" in capsys.readouterr().err
