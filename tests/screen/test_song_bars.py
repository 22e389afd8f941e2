"""A song's bars on the stage: light is ready, dark is far, and a fill and a flag say so too."""

from __future__ import annotations

import numpy as np
import pygame
import pytest

from pedaltrainer.screen.fit import base_sizes
from pedaltrainer.screen.palette import CREAM, GROUND, LAMP, SHADE, STONE
from pedaltrainer.screen.song_bars import paint_bars, rows_of_bars
from pedaltrainer.screen.view import BarsView, Sight, SongBar

SIZE = (640, 120)


def painted(*bars: SongBar, size: tuple[int, int] = SIZE) -> np.ndarray:
    surface = pygame.Surface(size)
    surface.fill(GROUND)
    paint_bars(surface, BarsView(bars), base_sizes(1366, 768, Sight()))
    return pygame.surfarray.array3d(surface)


def pixels(picture: np.ndarray, colour) -> int:
    return int((picture == np.array(colour)).all(axis=2).sum())


def test_the_readier_a_bar_the_more_of_its_board_is_filled_and_the_lighter():
    far = painted(SongBar("G", 0.3))
    near = painted(SongBar("G", 0.8))
    ready = painted(SongBar("G", 1.2, is_ready=True))
    assert pixels(far, SHADE) > 0
    assert pixels(near, STONE) > pixels(far, STONE)
    assert pixels(ready, CREAM) > pixels(near, CREAM)
    assert pixels(painted(SongBar("G", 0.6)), SHADE) > 1.5 * pixels(far, SHADE)


def test_what_is_not_known_is_an_empty_board_and_where_nothing_is_landed_a_line():
    unknown = painted(SongBar("G"))
    assert pixels(unknown, SHADE) == 0
    assert 0 < pixels(painted(SongBar("")), STONE) < pixels(unknown, STONE)


def test_the_hardest_bar_has_a_frame_and_a_flag_of_its_own():
    assert pixels(painted(SongBar("G", 0.5)), LAMP) == 0
    assert pixels(painted(SongBar("G", 0.5, is_hardest=True)), LAMP) > 100


@pytest.mark.parametrize("count", [1, 8, 59, 400, 2000])
def test_however_long_the_song_it_is_painted_in_its_zone(count):
    bars = [SongBar("F#m7", 0.5, is_hardest=at == 3, begins=at % 8 == 0) for at in range(count)]
    assert pixels(painted(*bars, size=(500, 300)), STONE) > 0


def test_a_part_of_the_song_begins_a_row():
    bars = [SongBar("C", begins=at in (0, 3)) for at in range(9)]
    assert [len(row) for row in rows_of_bars(bars, 4)] == [3, 4, 2]
