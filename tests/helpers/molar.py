"""A simulated lower molar with one instrument, whose canals bend in the plane of the film, written as an image."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.render import render

SEED = 302
PITCH_MM = 0.03
FLAT = {
    "azimuth_deg": 0,
    "theta_deg": 0,
    "phi_deg": 0,
    "horizontal_deg": 0,
    "reference_depth_mm": 0,
    "reference_tilt_deg": 0,
}
"""A view in which one image can tell the truth: what it cannot tell is the matter of other tests."""


@dataclass(frozen=True)
class Molar:
    """The image file, the true lengths, and where everything is on the image."""

    path: Path
    true_mm: dict[str, float]
    canals_px: dict[str, np.ndarray]
    stop_px: np.ndarray
    tip_px: np.ndarray
    instrument_mm: float


def write_molar(path: Path) -> Molar:
    """Render it, 1200 x 900 pixels."""
    scene = random_scene(
        SEED, kind="lower_molar", instruments=1, pitch_mm=PITCH_MM, shape_px=(1200, 900), **FLAT
    )
    path.write_bytes(cv2.imencode(".png", render(scene).pixels)[1].tobytes())
    marks = simulate_marks(scene, scene.view, clicks=8)
    instrument = scene.instruments[0]
    line = marks.instruments[instrument.canal]
    return Molar(
        path,
        {canal.name: canal.length_mm for canal in scene.canals},
        marks.canals,
        line[0],
        line[-1],
        instrument.stop_to_tip_mm,
    )
