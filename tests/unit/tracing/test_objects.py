"""A ball, beads and wire ends drawn by hand: where they are known, and where there are none."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from helpers.object_images import PIXEL_MM, drawn, fine_grid, image_of
from scipy.ndimage import gaussian_filter

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.scale.ball import Ellipse, ball_scale
from radlength.tracing import (
    ball,
    beads,
    find_ball,
    find_beads,
    find_scale_bar,
    find_wire_ends,
    straight,
    wire_ends,
)
from radlength.tracing.anchors import LONG_SIDE_MM
from radlength.tracing.round_shadow import Shadow
from radlength.tracing.step import fit_step, places_looked_at
from radlength.tracing.straight import Line

SHAPE = (480, 300)
FINDERS = {"ball": find_ball, "beads": find_beads, "wire": find_wire_ends}


def disc_image(centre=(200.3, 151.8), radius=(60.0, 60.0), *, beside=0.0, height=150.0, **look):
    """A disc on grey 50, brighter by `beside` to the right of it."""
    rows, columns = fine_grid(SHAPE)
    inside = ((rows - centre[0]) / radius[0]) ** 2 + ((columns - centre[1]) / radius[1]) ** 2 < 1
    grey = 50 + height * drawn(inside, SHAPE)
    grey = grey + beside * (np.arange(SHAPE[1]) > centre[1] + 30) * (1 - drawn(inside, SHAPE))
    return image_of(grey, **look)


def wire_image(first=(40.2, 120.0), last=(430.7, 150.0), *, beads=(), width=11.0, **look):
    """A straight wire with square ends, `width` pixels thick, and beads 16 pixels in radius at shares of its length."""
    rows, columns = fine_grid(SHAPE)
    start, stop = np.array(first), np.array(last)
    length = float(np.hypot(*(stop - start)))
    way = (stop - start) / length
    along = (rows - start[0]) * way[0] + (columns - start[1]) * way[1]
    across = (columns - start[1]) * way[0] - (rows - start[0]) * way[1]
    grey = 50 + 80 * drawn((np.abs(across) < width / 2) & (along > 0) & (along < length), SHAPE)
    for share in beads:
        middle = start + share * (stop - start)
        grey = np.maximum(grey, 50 + 150 * drawn(np.hypot(rows - middle[0], columns - middle[1]) < 16, SHAPE))
    return image_of(grey, **look), start, stop


def answer(find, *given):
    """Return what is found, or None where it is refused; any other error fails the test."""
    try:
        return find(*given)
    except MarkError:
        return None


CLICKS = {"middle": (200, 152), "near the rim": (240, 180), "other side": (170, 120)}


TONES = {
    "linear": lambda passed: 255 * (1 - passed / 0.4),
    "logarithmic": lambda passed: -40 * np.log(passed / 0.4),
    "logarithmic and white early": lambda passed: 120 - 150 * np.log(passed / 0.4),
}


@pytest.mark.parametrize("tone", TONES.values(), ids=TONES)
def test_the_rim_of_a_ball_is_as_uncertain_as_the_tone_of_an_image_makes_it(tone):
    """What passes beside a steel ball 3.6 mm wide (1.5 a millimetre), blurred by 0.09 mm, under three tone curves."""
    from scipy.ndimage import gaussian_filter

    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]]
    thick_mm = 2 * PIXEL_MM * np.sqrt(np.maximum(60.0**2 - (rows - 200) ** 2 - (columns - 150) ** 2, 0))
    passed = gaussian_filter(0.4 * np.exp(-1.5 * thick_mm), 0.09 / PIXEL_MM) + 0.001
    shown = find_ball(image_of(np.clip(tone(passed), 0, 255)), (205, 160))
    assert abs(shown.diameter_mm / 2 - 60 * PIXEL_MM) < 2 * shown.u_radius_mm


@pytest.mark.parametrize("click", CLICKS.values(), ids=CLICKS)
def test_middle_of_a_ball_from_a_click_anywhere_in_it(click):
    shown = find_ball(disc_image(), click)
    assert np.hypot(*(shown.centre_px - (200.3, 151.8))) * PIXEL_MM < 0.005
    assert shown.diameter_mm == pytest.approx(120 * PIXEL_MM, abs=0.06)
    assert shown.trusted
    assert shown.confidence > 0.9


def test_shadow_of_an_oblique_ball_is_an_ellipse_that_the_scale_takes():
    shown = find_ball(disc_image(radius=(66.0, 60.0)), (200, 150))
    assert shown.ellipse.major / shown.ellipse.minor == pytest.approx(1.1, abs=0.01)
    assert shown.ellipse.angle_deg == pytest.approx(90, abs=3)
    assert ball_scale(shown.ellipse, 3.4).mm_per_unit == pytest.approx(3.4 / 3.6, abs=0.03)
    rows, columns = ((shown.outline_px - shown.centre_px) / (66, 60)).T
    assert np.hypot(rows, columns) == pytest.approx(np.ones(16), abs=0.02)


LOOKS = {
    "16 bit": {"bits": 16},
    "noisy": {"noise": 5.0},
    "0.05 mm": {"pixel_mm": 0.05},
    "tooth beside": {"beside": 60.0},
}


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_ball_on_images_of_many_looks(look):
    shown = find_ball(disc_image(**look), (210, 160))
    assert np.hypot(*(shown.centre_px - (200.3, 151.8))) < 0.5
    assert shown.trusted, shown.findings


DOUBTFUL_BALLS = {
    "cut off by the edge": ({"centre": (200.0, 22.0)}, "ball-rim-hidden", (200, 30)),
    "faint": ({"height": 10.0, "noise": 4.0}, "ball-faint", (200, 150)),
    "half lost in white": ({"height": 250.0, "beside": 250.0}, "ball-rim-hidden", (200, 150)),
}


@pytest.mark.parametrize(("look", "code", "click"), DOUBTFUL_BALLS.values(), ids=DOUBTFUL_BALLS)
def test_a_ball_that_is_not_clear_is_questioned_or_refused(look, code, click):
    shown = answer(find_ball, disc_image(**look), click)
    assert shown is None or code in [one.code for one in shown.findings]
    assert shown is None or not shown.trusted


def bony_ball(seed, *, grain_px=12, centre=(200.3, 151.8), radius=60.0):
    """A ball of metal before bone of a grain, on a logarithmic image."""
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]].astype(float)
    away = np.hypot(rows - centre[0], columns - centre[1])
    thick_mm = 2 * np.sqrt(np.clip(radius**2 - away**2, 0, None)) * PIXEL_MM
    bone = gaussian_filter(np.random.default_rng(seed).normal(size=SHAPE), grain_px)
    passed = gaussian_filter(np.exp(-1.2 * thick_mm - 0.25 * bone / bone.std()) + 0.02, 2.0)
    return image_of(110 - 36 * np.log(passed), seed=seed)


def test_bone_behind_a_ball_moves_its_middle_by_what_is_said():
    """The ellipse follows the rim that bone moves, so that nothing strays from it."""
    balls = [find_ball(bony_ball(seed), (210, 150)) for seed in range(10)]
    off = [(ball.centre_px - (200.3, 151.8)) * PIXEL_MM / ball.u_centre_mm for ball in balls]
    assert np.sqrt(np.mean(np.square(off))) < 1.2
    assert max(ball.u_centre_mm for ball in balls) < 0.02


def test_beads_in_order_along_the_wire():
    image, start, stop = wire_image(beads=(0.1, 0.3, 0.5, 0.7, 0.9))
    shown = find_beads(image, start + 0.42 * (stop - start) + (0, 3))
    true = np.array([start + share * (stop - start) for share in (0.1, 0.3, 0.5, 0.7, 0.9)])
    assert shown.beads_px.shape == (5, 2)
    assert np.hypot(*(shown.beads_px - true).T).max() * PIXEL_MM < 0.02
    assert shown.spacing_mm == pytest.approx(0.2 * np.hypot(*(stop - start)) * PIXEL_MM, abs=0.01)
    assert shown.trusted, shown.findings
    assert shown.points_px().tolist() == shown.beads_px.tolist()
    assert (shown.assist().first, shown.assist().last, shown.assist().method) == (0, 4, "wire beads")


@pytest.mark.parametrize(
    ("shares", "code"),
    [
        ((0.1, 0.3, 0.7, 0.9), "beads-uneven"),
        ((0.2, 0.8), "beads-two"),
        ((0.1, 0.3, 0.5, 0.7), "beads-end-hidden"),
        ((0.3, 0.5, 0.7, 0.9), "beads-end-hidden"),
    ],
    ids=["one missing", "two", "last one missing", "first one missing"],
)
def test_a_bead_that_may_be_missing_is_told(shares, code):
    """A length taken over one bead too few is wrong by a whole step."""
    image, start, stop = wire_image(beads=shares)
    shown = find_beads(image, (start + stop) / 2)
    assert len(shown.beads_px) == len(shares)
    assert [one.code for one in shown.findings] == [code]


@pytest.mark.parametrize(
    ("shares", "told"), [((0.1, 0.3, 0.7, 0.9), 0.2), ((0.1, 0.3, 0.5, 0.7), 0.3)], ids=["step", "end"]
)
def test_without_a_size_of_a_pixel_what_is_told_of_beads_is_in_pixels(shares, told):
    image, start, stop = wire_image(beads=shares)
    below = round(LONG_SIDE_MM / PIXEL_MM) - len(image.stored)
    bare = Radiograph.from_array(np.pad(image.stored, ((0, below), (0, 0)), mode="edge"))
    shown = find_beads(bare, (start + stop) / 2)
    words = next(one.sentence for one in shown.findings if one.severity == "question")
    assert " mm" not in words
    pixels = float(re.search(r"([\d.]+) pixels", words)[1])
    assert pixels == pytest.approx(told * np.hypot(*(stop - start)), rel=0.05)


def test_without_a_size_of_a_pixel_how_far_a_rim_or_a_wire_strays_is_told_in_pixels():
    (rim,) = ball._doubts(replace(SHADOW, off_mm=0.06), 0.03)
    (wire,) = wire_ends._doubts(replace(GOOD_LINE, off_mm=0.12), [GOOD_END, GOOD_END], 0.03)
    assert "strays by 2.0 pixels" in rim.sentence
    assert "strays by 4.0 pixels" in wire.sentence


@pytest.mark.parametrize("past_px", [22, 40], ids=["up to its neighbour", "half of the way"])
def test_a_bead_under_something_bright_is_told(past_px):
    """Under a crown of metal the last bead and the wire to it are not seen; the steps between the others are even."""
    image, start, stop = wire_image(beads=(0.1, 0.3, 0.5, 0.7))
    grey = image.stored.copy()
    grey[round((start + 0.5 * (stop - start))[0]) + past_px :, 60:240] = 220
    shown = find_beads(
        Radiograph.from_array(grey, row_mm=PIXEL_MM, column_mm=PIXEL_MM), start + 0.2 * (stop - start)
    )
    assert len(shown.beads_px) == 3
    assert "beads-end-hidden" in [one.code for one in shown.findings]
    assert not shown.trusted


@pytest.mark.parametrize("width", [9.0, 15.0, 25.0], ids=["thin", "thicker", "rod"])
def test_ends_of_a_wire(width):
    image, start, stop = wire_image(width=width)
    wire = find_wire_ends(image, start + 0.3 * (stop - start) + (2, 4))
    assert np.hypot(*(wire.ends_px - (start, stop)).T).max() * PIXEL_MM < 0.05
    assert wire.length_mm == pytest.approx(np.hypot(*(stop - start)) * PIXEL_MM, abs=0.06)
    assert wire.trusted, wire.findings
    assert (wire.assist().first, wire.assist().last) == (0, 1)
    assert wire.points_px().tolist() == wire.ends_px.tolist()


DOUBTFUL_WIRES = {
    "runs off the image": ({"last": (560.0, 160.0)}, "wire-cut-off"),
    "off both sides": ({"first": (-50.0, 113.0), "last": (560.0, 160.0)}, "wire-cut-off"),
}


@pytest.mark.parametrize(("given", "code"), DOUBTFUL_WIRES.values(), ids=DOUBTFUL_WIRES)
def test_a_wire_that_runs_off_the_image_is_questioned(given, code):
    image, _, _ = wire_image(**given)
    wire = find_wire_ends(image, (240, 135))
    assert not wire.trusted
    assert code in [one.code for one in wire.findings]


def test_an_end_in_a_white_area_is_questioned():
    image, start, stop = wire_image()
    stored = image.stored.copy()
    stored[380:] = 255
    hidden = Radiograph.from_array(stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    wire = find_wire_ends(hidden, (start + stop) / 2)
    assert not wire.trusted


def test_an_end_that_lies_under_something_brighter_is_questioned():
    """A ball or a filling that hides the rest of a wire: its height falls there, and grey on its axis does not."""
    _, start, stop = wire_image()
    rows, columns = fine_grid(SHAPE)
    way = (stop - start) / np.hypot(*(stop - start))
    away, across = rows - start[0], columns - start[1]
    along = away * way[0] + across * way[1]
    bar = (np.abs(across * way[0] - away * way[1]) < 5.5) & (along > 0) & (along < 392)
    ball = np.hypot(rows - stop[0], columns - stop[1]) < 65
    grey = np.maximum(50 + 80 * drawn(bar, SHAPE), 50 + 190 * drawn(ball, SHAPE))
    wire = find_wire_ends(image_of(grey), start + 0.3 * (stop - start))
    assert np.hypot(*(wire.ends_px - (start, stop)).T).max() * PIXEL_MM > 1.5
    assert "wire-end-unclear" in [one.code for one in wire.findings]
    assert not wire.trusted


def test_the_edge_of_a_crown_is_no_wire():
    """Edges are straight for some millimetres, and end."""
    rows, columns = fine_grid(SHAPE)
    crown = (columns - 120 + 0 * rows < 0) & (rows > 150) & (rows < 330)
    rim = (np.abs(columns - 116 + 0 * rows) < 5) & (rows > 150) & (rows < 330)
    image = image_of(40 + 90 * drawn(crown, SHAPE) + 15 * drawn(rim, SHAPE))
    with pytest.raises(MarkError, match="no wire"):
        find_wire_ends(image, (240, 116))


GOOD_LINE = Line(np.zeros(2), np.array([1.0, 0.0]), -9.0, 9.0, 0.12, 1.0, 0.003)
GOOD_END = wire_ends._End(
    along_mm=9.0, u_mm=0.01, ratio=40.0, like=1.0, after=0.0, sides=1.0, falls=1.0, white=0.0, cut_off=False
)
WIRE_DOUBTS = {
    "wire-not-straight": ({"off_mm": 0.1}, {}),
    "wire-hidden": ({"seen": 0.5}, {}),
    "wire-cut-off": ({}, {"cut_off": True}),
    "wire-saturated": ({}, {"white": 0.9}),
    "wire-end-unclear": ({}, {"ratio": 3.0}),
}


@pytest.mark.parametrize(("code", "changes"), WIRE_DOUBTS.items(), ids=WIRE_DOUBTS)
def test_each_doubt_of_a_wire_has_its_sign(code, changes):
    line, end = replace(GOOD_LINE, **changes[0]), replace(GOOD_END, **changes[1])
    assert wire_ends._doubts(GOOD_LINE, [GOOD_END, GOOD_END]) == ()
    assert [one.code for one in wire_ends._doubts(line, [GOOD_END, end])] == [code]


def test_an_end_as_high_as_something_else_is_unclear():
    odd = replace(GOOD_END, like=6.0)
    assert [one.code for one in wire_ends._doubts(GOOD_LINE, [odd, GOOD_END])] == ["wire-end-unclear"]


@pytest.mark.parametrize("after", [0.7, -0.7, -0.45])
def test_an_end_beyond_which_the_height_is_another_is_unclear(after):
    """A bead of a wire that goes on, or the rim of a crown that falls beyond the true end."""
    odd = replace(GOOD_END, after=after)
    assert [one.code for one in wire_ends._doubts(GOOD_LINE, [odd, GOOD_END])] == ["wire-end-unclear"]


def test_an_end_of_what_has_no_sides_is_unclear():
    """The cusp of a tooth behind a rod bulges like a line, and ends."""
    odd = replace(GOOD_END, sides=0.6)
    assert [one.code for one in wire_ends._doubts(GOOD_LINE, [odd, GOOD_END])] == ["wire-end-unclear"]


def test_an_end_with_a_deeper_fall_near_by_is_unclear():
    """A smooth dip beyond a rough end stands out more than the end."""
    at = places_looked_at()
    rough = np.where(at < -0.1, 80 + 12 * np.sin(40 * at), 0.0) + np.where(at < 0.3, 42.0, 0.0)
    found = fit_step(rough, 30)
    assert found.place_mm == pytest.approx(0.29, abs=0.03)
    assert found.ratio == 0


def test_the_sharp_fall_is_the_end_and_not_the_smooth_one_behind_it():
    """A rod that ends over the rim of a crown: the rim falls on, deeper than the rod and smoothly."""
    at = places_looked_at()
    rim = 80 / (1 + np.exp((at - 0.3) / 0.2)) - 80
    found = fit_step(rim + np.where(at < -0.05, 40.0, 0.0), 15)
    assert found.place_mm == pytest.approx(-0.05, abs=0.02)


def _rows(bead=()):
    """Rows along a wire of height 60 over grey 140 that ends at row 80, weakly bright bone behind it."""
    core, height, on = np.full(120, 200.0), np.full(120, 60.0), np.ones(120, dtype=bool)
    core[80:], height[80:] = 145.0, 8.0
    for row in bead:
        core[row - 5 : row + 6], height[row - 5 : row + 6] = 255.0, 10.0
        on[[row - 6, row - 7, row + 6, row + 7]] = False
    return on, core, height


@pytest.mark.parametrize("start", [30, 40, 42])
def test_a_line_clicked_on_a_bead_is_followed_beyond_it_and_ends_where_it_ends(start):
    """Bone behind the end answers like a faint line: it is none of this one."""
    first, last = straight._extent(*_rows(bead=(20, 40, 60)), start)
    assert first == 0
    assert 78 <= last <= 80


SHADOW = Shadow(Ellipse((5.0, 5.0), 2.5, 2.5, 0.0), 1.0, 0.005, 30.0, 0.0)
BALL_DOUBTS = {
    "ball-rim-hidden": {"share": 0.5},
    "ball-not-round": {"off_mm": 0.05},
    "ball-faint": {"contrast": 3.0},
    "ball-saturated": {"white": 0.8},
}


@pytest.mark.parametrize(("code", "changes"), BALL_DOUBTS.items(), ids=BALL_DOUBTS)
def test_each_doubt_of_a_ball_has_its_sign(code, changes):
    assert ball._doubts(SHADOW) == ()
    assert [one.code for one in ball._doubts(replace(SHADOW, **changes))] == [code]


def test_a_bead_of_which_little_is_seen_is_questioned():
    gaps, three = np.array([5.0, 5.1]), (SHADOW, SHADOW, SHADOW)
    assert beads._doubts(three, gaps, 0.8, 1.0) == ()
    assert [one.code for one in beads._doubts(three, gaps, 0.45, 1.0)] == ["beads-rim-hidden"]


EMPTY = {
    "flat": np.full(SHAPE, 90.0),
    "black": np.zeros(SHAPE),
    "white": np.full(SHAPE, 255.0),
}


@pytest.mark.parametrize("grey", EMPTY.values(), ids=EMPTY)
@pytest.mark.parametrize("find", FINDERS.values(), ids=FINDERS)
def test_nothing_is_found_where_the_image_shows_nothing(find, grey):
    with pytest.raises(MarkError, match="at the click") as caught:
        find(image_of(grey, noise=0.0), (200, 150))
    assert caught.value.code == "no-such-object"


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("find", FINDERS.values(), ids=FINDERS)
def test_what_is_found_in_noise_is_questioned_or_refused(find, seed):
    image = image_of(np.full(SHAPE, 110.0), noise=8.0, seed=seed)
    found = answer(find, image, (200, 150))
    assert found is None or not found.trusted


@pytest.mark.parametrize("click", [(-1, 5), (5, 300), (480, 5), (np.nan, 5), (1, 2, 3)], ids=str)
@pytest.mark.parametrize("find", [*FINDERS.values(), find_scale_bar], ids=[*FINDERS, "bar"])
def test_a_click_that_is_not_on_the_image_is_refused(find, click):
    with pytest.raises(MarkError, match="a click at"):
        find(disc_image(), click)


@pytest.mark.parametrize("corner", [(0, 0), (0, 299), (479, 0), (479, 299)], ids=str)
@pytest.mark.parametrize("find", FINDERS.values(), ids=FINDERS)
def test_a_click_in_a_corner_is_refused_or_questioned(find, corner):
    found = answer(find, disc_image(), corner)
    assert found is None or not found.trusted


@pytest.mark.parametrize("side", [1, 2, 5], ids=str)
@pytest.mark.parametrize("find", [*FINDERS.values(), find_scale_bar], ids=[*FINDERS, "bar"])
def test_a_tiny_image_holds_nothing(find, side):
    image = Radiograph.from_array(np.arange(side * side, dtype=np.uint8).reshape(side, side))
    with pytest.raises(MarkError, match="at the click"):
        find(image, (0, 0))


def test_dark_metal_is_found_when_said_and_questioned_when_not():
    bright = disc_image()
    dark = Radiograph.from_array(255 - bright.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    assert find_ball(dark, (200, 150), polarity="dark").trusted
    unsaid = find_ball(dark, (200, 150))
    assert [one.code for one in unsaid.findings] == ["object-dark"]
    assert not unsaid.trusted
    with pytest.raises(MarkError, match="no ball"):
        find_ball(dark, (200, 150), polarity="bright")
