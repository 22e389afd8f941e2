"""What the stage calls what a session does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedaltrainer.practice.drill import parse_drill
from pedaltrainer.practice.take import Outcome, Take
from pedaltrainer.session.causes import Action, Choice
from pedaltrainer.session.state import Ack, AckKind, Phase
from pedaltrainer.showing.view_of import hints
from pedaltrainer.showing.words import CHOICES, ack_words, action_words
from tests.session.playing import Playing, settings

AM_E = parse_drill("Am E")


@pytest.mark.parametrize(
    ("ack", "words"),
    [
        (Ack(AckKind.PRESS, 0.0), ""),
        (Ack(AckKind.PASS_, 0.0, Take(AM_E, 84, 8, Outcome.PASS_)), "Clean at 84"),
        (Ack(AckKind.FAIL, 0.0, Take(AM_E, 84, 8, Outcome.FAIL)), "Missed at 84"),
        (Ack(AckKind.FAIL, 0.0, Take(AM_E, 84, 8, Outcome.FAIL, first_miss=3)), "Missed at 84, landing 3"),
        (Ack(AckKind.INPUT_GONE, 0.0, name="Old board"), "Old board has gone"),
        (Ack(AckKind.INPUT_BACK, 0.0, name="Old {board}"), "Old {board} is back"),
        (Ack(AckKind.TAUGHT, 0.0, name="Kept in pedal.toml"), "Kept in pedal.toml"),
        (Ack(AckKind.NOT_TAUGHT, 0.0), "Nothing was changed"),
        (Ack(AckKind.LOG_BACK, 0.0), "The log is written again"),
    ],
)
def test_what_was_said_or_happened_is_acknowledged_in_a_word_or_two(ack, words):
    assert ack_words(ack) == words


def test_everything_that_can_be_acknowledged_has_words():
    silent = {AckKind.PRESS, AckKind.TAUGHT, AckKind.SAID}
    assert all(ack_words(Ack(kind, 0.0)) for kind in AckKind if kind not in silent)


def test_every_row_of_the_pause_menu_has_words():
    assert set(CHOICES) == set(Choice)


@pytest.mark.parametrize("phase", Phase)
def test_every_hint_of_every_phase_has_words(phase):
    state = replace(Playing(settings("Am E", "F")).state, phase=phase)
    assert all(action_words(state, action) for _, action in hints(state))


def test_while_it_clicks_a_hold_stops_and_elsewhere_it_opens_the_menu():
    state = Playing(settings("Am E")).state
    assert action_words(state, Action.STOP) == "menu"
    assert action_words(replace(state, phase=Phase.TAKE), Action.STOP) == "stop"
