"""Home walked by foot: rows, pages, the way back, and what a gesture is about."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.pedals.events import Control
from pedaltrainer.session.events import AtHome, Due, Given, InputBack, InputLost, Pressed, Shut, Taught
from pedaltrainer.session.home import AGAIN, BACK, Errand, Leaf, LeafRow, Turned, Verb, Walk, step
from pedaltrainer.session.replay import at_home, event_from_json, event_to_json, home_event_from_json, walked
from pedaltrainer.session.state import DWELL_S, AckKind
from pedaltrainer.session.step import begin, since_rest_s
from tests.session.playing import Playing
from tests.session.playing import settings as usual_settings

YES, NO, STOP = Control.PASS_, Control.FAIL, Control.PAUSE
FRONT = Errand(Verb.TURN, "home")


def leaf(name: str = "home", *errands: Errand, marked: int = 0, taps: bool = False, value: str = "") -> Leaf:
    rows = tuple(
        LeafRow(f"row {number}", errand) for number, errand in enumerate(errands or (BACK, BACK, BACK))
    )
    return Leaf(Errand(Verb.TURN, name, value), name, rows, marked=marked, taps=taps)


class Walking:
    """A walk, with a foot on it and a clock."""

    def __init__(self, first: Leaf) -> None:
        self.walk, self.errands, self.events = Walk(), (), []
        self.shows(first)

    def happens(self, event):
        self.events.append(event)
        self.walk, self.errands = step(self.walk, event)
        return self.errands

    def shows(self, page: Leaf, anew: bool = False, said: str = "") -> None:
        self.happens(Turned(self.walk.now_s, page, anew, said))

    def presses(self, after_s: float = 1.0, dwells: bool = False) -> float:
        pressed_s = self.walk.now_s + after_s
        self.happens(Pressed(pressed_s, pressed_s, "foot", dwells=dwells))
        return pressed_s

    def says(self, control: Control, pressed_s: float | None = None, dwells: bool = False):
        pressed_s = self.presses(dwells=dwells) if pressed_s is None else pressed_s
        return self.happens(Given(pressed_s + 0.1, pressed_s, pressed_s, control, "foot"))


def test_yes_goes_from_row_to_row_and_round():
    home = Walking(leaf("home", FRONT, FRONT, FRONT))
    rows = []
    for _ in range(4):
        assert home.says(YES) == ()
        rows.append(home.walk.marker)
    assert rows == [1, 2, 0, 1]


def test_quick_taps_move_and_never_choose():
    home = Walking(leaf("home", FRONT, FRONT, FRONT))
    for _ in range(30):
        pressed_s = home.presses(after_s=0.05)
        assert home.says(YES, pressed_s) == ()
    assert home.walk.marker == 0


@pytest.mark.parametrize("control", [STOP, Control.NEXT])
def test_stop_or_a_switch_for_next_chooses_the_marked_row(control):
    songs = Errand(Verb.TURN, "songs")
    home = Walking(leaf("home", FRONT, songs))
    home.says(YES)
    assert home.says(control) == (songs,)
    assert home.walk.trail == ((FRONT, 1),)


def test_the_likeliest_row_is_marked_and_the_one_that_was_left_when_one_comes_back():
    home = Walking(leaf("home", FRONT, Errand(Verb.TURN, "songs"), marked=1))
    assert home.walk.marker == 1
    home.says(STOP)
    home.shows(leaf("songs", BACK, BACK, BACK, marked=2))
    assert home.walk.marker == 2
    assert home.says(STOP) == (FRONT,)
    home.shows(leaf("home", FRONT, Errand(Verb.TURN, "songs"), marked=0))
    assert (home.walk.marker, home.walk.trail) == (1, ())


def test_no_goes_back_and_from_home_says_that_nothing_lies_before_it():
    home = Walking(leaf("home", Errand(Verb.TURN, "songs")))
    home.says(STOP)
    home.shows(leaf("songs"))
    assert home.says(NO) == (FRONT,)
    home.shows(leaf("home", Errand(Verb.TURN, "songs")))
    assert home.says(NO) == ()
    assert home.walk.ack.kind is AckKind.OUT_OF_PLACE


def test_a_gesture_is_about_the_page_that_its_foot_saw():
    home = Walking(leaf("home", Errand(Verb.PLAY, "today"), Errand(Verb.CLOSE)))
    pressed_s = home.presses()
    home.shows(leaf("close", BACK, Errand(Verb.CLOSE), marked=1))
    assert home.says(STOP, pressed_s) == ()
    assert not home.walk.closed
    assert home.walk.ack.kind is AckKind.TOO_LATE


def test_where_a_pedal_cannot_say_stop_a_rest_of_the_foot_chooses():
    play = Errand(Verb.PLAY, "today")
    home = Walking(leaf("home", BACK, play))
    home.says(YES, dwells=True)
    due_s = home.walk.due_s
    assert due_s == pytest.approx(home.walk.now_s + DWELL_S)
    home.presses(after_s=0.5, dwells=True)
    assert home.walk.due_s is None, "a foot that is down is not resting"
    assert home.happens(Due(home.walk.now_s)) == ()
    home = Walking(leaf("home", BACK, play))
    home.says(YES, dwells=True)
    assert home.happens(Due(home.walk.due_s)) == (play,)


def test_a_deed_leaves_the_marker_where_it_is_and_says_what_was_done():
    louder = Errand(Verb.DO, "volume", "+")
    home = Walking(leaf("volume", BACK, louder, marked=1))
    assert home.says(STOP) == (louder,)
    home.shows(leaf("volume", BACK, louder, marked=0), anew=True, said="Volume: 50")
    assert home.walk.marker == 1
    assert (home.walk.ack.kind, home.walk.ack.name) == (AckKind.SAID, "Volume: 50")
    assert home.walk.trail == ()


def test_a_page_may_be_asked_for_again():
    place = Errand(Verb.TURN, "song", "Low Water")
    home = Walking(Leaf(place, "That did not work", (LeafRow("Back", AGAIN),)))
    assert home.says(STOP) == (place,)


def test_the_program_closes_only_by_the_row_that_says_so():
    home = Walking(leaf("close", BACK, Errand(Verb.CLOSE)))
    home.says(YES)
    home.says(STOP)
    assert home.walk.closed


@pytest.mark.parametrize("control", [Control.QUIT, Control.UNDO, Control.REPEAT])
def test_no_control_closes_by_itself(control):
    home = Walking(leaf("home", Errand(Verb.PLAY, "today")))
    assert home.says(control) == ()
    assert not home.walk.closed


def test_a_lesson_hears_the_presses_itself_until_it_is_over():
    lesson = Errand(Verb.TEACH)
    home = Walking(leaf("set up", lesson, BACK))
    assert home.says(STOP) == (lesson,)
    assert home.walk.teaching
    assert home.says(YES) == ()
    assert home.walk.marker == 0
    home.happens(Taught(home.walk.now_s, "Kept in foot.toml"))
    assert not home.walk.teaching
    home.says(STOP)
    home.says(Control.QUIT)
    assert not home.walk.teaching
    assert home.walk.ack.kind is AckKind.NOT_TAUGHT


def test_a_lesson_or_a_deed_may_lead_on_to_another_page():
    size = Errand(Verb.DO, "set", "screen_inches 24", then="distance")
    home = Walking(leaf("home", Errand(Verb.TEACH, then="screen")))
    home.says(STOP)
    assert home.happens(Taught(home.walk.now_s, "A momentary switch")) == (Errand(Verb.TURN, "screen"),)
    home.shows(leaf("screen", size))
    assert home.says(STOP) == (size,)
    home.shows(leaf("distance"))
    assert [place.to for place, _ in home.walk.trail] == ["home", "screen"]
    assert home.says(NO) == (Errand(Verb.TURN, "screen"),)


def test_on_to_a_page_that_led_here_is_back_to_it():
    to_screen = Errand(Verb.TURN, "screen")
    home = Walking(leaf("home", FRONT, Errand(Verb.TURN, "set up")))
    home.says(YES)
    home.says(STOP)
    home.shows(leaf("set up", FRONT, to_screen, marked=1))
    home.says(STOP)
    home.shows(leaf("screen", Errand(Verb.DO, "set", "screen_inches 24", then="set up")))
    home.says(STOP)
    home.shows(leaf("set up", FRONT, to_screen))
    assert home.walk.trail == ((FRONT, 1),)
    assert home.walk.marker == 1
    assert home.says(NO) == (FRONT,)


def test_nothing_lies_before_home_however_it_was_come_to():
    home = Walking(leaf("cautions", Errand(Verb.TURN, "home")))
    home.says(STOP)
    home.shows(leaf("home"))
    assert home.walk.trail == ()


@pytest.mark.parametrize("control", [YES, NO, STOP, Control.NEXT])
def test_on_a_page_that_is_only_read_whatever_the_foot_says_goes_on(control):
    home = Walking(replace(leaf("cautions", Errand(Verb.TURN, "screen")), reads=True))
    assert home.says(control) == (Errand(Verb.TURN, "screen"),)


def test_presses_on_a_page_for_a_tempo_are_its_beats():
    home = Walking(leaf("tap", BACK, taps=True))
    beats = [home.presses(after_s=0.5) for _ in range(5)]
    for pressed_s in beats:
        home.says(YES, pressed_s)
    assert home.walk.taps_s == tuple(beats)
    home.shows(leaf("tap", BACK, taps=True), anew=True)
    assert home.walk.taps_s == tuple(beats)
    home.shows(leaf("songs"))
    assert home.walk.taps_s == ()


def tapping(errand: Errand, bpm: float, taps: int, dwells: bool = False) -> Walking:
    home = Walking(leaf("home", Errand(Verb.TURN, "tap")))
    home.says(STOP)
    home.shows(leaf("tap", errand, BACK, taps=True))
    for _ in range(taps):
        home.says(YES, home.presses(60 / bpm - 0.1, dwells))
    return home


@pytest.mark.parametrize("verb", [Verb.TURN, Verb.ACROSS])
def test_what_chooses_there_carries_the_tempo_and_is_itself_no_beat(verb):
    home = tapping(Errand(verb, "tapped", "new song"), 104, taps=6)
    late = home.presses(after_s=1.31)
    assert home.says(STOP, late) == (Errand(verb, "tapped", "104 new song"),)
    assert len(home.walk.taps_s) == 6


def test_too_few_taps_are_no_tempo():
    home = tapping(Errand(Verb.TURN, "tapped", "new song"), 104, taps=3)
    assert home.says(STOP) == (Errand(Verb.TURN, "tapped", "- new song"),)


def test_taps_move_no_marker_and_a_foot_that_cannot_hold_rests_after_them():
    home = tapping(Errand(Verb.TURN, "tapped", "new song"), 60, taps=5, dwells=True)
    assert home.walk.marker == 0
    home.happens(Due(home.walk.now_s + 1.0))
    assert home.errands == ()
    assert home.happens(Due(home.walk.due_s)) == (Errand(Verb.TURN, "tapped", "60 new song"),)


def test_a_switch_of_its_own_leaves_the_page():
    home = tapping(Errand(Verb.TURN, "tapped", "new song"), 100, taps=5)
    assert home.says(Control.FAIL) == (FRONT,)


def test_a_deed_may_lead_on_to_a_page_of_something():
    on = Errand(Verb.DO, "song tempo", "104 Low Water", "song", "Low Water")
    assert on.leads_on == Errand(Verb.TURN, "song", "Low Water")


def test_a_pedal_that_goes_is_named_until_it_is_back():
    home = Walking(leaf())
    home.happens(InputLost(1.0, "Old board"))
    assert home.walk.lost_input == "Old board"
    home.happens(InputBack(2.0, "Old board"))
    assert home.walk.lost_input is None
    assert home.walk.ack.kind is AckKind.INPUT_BACK


def test_the_window_s_button_closes():
    home = Walking(leaf())
    home.happens(Shut(3.0))
    assert home.walk.closed


ERRANDS = st.builds(Errand, st.sampled_from(Verb), st.sampled_from(["home", "songs"]), st.text(max_size=5))
LEAVES = st.builds(
    Leaf,
    place=st.builds(
        Errand, st.just(Verb.TURN), st.sampled_from(["home", "songs", "song"]), st.text(max_size=5)
    ),
    title=st.text(max_size=9),
    rows=st.lists(st.builds(LeafRow, st.text(max_size=9), ERRANDS), min_size=1, max_size=6).map(tuple),
    lines=st.lists(st.text(max_size=9), max_size=2).map(tuple),
    marked=st.integers(0, 9),
    chords=st.lists(st.sampled_from(["Am", "F"]), max_size=2).map(tuple),
    taps=st.booleans(),
)
HAPPENINGS = st.lists(
    st.one_of(
        st.builds(lambda page, anew: ("turned", page, anew), LEAVES, st.booleans()),
        st.builds(lambda control, quick: ("said", control, quick), st.sampled_from(Control), st.booleans()),
        st.just(("due",)),
    ),
    max_size=30,
)


@given(HAPPENINGS)
@settings(max_examples=200)
def test_however_it_is_walked_the_marker_is_on_a_row_and_the_walk_replays_from_its_record(happenings):
    home = Walking(leaf())
    for kind, *what in happenings:
        if kind == "turned":
            home.shows(what[0], anew=what[1])
        elif kind == "said":
            home.says(what[0], home.presses(after_s=0.01 if what[1] else 2.0))
        elif home.walk.due_s is not None:
            home.happens(Due(home.walk.due_s))
        assert home.walk.leaf is not None
        assert 0 <= home.walk.marker < len(home.walk.leaf.rows)
    record = [event_to_json(event_from_json(at_home(event))) for event in home.events]
    assert json.loads(json.dumps(record)) == record
    assert list(walked(event_from_json(one) for one in record))[-1] == home.walk


def test_a_page_in_a_record_that_was_changed_is_refused():
    record = at_home(Turned(0.0, leaf()))["was"]
    with pytest.raises(InputError, match="no page of home"):
        home_event_from_json(record | {"leaf": {"title": "x"}})
    with pytest.raises(InputError, match="no session event"):
        home_event_from_json({"event": "Marched"})


def test_what_happened_at_home_changes_nothing_of_the_session_that_came_of_it():
    plain, after_home = Playing(usual_settings()), Playing(usual_settings())
    before = after_home.state
    after_home.happen(AtHome(before.now_s, at_home(Turned(0.0, leaf()))["was"]))
    assert replace(after_home.state, now_s=before.now_s) == before == plain.state


def test_what_was_played_before_brings_the_rest_nearer_unless_the_way_through_home_was_one():
    before = replace(begin(usual_settings()), since_rest_s=900.0, now_s=1000.0)
    assert since_rest_s(before, 1030.0) == 900.0
    assert since_rest_s(before, 1000.0 + before.settings.rest_s) == 0.0
    assert begin(usual_settings(played_before_s=900.0)).since_rest_s == 900.0
