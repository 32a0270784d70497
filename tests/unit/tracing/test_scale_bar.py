"""Scale bars drawn by hand: where their ends are known, where one is only a piece, and where there is none."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.object_images import image_of
from scipy.ndimage import gaussian_filter

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.tracing import find_scale_bar


def bar_picture(*, bar=255, ground=30, text=False, ticks=(False, False), upright=False):
    picture = np.full((120, 400), ground, np.uint8)
    picture[60:64, 100:301] = bar
    for column, tick in zip((100, 299), ticks, strict=True):
        if tick:
            picture[52:72, column : column + 2] = bar
    if text:
        picture[50:75, 180:220] = ground
        picture[55:70, 190:192] = bar
    return Radiograph.from_array(picture.T.copy() if upright else picture)


BARS = {
    "white": {},
    "black on grey": {"bar": 0, "ground": 180},
    "ticks": {"ticks": (True, True)},
    "upright": {"upright": True},
}


@pytest.mark.parametrize("look", BARS.values(), ids=BARS)
def test_ends_of_a_scale_bar(look):
    click = (160, 62) if look.get("upright") else (62, 160)
    bar = find_scale_bar(bar_picture(**look), click)
    ends = np.array([[61.5, 99.5], [61.5, 300.5]])
    assert bar.ends_px == pytest.approx(ends[:, ::-1] if look.get("upright") else ends, abs=0.1)
    assert bar.length_px == pytest.approx(201, abs=0.2)
    assert bar.thickness_px == 4
    assert bar.trusted, bar.findings
    assert (bar.assist().first, bar.assist().last) == (0, 1)
    assert bar.points_px().tolist() == bar.ends_px.tolist()


@pytest.mark.parametrize("click", [(62, 120), (62, 280)], ids=["left half", "right half"])
def test_a_bar_its_text_interrupts_is_put_together_and_told(click):
    bar = find_scale_bar(bar_picture(text=True, ticks=(True, True)), click)
    assert bar.length_px == pytest.approx(201, abs=0.2)
    assert [one.code for one in bar.findings] == ["bar-two-parts"]


def test_half_a_bar_is_questioned():
    """A scale taken from half a bar makes every length twice too long."""
    bar = find_scale_bar(bar_picture(ticks=(True, False)), (62, 160))
    assert "bar-half" in [one.code for one in bar.findings]
    assert not bar.trusted


def _pieces(*, grounds, inks, gap=40):
    """A bar of five pieces of 40 pixels, by turns in one ink and the other, or in one and nothing."""
    picture = np.full((120, 400), grounds, np.uint8)
    for number in range(5):
        ink = inks[number % 2]
        if ink is not None:
            picture[60:64, 100 + number * gap : 140 + number * gap] = ink
    return Radiograph.from_array(picture)


PIECES = {
    "white and black": ({"grounds": 60, "inks": (255, 0)}, (62, 120)),
    "white and black, one within": ({"grounds": 110, "inks": (255, 0)}, (62, 160)),
    "black and white on bright": ({"grounds": 150, "inks": (0, 255)}, (62, 280)),
    "dashes": ({"grounds": 30, "inks": (255, None)}, (62, 120)),
    "dashes, one within": ({"grounds": 30, "inks": (255, None)}, (62, 200)),
}


@pytest.mark.parametrize(("look", "click"), PIECES.values(), ids=PIECES)
def test_a_piece_of_a_bar_is_questioned(look, click):
    """Bars of black and white pieces by turns, or dashed: one piece is a fifth of the length that is written beside."""
    bar = find_scale_bar(_pieces(**look), click)
    assert "bar-piece" in [one.code for one in bar.findings]
    assert not bar.trusted


@pytest.mark.parametrize("click", [(62, 120), (62, 280)], ids=["left half", "right half"])
def test_half_of_a_bar_without_ticks_that_its_text_interrupts_is_questioned(click):
    bar = find_scale_bar(bar_picture(text=True), click)
    assert "bar-piece" in [one.code for one in bar.findings]
    assert not bar.trusted


def test_text_and_bone_beside_a_bar_are_no_piece_of_it():
    import cv2

    rng = np.random.default_rng(3)
    for _ in range(6):
        grain = gaussian_filter(rng.normal(size=(120, 400)), 3)
        grey = np.clip(90 + 18 * grain / grain.std(), 0, 255).astype(np.uint8)
        grey[60:64, 60:260] = 255
        cv2.putText(grey, "10 mm", (268, 68), cv2.FONT_HERSHEY_SIMPLEX, 0.6, 255, 1, cv2.LINE_AA)
        bar = find_scale_bar(Radiograph.from_array(grey), (62, 100))
        assert bar.trusted, bar.findings
        assert bar.length_px == pytest.approx(200, abs=0.3)


def test_a_click_on_the_grey_margin_of_a_thin_bar_takes_the_bar():
    """Drawn between two rows, its outer rows are half as bright; they stop at its ticks, which belong to it."""
    grey = np.full((120, 400), 30, np.uint8)
    for row, ink in zip(range(60, 64), (150, 255, 255, 150), strict=True):
        grey[row, 100:300] = ink
    grey[52:72, 100:102] = grey[52:72, 298:300] = 255
    bar = find_scale_bar(Radiograph.from_array(grey), (60, 160))
    assert bar.length_px == pytest.approx(200, abs=0.3)


def test_a_bar_with_a_thin_dark_outline_is_as_clear_as_one_without():
    grey = np.full((120, 400), 180, np.uint8)
    grey[59:65, 99:301] = 0
    grey[60:64, 100:300] = 255
    bar = find_scale_bar(Radiograph.from_array(grey), (62, 160))
    assert bar.trusted, bar.findings
    assert bar.length_px == pytest.approx(200, abs=0.6)


NO_BARS = {
    "ground": (bar_picture, (20, 20)),
    "square": (lambda: Radiograph.from_array(np.pad(np.full((30, 30), 255, np.uint8), 40)), (50, 50)),
    "flat": (lambda: Radiograph.from_array(np.full((60, 200), 90, np.uint8)), (30, 100)),
    "noise": (lambda: image_of(np.full((120, 200), 100.0), noise=30.0), (30, 100)),
}


@pytest.mark.parametrize(("picture", "click"), NO_BARS.values(), ids=NO_BARS)
def test_what_is_no_bar_is_refused(picture, click):
    with pytest.raises(MarkError, match="no scale bar"):
        find_scale_bar(picture(), click)


def test_a_bar_at_the_edge_of_the_picture_is_questioned():
    picture = np.full((80, 200), 30, np.uint8)
    picture[40:44, 120:] = 255
    bar = find_scale_bar(Radiograph.from_array(picture), (42, 150))
    assert "bar-cut-off" in [one.code for one in bar.findings]
    picture[40:44] = 30
    picture[40:44, 60:120] = 255
    picture[40:44, 120:160] = np.linspace(255, 30, 40).astype(np.uint8)
    fading = find_scale_bar(Radiograph.from_array(picture), (42, 80))
    assert "bar-end-unclear" in [one.code for one in fading.findings]
