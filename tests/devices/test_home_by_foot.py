"""Home in a real window, walked by a real MIDI foot with one switch: to a drill, a take, back, and out."""

from __future__ import annotations

import getpass
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from pedaltrainer.history.desk import Desk
from pedaltrainer.history.retelling import told_otherwise
from pedaltrainer.live import fast
from pedaltrainer.live.options import Options
from pedaltrainer.records.log import Log
from pedaltrainer.rehearsal.player import MadeUpPlayer
from pedaltrainer.session.home import Errand, Verb
from pedaltrainer.session.replay import event_from_json, walked
from tests.devices.jack import wait_until
from tests.devices.test_session_end_to_end import (
    HOLD,
    LANDINGS,
    STEPS,
    track_zone,
    wait_for_the_question,
)
from tests.devices.window import RealSession
from tests.session.playing import settings

ROWS = ("Go on", "A change or a shape", "Songs", "How it goes", "Set up", "Another player", "Close")


def wait_for_a_page(session) -> None:
    """Until there are words where a page's title stands, and all is still."""
    assert wait_until(lambda: session.picture()[:60].max() > 200, within_s=30)
    session.wait_for_stillness()


def practised_before(folder) -> None:
    """A log in which Am – E was practised, so that home offers to go on with it."""
    usual = replace(settings(minutes=0.5), starts_bpm=(200,), landings=LANDINGS)
    with Log.open(folder) as log:
        desk, began = Desk(folder, getpass.getuser()), datetime.now(UTC) - timedelta(hours=1)
        fast.rehearse(Options(usual, desk, made_up=MadeUpPlayer(240, 1), began=began), log)


def test_from_home_to_a_take_and_back_and_out_by_one_switch(screen, steady_pedal, tmp_path):
    folder = tmp_path / "data"
    practised_before(folder)
    words = ("--windowed", *STEPS, "--landings", LANDINGS, "--input", steady_pedal.client)
    with RealSession(screen, folder, *words, "--no-answer-sounds") as session:
        before = len(session.takes())
        session.find_window()
        wait_for_a_page(session)

        steady_pedal.send(*HOLD, "@0.5")
        session.wait_for_stillness()
        steady_pedal.tap()
        wait_for_the_question(session, track_zone(session.size), takes_played=1)
        steady_pedal.tap()
        session.wait_for_takes(before + 1)
        finish = ("change", "note", "finish")
        for gesture in (HOLD, *finish, HOLD, "yes", "from the summary to the list", HOLD):
            if gesture is HOLD:
                steady_pedal.send(*HOLD)
            else:
                steady_pedal.tap()
            steady_pedal.send("@0.2" if gesture in finish else "@0.5")
            # On a busy machine a page may come late: what is pressed before it is seen means something else.
            session.wait_for_stillness()

        for _ in range(ROWS.index("Close")):
            steady_pedal.tap()
            steady_pedal.send("@0.2")
        session.wait_for_stillness()
        steady_pedal.send(*HOLD, "@0.5")
        session.wait_for_stillness()
        steady_pedal.tap()
        steady_pedal.send("@0.5")
        session.wait_for_stillness()
        steady_pedal.send(*HOLD)
        code, out, err = session.wait_for_end()
    assert code == 0, err
    assert out.startswith("Am – E: ")
    *_, take = session.takes()
    assert (take.outcome, take.judge, take.landings) == ("pass", "foot", LANDINGS)
    with Log.open(folder, read_only=True) as log:
        (newest, _) = log.sessions(getpass.getuser(), limit=2)
        inputs = list(log.inputs(newest.id))
        takes = [one for one in log.takes() if one.session_id == newest.id]
    assert told_otherwise(newest, inputs, takes) is None
    walk = list(walked(map(event_from_json, inputs)))[-1]
    assert walk.leaf is not None
    assert walk.leaf.place == Errand(Verb.TURN, "home")
    assert [row.words.startswith(said) for row, said in zip(walk.leaf.rows, ROWS, strict=True)] == [True] * 7


def test_a_pointer_chooses_the_row_it_is_on(screen, tmp_path):
    with RealSession(screen, tmp_path / "data", "--windowed") as session:
        session.find_window()
        wait_for_a_page(session)
        for share in (0.84, 0.67):  # "Close", the last row; then the second of two
            x, y = session.size[0] // 2, round(session.size[1] * share)
            session.screen.xdotool("mousemove", "--window", session.window_id, x, y, "click", 1)
            session.wait_for_stillness()
        code, _, err = session.wait_for_end()
    assert code == 0, err
