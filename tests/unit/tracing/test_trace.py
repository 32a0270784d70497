"""Traces on small images drawn by hand: where the line is known, and where there is none."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.spatial import cKDTree

from radlength.errors import ImageError, MarkError
from radlength.geometry import fit_curve, points_outside
from radlength.imaging import Radiograph
from radlength.imaging.radiograph import FileFacts
from radlength.tracing import Trace, Tracer, trace_canal
from radlength.tracing.doubt import DOUBTED
from radlength.tracing.signs import USUAL_OUTER
from radlength.tracing.trace import VERSION

PIXEL_MM = 0.03
SHAPE = (760, 420)


def course(rows):
    """Column of a gently bent canal, in pixels at 0.03 mm."""
    return 210 + 40 * (np.asarray(rows) / 760) ** 2


def canal_image(*, depth=-30.0, width_mm=0.35, noise=2.0, pixel_mm=PIXEL_MM, beside=(), seed=0, bits=8):
    """A root 6 mm wide on bone, with a line of a depth along `course` and others beside it, 0.03 mm pixels rescaled."""
    shape = tuple(round(side * PIXEL_MM / pixel_mm) for side in SHAPE)
    rows, columns = np.mgrid[: shape[0], : shape[1]] * (pixel_mm / PIXEL_MM)
    across = (columns - course(rows)) * PIXEL_MM
    grey = 90 + 60 * np.clip(1 - (across / 3.2) ** 2, 0, None) ** 0.5
    for place, more in ((0.0, depth), *beside):
        grey = grey + more * np.exp(-0.5 * ((across - place) / (width_mm / 2)) ** 2)
    grey = grey + np.random.default_rng(seed).normal(0, noise, shape)
    top = (1 << bits) - 1
    stored = np.clip(np.rint(grey * top / 255), 0, top).astype(np.uint8 if bits == 8 else np.uint16)
    return Radiograph.from_array(stored, row_mm=pixel_mm, column_mm=pixel_mm)


def clicks(rows=(30, 250, 480, 720), off_mm=(0, 0.1, -0.1, 0), pixel_mm=PIXEL_MM):
    places = np.column_stack([rows, course(rows) + np.array(off_mm) / PIXEL_MM])
    return places * (PIXEL_MM / pixel_mm)


def worst_mm(trace: Trace, pixel_mm=PIXEL_MM):
    path = trace.path_px * (pixel_mm / PIXEL_MM)
    return float(np.abs(path[:, 1] - course(path[:, 0])).max() * PIXEL_MM)


IMAGES = {
    "dark canal": {},
    "16 bit": {"bits": 16},
    "wide canal": {"width_mm": 1.0},
    "thin faint canal": {"depth": -12.0, "width_mm": 0.2},
    "bright line": {"depth": 90.0, "width_mm": 0.3},
    "other canal 1 mm beside": {"beside": ((1.0, -30.0),)},
    "brighter line 1.2 mm beside": {"beside": ((1.2, 90.0),)},
}


@pytest.mark.parametrize("given", IMAGES.values(), ids=IMAGES)
def test_trace_runs_along_the_line(given):
    trace = trace_canal(canal_image(**given), clicks())
    assert worst_mm(trace) < 0.12
    assert trace.trusted, trace.findings
    assert min(trace.confidence) > 0.6


def test_a_sharp_bend_of_an_instrument_is_followed_to_its_end():
    """40 degrees within 2 mm of the tip, three clicks: the metal is plainly seen, and the trace stays on it."""
    along = np.arange(0, 650.0)
    way = np.radians(40) * np.clip((along - 580) / 67, 0, 1)
    line = np.column_stack([50 + np.cumsum(np.cos(way)), 200 + np.cumsum(np.sin(way))])
    grid = np.stack(np.mgrid[: SHAPE[0], : SHAPE[1]], axis=-1).reshape(-1, 2)
    away_mm = cKDTree(line).query(grid)[0].reshape(SHAPE) * PIXEL_MM
    noise = np.random.default_rng(0).normal(0, 2, SHAPE)
    grey = np.clip(90 + 90 * np.exp(-0.5 * (away_mm / 0.15) ** 2) + noise, 0, 255).astype(np.uint8)
    image = Radiograph.from_array(grey, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    trace = trace_canal(image, line[[0, 330, -1]])
    assert cKDTree(line).query(trace.path_px)[0].max() * PIXEL_MM < 0.3


@pytest.mark.parametrize("pixel_mm", [0.02, 0.03, 0.05], ids=str)
def test_size_of_a_pixel_does_not_matter(pixel_mm):
    trace = trace_canal(canal_image(pixel_mm=pixel_mm), clicks(pixel_mm=pixel_mm))
    assert worst_mm(trace, pixel_mm) < 0.1


def test_ends_stay_the_clicks_and_the_path_is_in_their_order():
    given = clicks()
    trace = trace_canal(canal_image(), given)
    assert trace.path_px[0].tolist() == given[0].tolist()
    assert trace.path_px[-1].tolist() == given[-1].tolist()
    assert (np.diff(trace.path_px[:, 0]) > 0).all()
    assert len(trace.confidence) == len(given) - 1
    points = trace.points_px(12)
    assert points.shape == (12, 2)
    np.testing.assert_allclose(points[[0, -1]], given[[0, -1]])


def test_a_record_can_say_which_points_the_program_placed():
    trace = trace_canal(canal_image(), clicks())
    said = trace.assist(12)
    assert (said.first, said.last, said.method, said.version) == (1, 10, "canal trace", VERSION)
    assert said.confidence == min(trace.confidence)
    with pytest.raises(MarkError, match="points 1 to 0"):
        trace.assist(2)
    assert trace.curve.length == pytest.approx(fit_curve(trace.points_px(12)).length, rel=2e-3)


def test_reversed_clicks_give_the_same_line():
    image, given = canal_image(), clicks()
    there, back = trace_canal(image, given).path_px, trace_canal(image, given[::-1]).path_px[::-1]
    at = np.linspace(40, 700, 50)
    apart = np.interp(at, there[:, 0], there[:, 1]) - np.interp(at, back[:, 0], back[:, 1])
    assert np.abs(apart).max() * PIXEL_MM < 0.05


def test_crop_gives_the_trace_of_the_whole_image():
    """Scales come from fixed sizes in millimetres, never from the image given: bright areas far away change nothing."""
    image, given = canal_image(), clicks()
    whole = np.full((1500, 1400), 250, np.uint8)
    whole[300:1060, 500:920] = image.stored
    inside = Radiograph.from_array(whole, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    shift = np.array([300, 500])
    wide = 105  # 3.15 mm
    low = np.array([0, 210 - wide])
    crop = Radiograph.from_array(
        image.stored[:, 210 - wide : 250 + wide], row_mm=PIXEL_MM, column_mm=PIXEL_MM
    )
    one, two, three = (
        trace_canal(image, given),
        trace_canal(inside, given + shift),
        trace_canal(crop, given - low),
    )
    middle = slice(10, -10)
    assert np.abs(two.path_px - shift - one.path_px)[middle].max() * PIXEL_MM < 0.03
    np.testing.assert_allclose(three.path_px + low, one.path_px, atol=1e-3)
    assert three.trusted == one.trusted


def test_image_stored_inverted_gives_the_same_trace():
    image, given = canal_image(), clicks()
    turned = Radiograph.from_array(255 - image.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    said = Radiograph(
        turned.stored, turned.name, facts=FileFacts(bits=8, photometric="MONOCHROME1"), scale=turned.scale
    )
    plain = trace_canal(image, given).path_px
    np.testing.assert_allclose(trace_canal(said, given).path_px, plain, atol=0.02)
    np.testing.assert_allclose(trace_canal(turned, given, polarity="bright").path_px, plain, atol=0.02)


TREMBLING = {
    "scattered about it": ((0, 0.3, -0.25, 0.25, 0), True),
    "all on one side of it": ((0.3, 0.33, 0.36, 0.4, 0.45), False),
}


@pytest.mark.parametrize(("off_mm", "on_it"), TREMBLING.values(), ids=TREMBLING)
def test_clicks_scattered_about_an_instrument_are_on_it_and_those_on_one_side_are_not(off_mm, on_it):
    trace = trace_canal(canal_image(depth=90.0, width_mm=0.3), clicks((30, 200, 380, 560, 720), off_mm))
    assert bool(trace.signs.metal.any()) is on_it
    assert (worst_mm(trace) < 0.15) is on_it
    assert not trace.trusted


def test_dark_polarity_leaves_a_bright_line_alone():
    image = canal_image(depth=0.0, beside=((0.0, 90.0), (0.8, -40.0)))
    given = clicks(off_mm=(0, 0, 0, 0))
    assert worst_mm(trace_canal(image, given)) < 0.1
    assert worst_mm(trace_canal(image, given, polarity="dark")) > 0.3


def test_size_of_a_pixel_is_assumed_and_said_so():
    image = Radiograph.from_array(canal_image().stored)
    trace = trace_canal(image, clicks())
    assert [one.code for one in trace.findings] == ["trace-pixel-assumed"]
    assert trace.trusted
    assert trace_canal(image, clicks(), stated_pixel_mm=0.03).findings == ()
    with pytest.raises(ImageError, match=r"pixel pitch of 0\.4 mm"):
        trace_canal(image, clicks(), stated_pixel_mm=0.4)


def even(value, kind=np.uint8):
    return Radiograph.from_array(np.full(SHAPE, value, kind), row_mm=PIXEL_MM, column_mm=PIXEL_MM)


def noise_only():
    grey = np.random.default_rng(3).normal(120, 6, SHAPE).astype(np.uint8)
    return Radiograph.from_array(grey, row_mm=PIXEL_MM, column_mm=PIXEL_MM)


DOUBTFUL = {
    "uniform": (lambda: even(120), clicks, "trace-flat"),
    "white": (lambda: even(255), clicks, "trace-saturated"),
    "white of twelve bits in sixteen": (lambda: even(4095, np.uint16), clicks, "trace-saturated"),
    "black": (lambda: even(0), clicks, "trace-saturated"),
    "noise": (noise_only, clicks, "trace-low-contrast"),
    "click beside the canal": (canal_image, lambda: clicks(off_mm=(0, 0.7, 0, 0)), "trace-off-click"),
    "clicks in zigzag": (
        canal_image,
        lambda: clicks((30, 200, 370, 540, 720), (0, 1.2, -1.2, 1.2, 0)),
        "trace-",
    ),
}


@pytest.mark.parametrize(("image", "given", "code"), DOUBTFUL.values(), ids=DOUBTFUL)
def test_doubtful_trace_is_not_trusted_and_says_why(image, given, code):
    trace = trace_canal(image(), given())
    assert not trace.trusted
    assert any(one.code.startswith(code) for one in trace.findings), trace.findings
    assert all(one.remedy for one in trace.findings)


@pytest.mark.parametrize(("until", "trusted"), [(240, True), (520, False)], ids=["crown", "root too"])
def test_white_in_the_crown_does_not_count_and_in_the_root_does(until, trusted):
    """Crowns are often white without detail; no canal need be seen there."""
    stored = canal_image().stored.copy()
    stored[:until] = 255
    trace = trace_canal(Radiograph.from_array(stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM), clicks())
    assert trace.trusted is trusted, trace.findings
    assert trusted or [one.code for one in trace.findings] == ["trace-saturated"]


def test_pixels_wider_than_a_canal_are_questioned():
    """A preview picture of some dozen pixels shows no canal, whatever is clicked on it."""
    tiny = Radiograph.from_array(canal_image().stored[::20, ::20])
    trace = trace_canal(tiny, clicks() / 20)
    assert not trace.trusted
    assert "trace-pixel-coarse" in [one.code for one in trace.findings]


def test_a_trace_that_leaves_the_image_is_held_at_its_edge_and_questioned():
    """What a record keeps lies on its image: beyond, a trace that was accepted could not be saved."""
    places = [(20, 80), (200, 1), (480, 2), (680, 80)]
    trace = trace_canal(canal_image(), places)
    assert points_outside(trace.path_px, SHAPE) == points_outside(trace.points_px(), SHAPE) == 0
    assert trace.path_px[:, 1].min() == -0.5
    assert "trace-left-image" in [one.code for one in trace.findings]
    assert not trace.trusted
    assert max(trace.confidence) <= DOUBTED


def test_a_canal_that_begins_at_the_edge_of_the_image_is_no_doubt():
    image = canal_image()
    cropped = Radiograph.from_array(image.stored[30:, :], row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    trace = trace_canal(cropped, clicks() - [30, 0])
    assert trace.path_px[0, 0] == 0
    assert trace.trusted, trace.findings


REFUSED = {
    "outside": (lambda: clicks((30, 250, 480, 900)), "outside the image"),
    "on top of one another": (lambda: clicks((30, 250, 250, 720), (0, 0, 0, 0)), "on top of one another"),
    "all at one place": (lambda: np.full((3, 2), 100.0), "same place"),
    "one click": (lambda: clicks()[:1], "1 point"),
    "nine clicks": (lambda: clicks(np.linspace(30, 720, 9), np.zeros(9)), "9 clicks"),
    "not a number": (lambda: np.array([[30, 210], [np.nan, 215], [700, 240]]), "not a number"),
    "crossing": (lambda: np.array([[100, 100], [500, 300], [500, 100], [100, 300]], float), "crosses itself"),
    "short": (lambda: np.array([[100.0, 200.0], [120.0, 200.0]]), "path of 0.6 mm"),
}


@pytest.mark.parametrize(("given", "words"), REFUSED.values(), ids=REFUSED)
def test_clicks_no_canal_can_run_through_are_refused(given, words):
    started = time.perf_counter()
    with pytest.raises(MarkError, match=words):
        trace_canal(canal_image(), given())
    assert time.perf_counter() - started < 5


def test_path_that_would_take_unbounded_work_is_refused():
    image = Radiograph.from_array(np.zeros((3000, 100), np.uint8), row_mm=0.05, column_mm=0.05)
    with pytest.raises(MarkError, match=r"path of 140\.0 mm"):
        trace_canal(image, [(50, 50), (2850, 50)])


HOSTILE = {
    "noise": lambda rng, shape: rng.integers(0, 256, shape).astype(np.uint8),
    "even": lambda rng, shape: np.full(shape, rng.integers(0, 65536), np.uint16),
    "black and white": lambda rng, shape: np.where(rng.random(shape) < 0.5, 0, 65535).astype(np.uint16),
    "ramp": lambda rng, shape: (np.indices(shape).sum(0) % 256).astype(np.uint8),
}


@pytest.mark.parametrize("make", HOSTILE.values(), ids=HOSTILE)
def test_any_image_with_any_clicks_ends_in_a_trace_or_a_refusal(make):
    rng = np.random.default_rng(11)
    traced = 0
    for number in range(25):
        shape = tuple(rng.integers(1, 900, 2))
        places = rng.uniform(0, 1, (rng.integers(1, 10), 2)) * shape
        image = Radiograph.from_array(make(rng, shape), row_mm=0.04, column_mm=0.06)
        if number % 2:
            places = places[places[:, 0].argsort()]
        try:
            trace = trace_canal(image, places, polarity=("auto", "dark", "bright")[number % 3])
        except MarkError:
            continue
        traced += 1
        assert np.isfinite(trace.path_px).all()
        assert all(0 <= one <= 1 for one in trace.confidence)
    assert traced >= 5


def test_drag_gives_what_a_fresh_trace_gives():
    image, given = canal_image(), clicks()
    tracer = Tracer(image)
    first = tracer.trace(given)
    assert tracer.trace(given) is first
    moved = tracer.drag(2, given[2] + [5, 4])
    given[2] += [5, 4]
    np.testing.assert_array_equal(moved.path_px, trace_canal(image, given).path_px)
    assert tracer.last is moved


def test_drag_to_a_bad_place_keeps_the_last_trace():
    tracer = Tracer(canal_image())
    with pytest.raises(MarkError, match="drag of click 1"):
        tracer.drag(1, (100, 100))
    first = tracer.trace(clicks())
    with pytest.raises(MarkError, match="outside the image"):
        tracer.drag(1, (-40, 100))
    assert tracer.last is first
    with pytest.raises(MarkError, match="drag of click 4"):
        tracer.drag(4, (100, 100))


def rooted(at_mm):
    """A root 4 mm wide with a canal in its middle at 8 mm, on darker bone; and the trace clicked at a place across."""
    columns = np.arange(400) * 0.05
    profile = 90 + 60 * (np.abs(columns - 8) < 2)
    for place, depth in ((8, 12), (13, 25)):
        profile = profile - depth * np.exp(-0.5 * ((columns - place) / 0.2) ** 2)
    noise = np.random.default_rng(5).normal(0, 2, (420, 400))
    pixels = np.clip(profile + noise, 0, 255).astype(np.uint8)
    image = Radiograph.from_array(pixels, row_mm=0.05, column_mm=0.05)
    return trace_canal(image, [(row, at_mm / 0.05) for row in (20, 210, 400)])


def test_beside_a_canal_it_is_brighter_near_than_far_and_beside_a_line_in_bone_it_is_not():
    assert rooted(8.0).signs.outer < -1
    assert rooted(13.0).signs.outer > -0.1


def test_nobody_knows_whether_roots_are_bright_where_a_bright_line_is_asked_for():
    found = trace_canal(canal_image(), clicks(), polarity="bright")
    assert found.signs.outer == USUAL_OUTER
