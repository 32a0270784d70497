"""Hints on images drawn by hand: near what they stand for, and never a mark."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.object_images import PIXEL_MM, drawn, fine_grid, image_of

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.tracing import Suggestion, suggest_apex, suggest_stop_face

SHAPE = (400, 200)


def stop_image(face=150.0):
    """A shaft, a stop of 1.3 mm whose lower face is at a row, air above, a tooth far below."""
    rows, columns = fine_grid(SHAPE)
    shaft = (np.abs(columns - 100) < 5) & (rows > 0)
    stop = (np.abs(columns - 100) < 42) & (rows > face - 43) & (rows < face)
    return image_of(20 + 120 * drawn(shaft, SHAPE) + 50 * drawn(stop, SHAPE))


def root_image(end=250.0):
    """A root that ends at a row, a dark line round it, bone beyond."""
    rows, columns = fine_grid(SHAPE)
    root = (((columns - 100) / 70) ** 2 + ((rows - 60) / (end - 60)) ** 2 < 1) | (
        (np.abs(columns - 100) < 70) & (rows < 60)
    )
    wider = (((columns - 100) / 80) ** 2 + ((rows - 60) / (end - 50)) ** 2 < 1) | (
        (np.abs(columns - 100) < 80) & (rows < 60)
    )
    return image_of(90 + 50 * drawn(root, SHAPE) - 45 * drawn(wider & ~root, SHAPE))


STOP_PATH = np.column_stack([np.linspace(150, 390, 9), np.full(9, 100.0)])
ROOT_PATH = np.column_stack([np.linspace(20, 255, 9), np.full(9, 100.0)])


@pytest.mark.parametrize("off_mm", [-0.4, -0.2, 0.0, 0.2, 0.4], ids=str)
def test_a_hint_for_the_stop_is_nearer_than_a_rough_click(off_mm):
    path = STOP_PATH.copy()
    path[0, 0] += off_mm / PIXEL_MM
    hint = suggest_stop_face(stop_image(), path)
    assert hint is not None
    off = abs(hint.point_px[0] - 150) * PIXEL_MM
    assert off < max(0.15, abs(off_mm) - 0.1)
    assert hint.what == "stop face"
    assert 0 < hint.confidence <= 1


@pytest.mark.parametrize("off_mm", [-0.5, 0.0, 0.5], ids=str)
def test_a_hint_for_the_end_of_a_root(off_mm):
    path = ROOT_PATH.copy()
    path[-1, 0] = 255 + off_mm / PIXEL_MM
    hint = suggest_apex(root_image(), path)
    assert hint is not None
    assert abs(hint.point_px[0] - 255) * PIXEL_MM < max(0.25, abs(off_mm) - 0.2)
    assert hint.what == "root end"


@pytest.mark.parametrize("suggest", [suggest_stop_face, suggest_apex], ids=["stop", "apex"])
def test_a_hint_is_no_mark(suggest):
    """A hint taken for a mark would make a length of it that nobody looked at."""
    image, path = (stop_image(), STOP_PATH) if suggest is suggest_stop_face else (root_image(), ROOT_PATH)
    hint = suggest(image, path)
    assert isinstance(hint, Suggestion)
    assert not {"points_px", "assist", "path_px"} & set(dir(hint))
    assert "Only a suggestion" in hint.reason


@pytest.mark.parametrize("grey", [0.0, 90.0, 255.0], ids=["black", "grey", "white"])
def test_an_even_image_suggests_nothing(grey):
    image = image_of(np.full(SHAPE, grey), noise=0.0)
    assert suggest_stop_face(image, STOP_PATH) is None
    assert suggest_apex(image, ROOT_PATH) is None


def test_a_path_at_the_edge_suggests_nothing():
    image = stop_image()
    assert suggest_stop_face(image, [(2, 100), (300, 100)]) is None
    assert suggest_apex(image, [(100, 100), (398, 100)]) is None


def test_noise_suggests_nothing_sure():
    sure = []
    for seed in range(20):
        image = image_of(np.full(SHAPE, 100.0), noise=8.0, seed=seed)
        sure += [suggest(image, path) for suggest, path in ((suggest_apex, ROOT_PATH),)]
    assert np.mean([hint.confidence for hint in sure if hint is not None]) < 0.8


def test_dark_metal_must_be_said():
    bright = root_image()
    dark = Radiograph.from_array(255 - bright.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    hint, same = suggest_apex(bright, ROOT_PATH), suggest_apex(dark, ROOT_PATH, polarity="dark")
    assert hint is not None
    assert same is not None
    assert same.point_px == pytest.approx(hint.point_px)


@pytest.mark.parametrize("suggest", [suggest_stop_face, suggest_apex], ids=["stop", "apex"])
def test_a_path_that_cannot_be_is_refused(suggest):
    with pytest.raises(MarkError, match="path"):
        suggest(stop_image(), [(10, 100)])
    with pytest.raises(MarkError, match="outside the image"):
        suggest(stop_image(), [(10, 100), (900, 100)])
