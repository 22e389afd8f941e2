"""Letters are as tall as the player's distance asks for, and nothing stands on anything else."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import radians

import pytest
from pygame import Rect

from pedaltrainer.screen.fit import (
    arc_minutes_of,
    base_sizes,
    cap_height_px,
    fit_chord,
    fit_title,
    fit_words,
    menu_rows,
    wrap,
)
from pedaltrainer.screen.layout import arrange
from pedaltrainer.screen.letters import measure
from pedaltrainer.screen.pages import parts_of
from pedaltrainer.screen.palette import PAIRS, contrast, relative_luminance
from pedaltrainer.screen.typeset import set_chord
from pedaltrainer.screen.view import PlayView, Sight
from tests.screen import sample_views

SIZES = [(1280, 720), (1366, 768), (1920, 1080), (2560, 1440), (3840, 2160), (1024, 768), (1080, 1920)]
WIDE = [(1280, 720), (1366, 768), (1920, 1080), (2560, 1440), (3840, 2160)]


def test_two_degrees_on_a_common_laptop_from_two_metres_is_about_390_pixels():
    # By hand: 15.6 in x 25.4 = 396.24 mm over hypot(1920, 1080) = 2202.9 px, 5.560 px a mm;
    # small-angle arc 2000 mm x 2 degrees = 69.81 mm (the chord is 69.82), 388.2 px; 22' likewise 71.2.
    px_per_mm = 2202.907 / 396.24
    assert cap_height_px(120, Sight(), 1920, 1080) == pytest.approx(2000 * radians(2) * px_per_mm, abs=1.1)
    assert cap_height_px(22, Sight(), 1920, 1080) == pytest.approx(
        2000 * radians(22 / 60) * px_per_mm, abs=1.1
    )


def test_the_angle_of_a_height_is_the_height_of_the_angle():
    for minutes in (5, 22, 60, 120, 600):
        px = cap_height_px(minutes, Sight(24, 1.4), 2560, 1440)
        assert arc_minutes_of(px, Sight(24, 1.4), 2560, 1440) == pytest.approx(minutes, rel=0.02)


def test_twice_as_far_asks_for_letters_twice_as_tall():
    near = cap_height_px(22, Sight(15.6, 1.0), 1920, 1080)
    assert cap_height_px(22, Sight(15.6, 2.0), 1920, 1080) == pytest.approx(2 * near, abs=2)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", sample_views.ALL)
def test_no_zone_overlaps_another_or_leaves_the_screen(name, size):
    zones = arrange(sample_views.ALL[name], *size, Sight()).zones
    for zone in zones.values():
        assert zone.w > 0
        assert zone.h > 0
        assert zone.x >= 0
        assert zone.y >= 0
        assert zone.x + zone.w <= size[0]
        assert zone.y + zone.h <= size[1]
    for (one, a), (other, b) in combinations(zones.items(), 2):
        assert not Rect(a).colliderect(b), f"{one} overlaps {other}"


@pytest.mark.parametrize("size", WIDE)
@pytest.mark.parametrize("name", [name for name in sample_views.ALL if name != "long-names"])
def test_a_wide_screen_at_the_default_distance_gives_every_letter_its_size(name, size):
    assert arrange(sample_views.ALL[name], *size, Sight()).shortfalls == ()


@pytest.mark.parametrize("size", WIDE)
def test_of_two_long_names_only_a_suffix_may_fall_short_never_the_root(size):
    shortfalls = arrange(sample_views.LONG_NAMES, *size, Sight()).shortfalls
    assert all(line.startswith("suffix") for line in shortfalls)


def test_what_cannot_be_given_is_named():
    far = Sight(15.6, 6.0)
    shortfalls = arrange(sample_views.TAKE, 1920, 1080, far).shortfalls
    assert any(line.startswith("words: ") for line in shortfalls)
    assert any(line.startswith("chord Am: ") and "of 120 minutes" in line for line in shortfalls)


@pytest.mark.parametrize("size", [(320, 200), (640, 480), (800, 1280), (5120, 1440)])
@pytest.mark.parametrize("sight", [Sight(10, 0.4), Sight(15.6, 2), Sight(55, 6)])
def test_odd_screens_and_distances_still_get_a_stage(size, sight):
    for view in sample_views.ALL.values():
        zones = arrange(view, *size, sight).zones
        assert not any(Rect(a).colliderect(b) for a, b in combinations(zones.values(), 2))


def test_the_zones_stay_put_when_the_two_chords_change_places_or_the_count_ends():
    take = sample_views.LONG_NAMES
    swapped = replace(take, now_chord=take.next_chord, next_chord=take.now_chord, landing=4)
    zones = arrange(take, 1920, 1080, Sight()).zones
    assert arrange(swapped, 1920, 1080, Sight()).zones == zones
    counting = replace(sample_views.COUNT_IN, now_chord=take.now_chord, next_chord=take.next_chord)
    assert arrange(counting, 1920, 1080, Sight()).zones == zones


def test_the_boxes_of_a_take_keep_their_places_while_the_chords_take_turns():
    take = sample_views.WITH_BOXES
    turned = replace(
        take,
        now_chord=take.next_chord,
        next_chord=take.now_chord,
        now_box=take.next_box,
        next_box=take.now_box,
        landing=take.landing + 1,
    )
    assert turned.boxes == take.boxes == (sample_views.C_MAJOR, sample_views.A_MINOR_FROM_C)
    assert (take.box_now, turned.box_now) == (0, 1)
    assert arrange(turned, 1366, 768, Sight()).zones == arrange(take, 1366, 768, Sight()).zones


def test_one_shape_that_is_landed_again_has_one_box():
    assert replace(sample_views.READY_ONE, landing=4).boxes == (sample_views.F_BARRE,)


@pytest.mark.parametrize("size", WIDE)
@pytest.mark.parametrize("name", ["asking-with-boxes", "breath-with-boxes", "take-with-boxes", "long-menu"])
def test_both_boxes_stand_in_the_take_the_question_the_breath_and_the_menu(name, size):
    assert {"first box", "second box"} <= set(arrange(sample_views.ALL[name], *size, Sight()).zones)


def test_where_boxes_are_shown_between_takes_only_the_ladder_keeps_its_place_in_a_take():
    between = arrange(replace(sample_views.WITH_BOXES, boxes_in_take=False), 1366, 768, Sight()).zones
    assert "ladder" in between
    assert "first box" not in between


@pytest.mark.parametrize("size", WIDE)
def test_seven_rows_of_a_menu_are_seen_at_once_and_of_nine_six_and_how_many_more(size):
    menu = sample_views.LONG_MENU
    sizes = base_sizes(*size, Sight())
    for count, seen in ((7, 7), (9, 6)):
        shown = replace(menu, choices=menu.choices[:count])
        rows = menu_rows(shown.choices, arrange(shown, *size, Sight()).zones["body"], sizes)
        assert rows.seen == seen
        assert rows.cap >= sizes.words_needed
        assert "Finish" in shown.choices[: rows.seen]


@pytest.mark.parametrize(
    ("figure", "parts"),
    [
        ("84 BPM", ("", "84", "BPM")),
        ("faster than 190 BPM", ("faster than", "190", "BPM")),
        ("5 of 7", ("", "5", "of 7")),
        ("78–96 BPM", ("", "78–96", "BPM")),
        ("2:00", ("", "2:00", "")),
        ("nothing", ("", "nothing", "")),
    ],
)
def test_of_a_figure_only_the_number_is_large(figure, parts):
    assert parts_of(figure) == parts


@pytest.mark.parametrize("name", ["Am", "F#m7", "Bbmaj7", "C/G", "Bm7b5", "Eb", "G#m7b5/F#", "Dbmaj7#11"])
def test_long_chord_names_fit_the_width_they_are_given(name):
    sizes = base_sizes(1920, 1080, Sight())
    for width in (300, 700, 1100):
        fit = fit_chord(name, width, 480, sizes, 400)
        assert set_chord(name, fit.suffix_ratio)[1] * fit.cap <= width


def test_words_shrink_to_their_width_and_wrap_at_spaces():
    assert fit_words("clean", 10_000, 70) == 70
    small = fit_words("a very long headline indeed", 400, 70)
    assert small < 70
    assert measure("a very long headline indeed", False) * small <= 400
    lines = wrap("Stop at pain, tingling or numbness.", 500, 40)
    assert " ".join(lines) == "Stop at pain, tingling or numbness."
    assert all(measure(line, False) * 40 <= 500 for line in lines)


def test_a_number_and_its_unit_stay_on_one_line():
    words = "Low water asks for 96 BPM, in 3 min (72 %)"
    for width in range(120, 900, 20):
        broken = wrap(words, width, 40)
        assert not any(line.startswith(("BPM", "min", "%")) for line in broken)
        assert " ".join(broken) == words


@pytest.mark.parametrize("size", WIDE)
def test_a_long_title_takes_two_lines_before_it_is_much_smaller_than_the_words(size):
    sizes = base_sizes(*size, Sight())
    asked = "How big is this screen, corner to corner?"
    for width in (size[0] * 0.96, size[0] * 0.55):
        lines, cap = fit_title(asked, width, sizes)
        assert cap >= sizes.words * 0.9
        assert " ".join(lines) == asked
        assert all(measure(line, True) * cap <= width for line in lines)


def test_contrast_is_the_ratio_of_the_standard():
    # WCAG 2.2: black on white is 21:1; grey #767676 on white is the well-known 4.54:1 (from memory).
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.54, abs=0.01)
    assert relative_luminance((255, 255, 255)) == pytest.approx(1)


@pytest.mark.parametrize(("what", "ink", "ground"), PAIRS)
def test_every_ink_keeps_seven_to_one_on_its_ground(what, ink, ground):
    assert contrast(ink, ground) >= 7, what


def test_every_view_of_a_drill_has_a_place_for_its_hints():
    for view in sample_views.ALL.values():
        assert "hints" in arrange(view, 1920, 1080, Sight()).zones
        if isinstance(view, PlayView):
            assert arrange(view, 1366, 768, Sight()).zones["hints"].y > 0
