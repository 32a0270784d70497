"""Images for measures of quality: clean ones, and the same with one planted defect."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
from scipy.special import erf

from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.detector import Detector
from radlength.phantom.render import render
from radlength.record import Record
from radlength.scale import Reference

PITCH_MM = 0.03


@dataclass(frozen=True, eq=False)
class Marked:
    """A simulated image with a record of its true marks, slightly trembling."""

    radiograph: Radiograph
    record: Record
    pixels: np.ndarray
    canal: np.ndarray
    file: np.ndarray
    wire: np.ndarray
    stop_to_tip_mm: float


@cache
def scene(seed: int = 1) -> Any:
    """Return a small invented tooth with an instrument and a wire beside it."""
    return random_scene(seed, kind="single", instruments=1, pitch_mm=PITCH_MM, shape_px=(1160, 860))


@cache
def rendered(detector: Detector, seed: int = 1) -> np.ndarray:
    """Return stored values of the scene through a detector."""
    return render(scene(seed), detector=detector).pixels


def marked(detector: Detector | None = None, *, pixels: np.ndarray | None = None, seed: int = 1) -> Marked:
    """Return an image with its record; `pixels` stand in for what the detector gives."""
    drawn = scene(seed)
    pixels = rendered(detector or Detector(), seed) if pixels is None else pixels
    marks = simulate_marks(
        drawn, None, np.random.default_rng(3), click_mm=0.05, end_mm=0.05, reference_mm=0.03
    )
    tool = drawn.instruments[0]
    canal, file, wire = marks.canals[tool.canal], marks.instruments[tool.canal], marks.wire_px
    return with_record(pixels, canal, file, wire, tool.stop_to_tip_mm)


def with_record(
    pixels: np.ndarray,
    canal: np.ndarray,
    file: np.ndarray,
    wire: np.ndarray,
    stop_to_tip_mm: float,
    **scale: float,
) -> Marked:
    """Return an image with the marks given."""
    scale = scale or {"row_mm": PITCH_MM, "column_mm": PITCH_MM}
    radiograph = Radiograph.from_array(pixels, **scale)
    record = Record.new(
        radiograph,
        canals=[Canal(tooth="45", name="single", path_px=canal)],
        references=[
            Reference(file, stop_to_tip_mm, 0.25, "in_canal", "file", "single"),
            Reference(wire, 20.0, 0.1, "beside", "wire"),
        ],
        canal_references={"single": "file"},
    )
    return Marked(radiograph, record, pixels, canal, file, wire, stop_to_tip_mm)


def slanted(
    blur_px: float, *, angle_deg: float = 3.0, noise: float = 0.0, size: int = 240, sharpen: float = 0.0
) -> tuple[np.ndarray, list[tuple[float, float]]]:
    """Return an image of an edge with an exact Gaussian blur, and two points about a pixel beside it.

    The edge spread of a Gaussian blur is the error function, here at pixel centres (no pixel aperture).
    """
    angle = np.deg2rad(angle_deg)
    rows, columns = np.mgrid[:size, :size] - (size / 2 - 0.3)
    distance = columns * np.cos(angle) - rows * np.sin(angle)
    grey = 8000.0 * (1 + erf(distance / blur_px / np.sqrt(2))) + 10_000
    if sharpen:
        grey += sharpen * (grey - cv2.GaussianBlur(grey, (0, 0), 3.0))
    grey += np.random.default_rng(5).normal(0, noise, grey.shape) if noise else 0
    way = 0.4 * size * np.array([np.cos(angle), np.sin(angle)])
    middle = np.array([size / 2 - 0.3, size / 2 - 0.3])
    ends = [tuple(middle - way + (0.0, 1.2)), tuple(middle + way - (0.0, 0.8))]
    return np.rint(grey).astype(np.uint16), ends


def doubts(measures: Any) -> set[str]:
    """Return the names of measures in doubt."""
    return {measure.name for measure in measures if measure.verdict == "doubt"}
