"""The one invented image that comes with the package: a lower premolar with a hand instrument in a bent canal.

Made again by ``python -m radlength.phantom.demo FOLDER``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from radlength.phantom.detector import Detector
from radlength.phantom.export import write_image
from radlength.phantom.marks import simulate_marks
from radlength.phantom.population import random_scene
from radlength.phantom.render import render
from radlength.phantom.scene import Scene
from radlength.phantom.truth import marks_of
from radlength.phantom.write import write_json

SEED = 45
NAME = "invented-premolar"
CANAL_MM = 22.5
GAP_MM = 1.5
BEND_DEG = 33.0
CAREFUL_MM = 0.03
"""SD the marks of the demo were drawn with: a careful hand."""


def demo_scene() -> Scene:
    """Return the scene of the demo image."""
    return random_scene(
        SEED,
        kind="single",
        shown=(),
        pitch_mm=0.03,
        shape_px=(1240, 940),
        length_mm=CANAL_MM,
        gap_mm=GAP_MM,
        bend_deg=BEND_DEG,
        azimuth_deg=170.0,
        s_bend_deg=0.0,
        theta_deg=6.0,
        phi_error_deg=1.0,
        horizontal_deg=1.5,
        yaw_deg=1.0,
        roll_deg=1.0,
        depth_mm=8.0,
        sdd_mm=300.0,
        inclination_deg=1.0,
        lean_deg=2.0,
    )


def write_demo(folder: str | Path) -> list[Path]:
    """Write the demo image and its marks.

    Parameters
    ----------
    folder
        Where to; made if missing.

    Returns
    -------
    list of Path
        Image and marks.
    """
    scene = demo_scene()
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    image, marks_path = out / f"{NAME}.png", out / f"{NAME}.marks.json"
    write_image(image, render(scene, detector=Detector(quanta=4500)))
    rng = np.random.default_rng(SEED)
    marks = simulate_marks(scene, None, rng, click_mm=CAREFUL_MM, end_mm=CAREFUL_MM, clicks=9)
    plain = marks_of(scene, marks)
    plain["references"][0]["name"] = plain["canals"][0]["reference"] = "file in single canal"
    plain["canals"][0]["reference_point"] = "buccal cusp tip"
    write_json(marks_path, plain)
    return [image, marks_path]


if __name__ == "__main__":
    write_demo(sys.argv[1] if len(sys.argv) > 1 else ".")
