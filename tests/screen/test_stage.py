"""What the stage draws, judged by its pixels."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest

from pedaltrainer.errors import InputError
from pedaltrainer.neck.box import ChordBox
from pedaltrainer.neck.fingering import Barre
from pedaltrainer.screen import ink
from pedaltrainer.screen.fit import Zone, arc_minutes_of, fit_title
from pedaltrainer.screen.glyphs import SIGNS, glyph
from pedaltrainer.screen.ink import write
from pedaltrainer.screen.ladder import height_of, rungs_in_sight
from pedaltrainer.screen.paint import paint_title
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP
from pedaltrainer.screen.panels import compose
from pedaltrainer.screen.view import (
    AckView,
    HintView,
    LadderView,
    PlankView,
    PlayView,
    RungView,
    Sight,
)
from pedaltrainer.screen.window import Stage, layout_of, render, save_png
from pedaltrainer.showing.pages import STOP_AND_SEE
from tests.screen import sample_views

FULL = (1920, 1080)


@pytest.fixture
def stage(monkeypatch):
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    opened = Stage(FULL, windowed=True)
    yield opened
    opened.close()


def lit_rows(surface: pygame.Surface, zone: Zone, colour) -> int:
    """Height in px of what is drawn in `colour` within a zone."""
    part = surface.subsurface(pygame.Rect(zone))
    mask = pygame.mask.from_threshold(part, colour, (60, 60, 60, 255))
    boxes = mask.get_bounding_rects()
    assert boxes, "nothing is drawn here"
    return max(box.bottom for box in boxes) - min(box.top for box in boxes)


def drawn(surface: pygame.Surface, zone: Zone) -> pygame.Rect:
    """The box around everything in a zone that is not the ground."""
    part = surface.subsurface(pygame.Rect(zone))
    ground = pygame.mask.from_threshold(part, GROUND, (6, 6, 6, 255))
    ground.invert()
    boxes = ground.get_bounding_rects()
    assert boxes, "the zone is empty"
    return boxes[0].unionall(boxes[1:])


def bytes_of(surface: pygame.Surface) -> bytes:
    return pygame.image.tobytes(surface, "RGB")


@pytest.mark.parametrize("chord", ["A", "E", "F", "H"])
def test_the_chord_to_land_is_two_degrees_tall_in_pixels(chord):
    view = replace(sample_views.TAKE, now_chord=chord)
    height = lit_rows(render(view, FULL), layout_of(view, FULL, Sight()).zones["now"], CREAM)
    assert arc_minutes_of(height, Sight(), *FULL) >= 119.5


def test_the_chord_counted_in_is_as_tall_as_the_chord_in_the_take():
    zone = layout_of(sample_views.COUNT_IN, FULL, Sight()).zones["now"]
    view = replace(sample_views.COUNT_IN, now_chord="E", next_chord="Am")
    assert arc_minutes_of(lit_rows(render(view, FULL), zone, CREAM), Sight(), *FULL) >= 119.5


def test_tempo_target_hints_next_chord_and_count_are_22_minutes_tall_in_pixels():
    view = replace(
        sample_views.TAKE,
        target="THEN 88",
        next_chord="E",
        hints=(HintView("tap", "HELD"), HintView("hold", "END")),
    )
    picture, zones = render(view, FULL), layout_of(view, FULL, Sight()).zones
    for name, colour in (("tempo", CREAM), ("target", CREAM), ("hints", CREAM), ("beat", CREAM)):
        assert arc_minutes_of(lit_rows(picture, zones[name], colour), Sight(), *FULL) >= 21.7, name
    assert arc_minutes_of(drawn(picture, zones["next"]).height, Sight(), *FULL) >= 22
    counting = render(sample_views.COUNT_IN, FULL)
    assert arc_minutes_of(lit_rows(counting, zones["next"], LAMP), Sight(), *FULL) >= 60


def test_the_current_rung_bears_a_larger_numeral_than_the_others():
    sizes = layout_of(sample_views.TAKE, FULL, Sight()).sizes
    zone = layout_of(sample_views.TAKE, FULL, Sight()).zones["ladder"]
    numerals = Zone(zone.x, zone.y, round(zone.w * 0.3), zone.h)
    assert lit_rows(render(sample_views.TAKE, FULL), numerals, LAMP) > sizes.words * 1.1


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("cap", [20, 48, 71, 200, 388])
def test_capitals_are_as_tall_as_asked(bold, cap):
    rendered = ink.font(bold, cap).render("H", True, CREAM).get_bounding_rect(min_alpha=128).height
    assert cap <= rendered + 1
    assert rendered <= cap * 1.04 + 2


@pytest.mark.parametrize("name", sample_views.ALL)
def test_every_hint_is_drawn_in_every_view(name):
    view = sample_views.ALL[name]
    zone = layout_of(view, FULL, Sight()).zones["hints"]
    whole = render(view, FULL).subsurface(pygame.Rect(zone))
    for left_out in range(len(view.hints)):
        blank = tuple(
            HintView(hint.gesture, "" if i == left_out else hint.words) for i, hint in enumerate(view.hints)
        )
        without = render(replace(view, hints=blank), FULL).subsurface(pygame.Rect(zone))
        assert bytes_of(without) != bytes_of(whole)


@pytest.mark.parametrize("size", [FULL, (1366, 768), (1024, 768), (1080, 1920)])
@pytest.mark.parametrize("name", sample_views.ALL)
def test_nothing_is_drawn_outside_the_zones(name, size):
    view = sample_views.ALL[name]
    picture = render(view, size)
    for zone in layout_of(view, size, Sight()).zones.values():
        picture.fill(GROUND, zone)
    mask = pygame.mask.from_threshold(picture, GROUND, (1, 1, 1, 255))
    assert mask.count() == size[0] * size[1]


@pytest.mark.parametrize("size", [(1280, 720), (1366, 768), FULL])
def test_the_fastest_tempo_and_its_unit_are_not_cut(size):
    view = replace(sample_views.TAKE, tempo_bpm=300)
    zone = layout_of(view, size, Sight()).zones["tempo"]
    assert drawn(render(view, size), zone).right < zone.w


@pytest.mark.parametrize("word", ["ring", "unload", "clear", "meet"])
def test_the_words_of_slow_work_show_their_descenders(word):
    view = replace(sample_views.TAKE, now_chord=word, next_chord="ring")
    for size in ((1280, 720), FULL):
        zones, picture = layout_of(view, size, Sight()).zones, render(view, size)
        for name in ("now", "next"):
            assert drawn(picture, zones[name]).bottom < zones[name].h, name


@pytest.mark.parametrize("size", [(1280, 720), (1366, 768), FULL])
def test_the_ring_round_the_target_is_whole_where_it_is_the_tempo_of_now(size):
    ladder = replace(sample_views.LADDER, now_bpm=84, if_pass_bpm=84)
    view = replace(sample_views.TAKE, ladder=ladder)
    zone = layout_of(view, size, Sight()).zones["ladder"]
    assert drawn(render(view, size), zone).left > 0


@pytest.mark.parametrize("chord", ["Bbmaj7", "Bm7b5", "F#m7", "C/G", "Dbmaj7"])
def test_long_names_are_not_cut_at_the_edge_of_their_panel(chord):
    for view in (
        replace(sample_views.TAKE, now_chord=chord, next_chord="Bm7b5"),
        replace(sample_views.TAKE, now_chord="Bbmaj7", next_chord=chord),
    ):
        picture, zones = render(view, FULL), layout_of(view, FULL, Sight()).zones
        for name in ("now", "next"):
            box = drawn(picture, zones[name])
            assert box.right < zones[name].w, name
            assert box.bottom < zones[name].h, name


def test_when_only_the_plank_moves_only_the_track_changes(stage):
    stage.draw(sample_views.TAKE)
    before = pygame.display.get_surface().copy()
    dirty = stage.draw(replace(sample_views.TAKE, plank=PlankView(0.3, 3, 4)))
    track = pygame.Rect(layout_of(sample_views.TAKE, FULL, Sight()).zones["track"])
    assert dirty == [track]
    after = pygame.display.get_surface()
    assert bytes_of(before) != bytes_of(after)
    for picture in (before, after):
        picture.fill(GROUND, track)
    assert bytes_of(before) == bytes_of(after)


def test_the_same_view_again_presents_nothing(stage):
    stage.draw(sample_views.TAKE)
    assert stage.draw(sample_views.TAKE) == []


def test_after_an_uncovering_everything_is_presented_again(stage):
    stage.draw(sample_views.TAKE)
    stage.note_event(pygame.event.Event(pygame.WINDOWEXPOSED))
    assert stage.draw(sample_views.TAKE) == [pygame.Rect(0, 0, *FULL)]


@pytest.mark.parametrize("name", sample_views.ALL)
def test_the_window_shows_what_render_paints_whatever_stood_there_before(stage, name):
    for other in ("asking", "take", "menu", name):
        stage.draw(sample_views.ALL[other])
    assert bytes_of(pygame.display.get_surface()) == bytes_of(render(sample_views.ALL[name], FULL))


def test_the_plank_lies_on_the_floor_when_down_and_is_clear_of_it_when_up():
    zone = layout_of(sample_views.TAKE, FULL, Sight()).zones["track"]

    def board_top(height: float) -> int:
        picture = render(replace(sample_views.TAKE, plank=PlankView(height, 1, 4)), FULL)
        mask = pygame.mask.from_threshold(picture.subsurface(pygame.Rect(zone)), LAMP, (40, 40, 40, 255))
        return min(box.top for box in mask.get_bounding_rects())

    tops = [board_top(height) for height in (0.0, 0.25, 0.5, 0.75, 1.0)]
    assert tops == sorted(tops, reverse=True)
    travel = tops[0] - tops[-1]
    assert travel > zone.h * 0.6
    assert arc_minutes_of(travel, Sight(), *FULL) > 30
    assert zone.w > FULL[0] * 0.55


def test_down_and_up_are_told_by_sign_and_place_as_well():
    zone = layout_of(sample_views.TAKE, FULL, Sight()).zones["beat"]
    down, up = (render(replace(sample_views.TAKE, plank=PlankView(h, 2, 4)), FULL) for h in (0.0, 1.0))
    masks = [
        pygame.mask.from_threshold(p.subsurface(pygame.Rect(zone)), LAMP, (40, 40, 40, 255))
        for p in (down, up)
    ]
    down_box, up_box = (m.get_bounding_rects()[0].unionall(m.get_bounding_rects()) for m in masks)
    assert up_box.bottom < down_box.top


def test_while_the_hand_is_in_the_air_the_chord_to_land_is_lit():
    zone = layout_of(sample_views.TAKE, FULL, Sight()).zones["now"]
    landed, in_the_air = (
        pygame.mask.from_threshold(
            render(replace(sample_views.TAKE, plank=PlankView(1.0, 1, 4, changing=c)), FULL).subsurface(
                pygame.Rect(zone)
            ),
            LAMP,
            (2, 2, 2, 255),
        ).count()
        for c in (False, True)
    )
    assert landed == 0
    assert in_the_air > 10_000


def test_an_answer_is_acknowledged_at_once_then_steps_back_and_leaves():
    zone = layout_of(sample_views.TAKE, FULL, Sight()).zones["headline"]
    pictures = []
    for age_s in (0.0, 0.5, 1.2, 3.0):
        view = replace(sample_views.TAKE, ack=AckView("cross", "Miss", age_s))
        pictures.append(bytes_of(render(view, FULL).subsurface(pygame.Rect(zone))))
    assert len(set(pictures)) == 4
    assert pictures[-1] == bytes_of(render(sample_views.TAKE, FULL).subsurface(pygame.Rect(zone)))


def test_pass_and_fail_differ_in_form_not_only_in_colour():
    # Painted in the same single ink, the two signs must still differ in most of their pixels.
    one, other = (pygame.mask.from_surface(glyph(sign, 100, CREAM)) for sign in ("check", "cross"))
    assert one.overlap_area(other, (0, 0)) < 0.7 * min(one.count(), other.count())


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_is_drawn_within_its_frame_and_fills_it(sign):
    box = glyph(sign, 96, CREAM).get_bounding_rect(min_alpha=64)
    assert box.height > 40
    assert box.width > 20


def test_the_same_view_gives_the_same_panels_and_a_change_of_landing_changes_one():
    layout = layout_of(sample_views.TAKE, FULL, Sight())
    keys = {panel.name: panel.key for panel in compose(sample_views.TAKE, layout, False)}
    later = {panel.name: panel.key for panel in compose(replace(sample_views.TAKE, landing=4), layout, False)}
    assert {name for name in keys if keys[name] != later[name]} == {"dots"}


@pytest.mark.parametrize(("target_bpm", "place"), [(180, -1), (44, 0), (101, None)])
def test_the_tempo_of_the_song_is_in_sight_however_far_off_it_is(target_bpm, place):
    ladder = LadderView(tuple(RungView(t) for t in range(40, 200, 4)), 102, 104, 98, target_bpm=target_bpm)
    shown = [rung.tempo_bpm for rung in rungs_in_sight(ladder, 6)]
    assert len(shown) == 6
    assert {98, 102, 104, target_bpm} <= set(shown)
    assert shown == sorted(shown)
    assert place is None or shown[place] == target_bpm


def test_the_flag_of_the_song_can_be_read_from_where_the_player_sits():
    plain = replace(sample_views.TAKE, ladder=replace(sample_views.LADDER, best_bpm=None))
    flagged = replace(plain, ladder=replace(plain.ladder, target_bpm=96))
    before, after = (render(view, FULL).copy() for view in (plain, flagged))
    # By its form alone: what is new is drawn in the colour that letters have, and is as high as they must be.
    new = pygame.mask.from_threshold(after, CREAM, (60, 60, 60, 255))
    new.erase(pygame.mask.from_threshold(before, CREAM, (60, 60, 60, 255)), (0, 0))
    boxes = new.get_bounding_rects()
    assert boxes
    height = max(box.bottom for box in boxes) - min(box.top for box in boxes)
    assert arc_minutes_of(height, Sight(), *FULL) >= 21.7


def test_the_ladder_in_sight_holds_where_we_are_and_both_ways_on():
    ladder = LadderView(tuple(RungView(t) for t in range(40, 200, 4)), 102, 104, 98)
    shown = [rung.tempo_bpm for rung in rungs_in_sight(ladder, 6)]
    assert len(shown) == 6
    assert {98, 102, 104} <= set(shown)
    assert shown == sorted(shown)


def test_a_tempo_between_two_rungs_is_drawn_between_them():
    rungs = (RungView(80), RungView(84), RungView(92))
    ys = [300.0, 200.0, 100.0]
    assert height_of(82, rungs, ys) == 250
    assert height_of(88, rungs, ys) == 150
    assert height_of(70, rungs, ys) == 350


def test_a_box_up_the_neck_shows_its_position_and_a_box_at_the_nut_does_not():
    assert sample_views.F_BARRE.first_fret == 1
    assert sample_views.B_FLAT_HIGH.first_fret == 6
    assert ChordBox("", (None, None, 5, 9, 8, 5), (0, 0, 1, 4, 3, 1)).rows == 5
    # F barred with the first finger over all six strings (handbook fingering, common practice).
    assert sample_views.F_BARRE.barres == (Barre(1, 1, 0, 5),)


def test_a_finger_that_stays_is_ringed():
    zone = layout_of(sample_views.READY, FULL, Sight()).zones["now study"]
    plain = replace(sample_views.READY, now_box=replace(sample_views.C_MAJOR, stays=frozenset()))
    lamp = [
        pygame.mask.from_threshold(
            render(v, FULL).subsurface(pygame.Rect(zone)), LAMP, (30, 30, 30, 255)
        ).count()
        for v in (sample_views.READY, plain)
    ]
    assert lamp[0] > 500
    assert lamp[1] == 0


def test_pictures_can_be_saved(tmp_path):
    save_png(sample_views.TAKE, tmp_path / "take.png", (1280, 720))
    assert pygame.image.load(str(tmp_path / "take.png")).get_size() == (1280, 720)


def test_without_a_screen_one_sentence_says_so(monkeypatch):
    pygame.display.quit()
    monkeypatch.setenv("SDL_VIDEODRIVER", "no-such-driver")
    with pytest.raises(InputError) as raised:
        Stage(FULL, windowed=True)
    message = str(raised.value)
    assert message.startswith("There is no screen")
    assert "\n" not in message


def test_warming_makes_every_picture_a_take_will_need(stage):
    stage.draw(sample_views.READY)
    stage.warm(sample_views.TAKE)
    kept = len(stage._kept)
    for landing in range(1, 9):
        for height in (0.0, 1.0):
            plank = PlankView(height, 1 + (landing - 1) % 4, 4, changing=bool(height))
            stage.draw(replace(sample_views.TAKE, landing=landing, plank=plank))
    assert len(stage._kept) == kept
    assert isinstance(sample_views.TAKE, PlayView)


def test_idle_frames_while_the_player_studies_make_a_takes_pictures_ahead_of_need(stage):
    minute_of_study = [
        replace(sample_views.READY, time_left=f"4:{59 - frame // 60:02d}") for frame in range(900)
    ]
    for view in minute_of_study:
        stage.draw(view)
    kept = len(stage._kept)
    take = replace(sample_views.READY, scene=sample_views.TAKE.scene, landing=2, target="")
    for now, following in (("C", "Am"), ("Am", "C")):
        stage.draw(replace(take, now_chord=now, next_chord=following, plank=PlankView(0.0, 2, 4)))
    # Only what stands in the words of a take (its own target, its hints) is new.
    assert len(stage._kept) - kept <= 2


def test_a_running_clock_does_not_push_out_the_pictures_that_are_needed(stage):
    stage.draw(sample_views.REST)
    kept = len(stage._kept)
    for seconds in range(30):
        stage.draw(replace(sample_views.REST, figure=f"1:{seconds:02d}"))
    assert len(stage._kept) == kept


# --- nothing is cut -----------------------------------------------------------------


PAGES = [sample_views.CAUTIONS, sample_views.REST, sample_views.DRILL_SUMMARY, sample_views.SESSION_SUMMARY]


@pytest.mark.parametrize("size", [(1280, 720), (1366, 768), (1920, 1080), (1024, 768)])
@pytest.mark.parametrize("takes", [14, 15, 150])
@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.title)
def test_no_word_of_a_page_hangs_over_its_lower_edge(page, takes, size):
    """The last row of pixels is bare: the caution at the foot of a page is the last thing to lose."""
    lines = (*page.lines, f"Am – E: 83 BPM, between 76 and 89, {takes} takes")
    view = replace(page, lines=lines, small_print=(STOP_AND_SEE,))
    body = layout_of(view, size, Sight()).zones["body"]
    picture = render(view, size)
    last = picture.subsurface((body.x, body.y + body.h - 1, body.w, 1))
    assert {tuple(last.get_at((x, 0)))[:3] for x in range(body.w)} == {GROUND}


def test_the_letters_of_a_title_are_whole_down_to_their_tails():
    """What is painted in the title's panel is what is painted with room to spare."""
    view = sample_views.CAUTIONS
    layout = layout_of(view, (1366, 768), Sight())
    zone = layout.zones["title"]
    roomy = pygame.Surface((zone.w, zone.h * 2))
    tight = pygame.Surface((zone.w, zone.h))
    lines, cap = fit_title("Before you play", zone.w, layout.sizes)
    paint_title(tight, "Before you play", layout.sizes)
    write(roomy, lines[0], cap, LAMP, 0, zone.h, bold=True)
    lit = [pygame.mask.from_threshold(picture, LAMP, (60, 60, 60)).count() for picture in (tight, roomy)]
    assert lit[0] == lit[1]
