"""Each doubt by itself: a sound trace has none, one sign changed gives that doubt, and just that."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from radlength.errors import MarkError
from radlength.imaging import HeaderScale, Radiograph
from radlength.tracing import trace_canal
from radlength.tracing.anchors import LEAST_MM, LONG_SIDE_MM, MOST_MM, pixel_mm
from radlength.tracing.corridor import corridor_through
from radlength.tracing.doubt import DOUBTED, confidences, doubts
from radlength.tracing.signs import Signs
from radlength.tracing.together import WEIGHTS, looks

N = 120
NONE = np.zeros(N, dtype=np.bool_)
SOUND = Signs(
    stray=np.full(N, 0.01),
    kept=0.999,
    seen=np.full(N, 1.0),
    clear=np.full(N, 2.0),
    edge=np.full(N, 0.5),
    outer=-1.4,
    structure=4.0,
    flat=NONE,
    saturated=NONE,
    across_mm=np.zeros(N),
    click_miss_mm=np.array([0.05]),
    curve_miss_mm=np.zeros(3),
    metal=NONE,
    metal_miss_mm=0.0,
    hidden=NONE,
)


def on(share):
    return np.arange(N) < share * N


HOOK = {
    "edge": np.where(np.arange(N) < N - 14, 0.5, 4.5),
    "seen": np.where(np.arange(N) < N - 14, 1.0, -0.6),
    "stray": np.where(np.arange(N) < N - 14, 0.01, 0.06),
    "click_miss_mm": np.full(2, 0.05),
}
"""Signs of a trace that cuts an unseen bend of the last 2 mm short, clicks 6 mm apart."""
CHANGES = {
    "noise": ({"structure": 0.3}, "trace-low-contrast"),
    "no line": ({"clear": np.full(N, -0.3)}, "trace-low-contrast"),
    "no line but an edge": ({"clear": np.full(N, -0.3), "edge": np.full(N, 5.0)}, "trace-root-edge"),
    "edge": ({"edge": np.full(N, 13.0)}, "trace-root-edge"),
    "another course": ({"stray": np.full(N, 0.3)}, "trace-two-paths"),
    "a hook cut short": (HOOK, "trace-end-unsure"),
    "border": ({"across_mm": np.full(N, -1.45)}, "trace-left-corridor"),
    "click": ({"click_miss_mm": np.array([0.4])}, "trace-off-click"),
    "zigzag": ({"curve_miss_mm": np.array([0.0, 0.5, 0.0])}, "trace-uneven-clicks"),
    "metal off the clicks": ({"metal": on(0.9), "metal_miss_mm": 0.22}, "trace-beside-metal"),
    "hidden": ({"hidden": on(1.0)}, "trace-beside-metal"),
    "even": ({"flat": on(0.5)}, "trace-flat"),
    "saturated": ({"flat": on(0.5), "saturated": on(0.5)}, "trace-saturated"),
}


def test_sound_trace_has_no_doubts():
    assert doubts(SOUND) == ()


@pytest.mark.parametrize(("change", "code"), CHANGES.values(), ids=CHANGES)
def test_one_sign_gives_one_doubt(change, code):
    found = doubts(replace(SOUND, **change))
    assert [one.code for one in found] == [code]
    assert found[0].severity == "question"


SO_SO = {"kept": 0.87, "click_miss_mm": np.array([0.25]), "seen": np.zeros(N)}
"""Each of them is often met with on a trace that holds."""
MOST = {
    "run elsewhere 6 mm": {"kept": 0.0},
    "passes a click at 0.3 mm": {"click_miss_mm": np.array([0.34]), "kept": 0.93},
    "as outside a root": {"outer": 1.5, "kept": 0.97},
    "little of a canal": {"seen": np.full(N, -0.8), "kept": 0.93},
    "lies 0.2 mm from the clicks": {"metal": on(0.9), "metal_miss_mm": 0.175, "kept": 0.99},
}


@pytest.mark.parametrize("name", SO_SO)
def test_a_sign_that_is_so_so_is_no_doubt_by_itself(name):
    assert doubts(replace(SOUND, **{name: SO_SO[name]})) == ()


def test_signs_that_are_all_so_so_are_a_doubt_together():
    (found,) = doubts(replace(SOUND, **SO_SO))
    assert (found.code, found.severity) == ("trace-signs-together", "question")


@pytest.mark.parametrize(("words", "change"), MOST.items(), ids=MOST)
def test_what_says_most_among_them_is_told(words, change):
    (found,) = doubts(replace(SOUND, **(SO_SO | change)))
    assert found.code == "trace-signs-together"
    assert words in found.sentence


def test_a_sign_that_speaks_by_itself_is_told_alone():
    found = doubts(replace(SOUND, **(SO_SO | {"click_miss_mm": np.array([0.4])})))
    assert [one.code for one in found] == ["trace-off-click"]


def test_no_sign_however_great_says_more_than_the_worst_that_was_seen():
    usual, mad = (
        looks(SOUND),
        looks(replace(SOUND, seen=np.full(N, -1e9), clear=np.full(N, 1e9), kept=-0.0, outer=1e9)),
    )
    assert usual.keys() == mad.keys() == WEIGHTS.keys()
    assert sum(abs(WEIGHTS[name] * one) for name, one in mad.items()) < 25


def test_what_is_seen_in_the_crown_is_not_asked():
    assert doubts(replace(SOUND, clear=np.where(on(0.3), -2.0, 2.0), edge=np.where(on(0.3), 50.0, 0.5))) == ()


def test_confidence_is_that_of_the_worst_place_of_a_stretch():
    corridor = corridor_through(np.array([[1.0, 5.0], [10.0, 5.0], [18.85, 5.0]]))
    stray = np.where(np.arange(len(corridor.rows_mm)) == 90, 0.4, 0.02)
    first, second = confidences(replace(SOUND, stray=stray), corridor, ())
    assert (first, second) == pytest.approx((0.98, 0.6))


@pytest.mark.parametrize("left_out", HOOK)
def test_some_signs_of_a_hook_alone_or_clicks_far_apart_are_no_doubt(left_out):
    change = {name: values for name, values in HOOK.items() if name != left_out}
    assert doubts(replace(SOUND, **change)) == ()


@pytest.mark.parametrize(("change", "code"), CHANGES.values(), ids=CHANGES)
def test_a_trace_with_a_doubt_is_in_no_stretch_more_than_half_sure(change, code):
    corridor = corridor_through(np.array([[1.0, 5.0], [10.0, 5.0], [18.85, 5.0]]))
    signs = replace(SOUND, **change)
    assert max(confidences(signs, corridor, doubts(signs))) <= DOUBTED
    assert min(confidences(SOUND, corridor, doubts(SOUND))) > DOUBTED


def test_a_scale_of_no_meaning_keeps_the_proportion_of_a_pixel():
    image = Radiograph(np.zeros((900, 900), np.uint8), "a.png", scale=HeaderScale(2.0, 1.0, "none"))
    side, said = pixel_mm(image, None)
    assert side[0] / side[1] == pytest.approx(2)
    assert 900 * side[0] == pytest.approx(LONG_SIDE_MM)
    assert [one.code for one in said] == ["trace-pixel-assumed"]
    side, said = pixel_mm(image, 0.02)
    assert np.sqrt(side.prod()) == pytest.approx(0.02)
    assert said == ()


@pytest.mark.parametrize(
    ("shape", "size_mm"),
    [((1000, 700), 0.035), ((500, 2000), 0.0175), ((90, 60), MOST_MM), ((9000, 10), LEAST_MM)],
)
def test_an_image_without_a_scale_is_taken_to_be_as_long_as_others(shape, size_mm):
    side, said = pixel_mm(Radiograph.from_array(np.zeros(shape, np.uint8)), None)
    assert side.tolist() == pytest.approx([size_mm, size_mm])
    assert f"{size_mm:.2g} mm" in said[0].sentence


@pytest.mark.parametrize(("path_mm", "taken_mm"), [(20.0, 20.0), (32.0, 24.0), (90.0, 90.0)])
def test_a_path_longer_than_a_canal_tells_a_picture_cut_out_of_an_image(path_mm, taken_mm):
    """90 mm, of clicks in disorder, are still refused as too long."""
    image = Radiograph.from_array(np.zeros((1000, 700), np.uint8))
    turns = np.linspace(0, path_mm / 0.035, 4)
    path = np.column_stack([np.zeros(4), turns]) if path_mm < 40 else [(0, 0), (857, 0), (0, 5), (857, 10)]
    side, said = pixel_mm(image, None, path)
    assert np.hypot(*np.diff(np.array(path) * side, axis=0).T).sum() == pytest.approx(taken_mm, rel=1e-3)
    assert ("the path were 24 mm long" in said[0].sentence) == (taken_mm < path_mm)
    assert pixel_mm(image, 0.02, path)[0].tolist() == [0.02, 0.02]


FAR = {
    "another course": {"stray": np.where(np.arange(N) == 60, 1.0, 0.2)},
    "border": CHANGES["border"][0],
    "click": CHANGES["click"][0],
    "zigzag": CHANGES["zigzag"][0],
    "metal off the clicks": CHANGES["metal off the clicks"][0],
    "hidden": CHANGES["hidden"][0],
} | {words: SO_SO | change for words, change in MOST.items() if " mm" in words}
"""Doubts that tell a distance."""


@pytest.mark.parametrize("change", FAR.values(), ids=FAR)
def test_a_pixel_that_is_assumed_tells_distances_in_pixels(change):
    (known,) = doubts(replace(SOUND, **change))
    (assumed,) = doubts(replace(SOUND, **change, assumed_mm=0.05))
    (length_mm,) = re.findall(r"([\d.]+) mm", known.sentence)
    (pixels,) = re.findall(r"([\d.]+) pixels", assumed.sentence)
    assert " mm" not in assumed.sentence
    assert float(pixels) * 0.05 == pytest.approx(float(length_mm), abs=0.5 if float(length_mm) > 2 else 0.051)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(10, 10), (12, 10), (600, 10)], "clicks at least 8.6 pixels apart"),
        ([(10, 10), (40, 10)], "43 to 2286 pixels, as 0.035 mm was taken for one, was a path of 30 pixels"),
    ],
)
def test_a_refusal_on_a_pixel_that_is_assumed_speaks_of_pixels(points, words):
    image = Radiograph.from_array(np.zeros((1000, 700), np.uint8))
    with pytest.raises(MarkError) as refused:
        trace_canal(image, points)
    assert " mm apart" not in str(refused.value)
    assert all(one in str(refused.value) for one in words.split(", was "))
