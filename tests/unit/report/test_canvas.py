from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest

from radlength.report.canvas import Canvas
from radlength.report.colours import CANAL_COLOURS, DARK, ORANGE, PALE, RED, WHITE, Colour

POINT = (30.0, 30.0)


@pytest.mark.parametrize(
    ("zoom", "border"),
    [((1.0, 1.0), 0), ((3.0, 3.0), 5), ((2.37, 2.37), 22), ((0.5, 0.5), 4), ((3.0, 1.5), 7)],
)
def test_marks_stand_where_their_pixel_is(zoom: tuple[float, float], border: int) -> None:
    """The centre of mass of a drawn pixel block is where the canvas puts its middle."""
    grey = np.zeros((101, 81), np.uint8)
    grey[38:45, 58:65] = 200
    canvas = Canvas.over(grey, zoom, border=border)
    inside = canvas.pixels[
        border : canvas.pixels.shape[0] - border, border : canvas.pixels.shape[1] - border, 0
    ]
    rows, columns = np.indices(inside.shape)
    weight = inside / inside.sum()
    centre = np.array([(columns * weight).sum(), (rows * weight).sum()]) + border
    assert canvas.at((41, 61))[0] == pytest.approx(centre, abs=0.05)


def test_corner_pixels_map_to_their_middle() -> None:
    canvas = Canvas.over(np.zeros((10, 20), np.uint8), (4.0, 4.0), border=2)
    assert canvas.at([(0, 0), (9, 19)]).tolist() == [[3.5, 3.5], [79.5, 39.5]]
    assert canvas.pixels.shape == (44, 84, 3)


def test_origin_shifts_a_crop() -> None:
    crop = Canvas.over(np.zeros((10, 10), np.uint8), (4.0, 4.0), origin_px=(100.0, 50.0))
    assert crop.at((100, 50)).tolist() == [[1.5, 1.5]]


def _drawn(draw: Callable[[Canvas], None], above: int | None = None) -> np.ndarray:
    canvas = Canvas(np.full((61, 61, 3), 128, np.uint8))
    draw(canvas)
    changed = canvas.pixels != 128 if above is None else canvas.pixels > above
    return np.asarray(changed.any(axis=2))


SHAPES = {
    "reference point": lambda canvas: canvas.diamond(POINT, WHITE),
    "apex": lambda canvas: canvas.cross(POINT, WHITE),
    "reference end": lambda canvas: canvas.square(POINT, WHITE),
    "click": lambda canvas: canvas.dot(POINT, WHITE),
    "tip": lambda canvas: canvas.arrow((20.0, 30.0), POINT, WHITE),
    "working length": lambda canvas: canvas.tick(POINT, (31.0, 30.0), WHITE),
}


@pytest.mark.parametrize(("first", "second"), list(itertools.combinations(SHAPES, 2)))
def test_marks_differ_by_shape(first: str, second: str) -> None:
    one, other = _drawn(SHAPES[first], above=200), _drawn(SHAPES[second], above=200)
    assert (one & other).sum() / (one | other).sum() < 0.5


def test_the_apex_itself_stays_visible() -> None:
    assert not _drawn(SHAPES["apex"])[28:33, 28:33].any()


def test_a_line_has_a_dark_halo() -> None:
    canvas = Canvas(np.full((61, 61, 3), 250, np.uint8))
    canvas.line([(30, 5), (30, 55)], WHITE, 2)
    across = canvas.pixels[22:39, 30, 0].astype(int)
    assert across.max() == 255
    assert across[:8].min() < 60
    assert across[9:].min() < 60


def test_dashes_leave_the_line_below_visible() -> None:
    canvas = Canvas(np.zeros((61, 200, 3), np.uint8))
    canvas.line([(30, 5), (30, 195)], WHITE)
    canvas.dashes([(30, 5), (30, 195)], ORANGE)
    row = canvas.pixels[30, 8:192]
    assert (row == ORANGE).all(axis=1).sum() > 60
    assert (row > 230).all(axis=1).sum() > 40


def _luminance(colour: Colour) -> float:
    parts = [value / 255 for value in colour]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("colour", [*CANAL_COLOURS, ORANGE, PALE, RED, WHITE])
def test_letters_are_readable_on_the_panel(colour: Colour) -> None:
    """Contrast of at least 7 to 1: Web Content Accessibility Guidelines 2.1 (2018), 1.4.6, by their formula."""
    assert (_luminance(colour) + 0.05) / (_luminance(DARK) + 0.05) >= 7
