"""Measures along a wire, on drawn wires whose shape, blur and bend are known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from radlength.imaging import Radiograph
from radlength.imaging.quality.across import across
from radlength.imaging.quality.bent import bend
from radlength.imaging.quality.chord import blurred_chord, fit_chord
from radlength.imaging.quality.contrast import tip_contrast
from radlength.imaging.quality.sharpness import sharpness

SHAPE = (640, 300)
PATH = [(60.0, 150.0), (300.0, 150.0), (580.0, 150.0)]


def wire(
    *,
    radius: tuple[float, float] = (9.0, 4.0),
    blur: float = 1.4,
    sagitta: float = 0.0,
    height: float = 6000.0,
    noise: float = 120.0,
    end: float = 590.0,
    sign: int = 1,
) -> Radiograph:
    """Return an image of a round tapered wire down the middle, drawn four times finer and then averaged."""
    fine = 4
    rows = (np.arange(SHAPE[0] * fine) + 0.5) / fine - 0.5
    columns = (np.arange(SHAPE[1] * fine) + 0.5) / fine - 0.5
    share = np.clip((rows - 50) / (end - 50), 0, 1)
    axis = 150 + sagitta * (1 - (2 * share - 1) ** 2)
    size = radius[0] + (radius[1] - radius[0]) * share
    chord = (
        np.sqrt(np.clip(1 - ((columns[None] - axis[:, None]) / size[:, None]) ** 2, 0, None)) * size[:, None]
    )
    chord[(rows < 50) | (rows > end)] = 0
    small = cv2.resize((chord / radius[0]).astype(np.float32), SHAPE[::-1], interpolation=cv2.INTER_AREA)
    grey = 20_000 + sign * height * cv2.GaussianBlur(small, (0, 0), blur)
    grey += np.random.default_rng(2).normal(0, noise, SHAPE)
    return Radiograph.from_array(np.rint(grey).astype(np.uint16))


@pytest.mark.parametrize("blur", [1.0, 1.4, 2.2, 3.0])
@pytest.mark.parametrize("sign", [1, -1], ids=["bright", "dark"])
def test_the_blur_of_a_drawn_wire_within_three_percent(blur: float, sign: int) -> None:
    profiles = across(wire(blur=blur, sign=sign).stored, PATH)
    assert profiles is not None
    assert profiles.sign == sign
    found = fit_chord(profiles)
    assert found is not None
    assert found.blur_px == pytest.approx(np.hypot(blur, 1 / np.sqrt(12)), rel=0.03)
    assert found.radius_px == pytest.approx(9.0, rel=0.08)
    assert found.taper == pytest.approx(5.0 / 540, rel=0.15)


def test_marks_beside_the_wire_are_centred() -> None:
    beside = [(row, column + 5.0) for row, column in PATH]
    first, second = across(wire().stored, PATH), across(wire().stored, beside)
    assert first is not None
    assert second is not None
    shift = np.median(first.centres_px) - np.median(second.centres_px)
    assert abs(shift) == pytest.approx(5.0, abs=0.2)
    middle = np.abs(first.offsets_px) < 1
    np.testing.assert_allclose(np.median(first.grey[:, middle]), np.median(second.grey[:, middle]), rtol=0.01)


def test_an_unblurred_chord_is_a_half_circle() -> None:
    offsets = np.linspace(-12, 12, 49)
    sharp = blurred_chord(offsets, 8.0, 0.15)
    inside = np.abs(offsets) < 7
    np.testing.assert_allclose(sharp[inside], np.sqrt(1 - (offsets[inside] / 8) ** 2), atol=0.01)
    assert sharp[np.abs(offsets) > 9].max() < 1e-6


@pytest.mark.parametrize(
    ("sagitta", "verdict"), [(0.0, "good"), (2.0, "good"), (8.0, "doubt"), (-12.0, "doubt")]
)
def test_a_bend_of_one_percent_is_the_limit(sagitta: float, verdict: str) -> None:
    path = [(60.0, 150.0), (320.0, 150.0 + sagitta), (580.0, 150.0)]
    found = bend(wire(sagitta=sagitta, end=630.0), path)
    assert found.verdict == verdict, found.why
    seen = (480 / 580) ** 2  # profiles over 480 of the 580 px over which the parabola was drawn
    assert found.value == pytest.approx(100 * abs(sagitta) * seen / 520, abs=0.12)


def test_a_trembling_hand_is_no_bend() -> None:
    path = [(60.0, 154.0), (200.0, 143.0), (320.0, 158.0), (450.0, 144.0), (580.0, 147.0)]
    assert bend(wire(end=630.0), path).verdict == "good"


@pytest.mark.parametrize(("height", "verdict"), [(6000.0, "good"), (500.0, "doubt")])
def test_contrast_of_the_tip(height: float, verdict: str) -> None:
    assert tip_contrast(wire(height=height), PATH).verdict == verdict


def test_a_path_over_nothing_is_not_measured_or_faint() -> None:
    flat = Radiograph.from_array(np.random.default_rng(0).normal(9000, 200, SHAPE).astype(np.uint16))
    assert tip_contrast(flat, PATH).verdict == "doubt"
    assert {item.verdict for item in sharpness(flat, PATH, 0.03, in_canal=True)} == {"not measured"}


@pytest.mark.parametrize(
    "path",
    [[(-80.0, 2.0), (500.0, 2.0)], [(10.0, 10.0), (12.0, 11.0)], [(2000.0, 2000.0), (2600.0, 2100.0)]],
    ids=["at the edge", "short", "outside"],
)
def test_what_lies_outside_is_not_measured(path: list[tuple[float, float]]) -> None:
    image = wire()
    found = [*sharpness(image, path, 0.03, in_canal=False), tip_contrast(image, path), bend(image, path)]
    assert {item.verdict for item in found} == {"not measured"}


def test_without_a_scale_the_resolution_is_not_said() -> None:
    first, second = sharpness(wire(), PATH, None, in_canal=False)
    assert first.verdict == "not measured"
    assert "px" in first.why
    assert second.verdict == "good"
