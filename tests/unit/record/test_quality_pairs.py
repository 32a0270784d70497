"""Every measure changes its verdict on a planted defect, and is silent on the clean image."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
from helpers.quality_scenes import PITCH_MM, Marked, doubts, marked, slanted, with_record

from radlength.phantom.detector import Detector
from radlength.record.quality import ImageQuality, image_quality


@cache
def _clean_quality() -> ImageQuality:
    clean = marked()
    return image_quality(clean.radiograph, clean.record)


def _changed(change: Callable[[np.ndarray], np.ndarray]) -> Callable[[], Marked]:
    return lambda: marked(pixels=change(marked().pixels))


def _clipped(low: int, high: int) -> Callable[[np.ndarray], np.ndarray]:
    """Return a window from low to high that loses what lies outside."""
    return lambda grey: np.clip((grey.astype(np.float32) - low) * (255 / (high - low)), 0, 255).astype(
        np.uint8
    )


def _smooth_window(grey: np.ndarray) -> np.ndarray:
    noise = np.random.default_rng(0).random(grey.shape)
    return np.clip(grey * 1.5 - 20 + noise, 0, 255).astype(np.uint8)


def _burnt_apex() -> Marked:
    clean = marked()
    grey, (row, column) = clean.pixels.copy(), clean.canal[-1]
    rows, columns = np.indices(grey.shape)
    grey[(rows > row) & (np.hypot(rows - row, columns - column) < 60)] = 255
    return marked(pixels=grey)


def _cone_straight(grey: np.ndarray) -> np.ndarray:
    rows, columns = np.indices(grey.shape)
    return np.where(columns + 0.2 * rows < 150, grey.max(), grey).astype(grey.dtype)


def _cone_round(grey: np.ndarray) -> np.ndarray:
    rows, columns = np.indices(grey.shape)
    return np.where(np.hypot(rows - 500, columns - 300) > 750, grey.max(), grey).astype(grey.dtype)


def _enlarged(method: int, times: float = 1.3) -> Callable[[np.ndarray], np.ndarray]:
    def change(grey: np.ndarray) -> np.ndarray:
        large = cv2.resize(grey, None, fx=times, fy=times, interpolation=method)
        if times < 1:  # marks must stay inside
            rest = [(0, grey.shape[0] - large.shape[0]), (0, grey.shape[1] - large.shape[1])]
            large = np.pad(large, rest, mode="reflect")
        return large[: grey.shape[0], : grey.shape[1]]

    return change


def _through_jpeg(quality: int) -> Callable[[np.ndarray], np.ndarray]:
    def change(grey: np.ndarray) -> np.ndarray:
        data = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        return cv2.imdecode(data, cv2.IMREAD_UNCHANGED)

    return change


def _cut_at_apex() -> Marked:
    clean = marked()
    last = int(clean.canal[-1][0] + 1.5 / PITCH_MM)
    return with_record(clean.pixels[:last], clean.canal, clean.file, clean.wire, clean.stop_to_tip_mm)


def _cut_at_crown() -> Marked:
    clean = marked()
    first = int(min(clean.canal[0][0], clean.file[0][0])) - 6
    shift = np.array([first, 0.0])
    parts = (clean.canal - shift, clean.file - shift, clean.wire - shift)
    return with_record(clean.pixels[first:], *parts, clean.stop_to_tip_mm)


def _stretched() -> Marked:
    clean = marked()
    return with_record(
        clean.pixels, clean.canal, clean.file, clean.wire, clean.stop_to_tip_mm, row_mm=0.03, column_mm=0.0305
    )


def _wrong_length(share: float) -> Callable[[], Marked]:
    def make() -> Marked:
        clean = marked()
        return with_record(clean.pixels, clean.canal, clean.file, clean.wire, clean.stop_to_tip_mm * share)

    return make


def _small() -> Marked:
    clean = marked()
    grey = cv2.resize(clean.pixels, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    parts = (clean.canal / 4, clean.file / 4, clean.wire / 4)
    return with_record(grey, *parts, clean.stop_to_tip_mm, row_mm=4 * PITCH_MM, column_mm=4 * PITCH_MM)


def _bent_plate() -> Marked:
    clean = marked()
    rows, columns = np.indices(clean.pixels.shape, dtype=np.float32)
    middle, half = clean.wire[:, 0].mean(), np.ptp(clean.wire[:, 0]) / 2
    shift = 14.0 * (1 - ((rows - middle) / half) ** 2)
    grey = cv2.remap(clean.pixels, columns - shift.astype(np.float32), rows, cv2.INTER_CUBIC)

    def moved(points: np.ndarray) -> np.ndarray:
        return points + np.column_stack(
            [0 * points[:, 0], 14.0 * (1 - ((points[:, 0] - middle) / half) ** 2)]
        )

    parts = (moved(clean.canal), moved(clean.file), moved(clean.wire))
    return with_record(grey, *parts, clean.stop_to_tip_mm)


PAIRS = {
    "clipped_dark": ("clipped_dark", None, _changed(_clipped(70, 255))),
    "open_beam_clipped": ("clipped_dark", None, lambda: marked(Detector(scatter=0.3))),
    "clipped_bright": ("clipped_bright", None, _changed(_clipped(0, 150))),
    "clipped_near_apex": ("clipped_near_apex", "45 single", _burnt_apex),
    "eight_bits_in_sixteen": ("bits_used", None, _changed(lambda grey: grey.astype(np.uint16) * 257)),
    "few_levels": ("bits_used", None, _changed(lambda grey: grey // 4 * 4)),
    "stretched_grey": ("missing_codes", None, _changed(_clipped(20, 200))),
    "noise": ("noise", None, lambda: marked(Detector(quanta=100))),
    "cone_cut_straight": ("cone_cut", None, _changed(_cone_straight)),
    "cone_cut_round": ("cone_cut", None, _changed(_cone_round)),
    "enlarged_linear": ("rescaled", None, _changed(_enlarged(cv2.INTER_LINEAR))),
    "enlarged_cubic": ("rescaled", None, _changed(_enlarged(cv2.INTER_CUBIC))),
    "shrunk": ("rescaled", None, _changed(_enlarged(cv2.INTER_AREA, 0.9))),
    "jpeg_before_75": ("jpeg_before", None, _changed(_through_jpeg(75))),
    "jpeg_before_50": ("jpeg_before", None, _changed(_through_jpeg(50))),
    "pixels_not_square": ("pixel_aspect", None, _stretched),
    "apex_near_the_edge": ("apex_in_field", "45 single", _cut_at_apex),
    "cusp_cut_off": ("reference_point_in_field", "45 single", _cut_at_crown),
    "foreshortened": ("magnification", "45 single", _wrong_length(1.1)),
    "elongated": ("magnification", "45 single", _wrong_length(0.75)),
    "small_image": ("reference_size", "file", _small),
    "blurred_file": ("sharpness", "file", lambda: marked(Detector(mtf_sigma_mm=0.12))),
    "blurred_wire": ("sharpness", "wire", lambda: marked(Detector(mtf_sigma_mm=0.12))),
    "sharpened_file": ("sharpened", "file", lambda: marked(Detector(sharpen=1.5))),
    "sharpened_wire": ("sharpened", "wire", lambda: marked(Detector(sharpen=1.5))),
    "faint_tip": ("tip_contrast", "file", lambda: marked(Detector(quanta=150))),
    "bent_plate": ("bend", "wire", _bent_plate),
    "scales_differ": ("scales_differ", None, _wrong_length(0.9)),
}


@pytest.mark.parametrize(("name", "subject", "plant"), PAIRS.values(), ids=PAIRS.keys())
def test_a_planted_defect_changes_the_verdict(
    name: str, subject: str | None, plant: Callable[[], Marked]
) -> None:
    before = _clean_quality().measure(name, subject)
    assert before.verdict == "good", before.why
    assert before.finding is None
    bad = plant()
    after = image_quality(bad.radiograph, bad.record).measure(name, subject)
    assert after.verdict == "doubt", after.why
    assert after.finding is not None
    assert after.finding.code == f"quality-{name.replace('_', '-')}"
    assert after.finding.remedy
    assert after.finding.subject == subject


@pytest.mark.parametrize(
    "detector",
    [
        Detector(),
        Detector(bits=12),
        Detector(bits=16),
        Detector(gamma=1.6),
        Detector(gamma=0.7),
        Detector(inverted=True),
        Detector(mtf_sigma_mm=0.045),
        Detector(scatter=0.0, quanta=6000.0),
    ],
    ids=["8 bit", "12 bit", "16 bit", "bright tone", "dark tone", "inverted", "older detector", "less noise"],
)
def test_a_clean_image_is_silent(detector: Detector) -> None:
    case = marked(detector)
    quality = image_quality(case.radiograph, case.record)
    assert doubts(quality.measures) == set(), [measure.why for measure in quality.doubts]
    assert {"apex_in_field", "sharpness", "bend", "tip_contrast"} <= {
        measure.name for measure in quality.measures if measure.verdict == "good"
    }


@pytest.mark.parametrize("name", ["edge_resolution", "edge_over"])
def test_a_slanted_edge_blurred_or_sharpened(name: str) -> None:
    clean, ends = slanted(1.2, noise=20)
    poor = slanted(3.5, noise=20)[0] if name == "edge_resolution" else slanted(1.2, noise=20, sharpen=0.5)[0]
    case = marked()
    good, bad = (replace(case.radiograph, stored=grey) for grey in (clean, poor))
    assert image_quality(good, edge_px=ends).measure(name).verdict == "good"
    assert image_quality(bad, edge_px=ends).measure(name).verdict == "doubt"
