"""How far a point reaches beyond the edge that is seen: the table of ``radlength.trade.tip_shapes``, made again.

Run it with ``python tests/reference/tip_offsets.py``. For every form of a point, size and taper an instrument is
drawn alone in dentine by the simulated tube and detector (its chords are exact), with unsharpness and pixels as they
come, and the end finder looks for the end of its line.
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.object_scenes import FORMS, tube_with

from radlength.phantom import Camera, View
from radlength.phantom.chords import add_tube
from radlength.phantom.curve import Bends, canal_curve
from radlength.phantom.detector import Detector, exposed, stored, toned
from radlength.phantom.materials import DENTINE, STEEL, transmission
from radlength.phantom.scene import Instrument
from radlength.tracing.tip import find_end

SIZES = (6, 8, 10, 15, 20, 25, 30, 40, 60, 80)
TAPERS = (0.02, 0.04, 0.06)
UNSHARPNESS_MM = (0.02, 0.05, 0.09)
PITCHES_MM = (0.025, 0.04)
DENTINE_MM = (3.0, 6.0)
TILTS_DEG = (0.0, 25.0)
SHAPE_MM = (8.0, 4.0)


def alone(size, taper, form, unsharpness_mm, pitch_mm, dentine_mm, tilt_deg=0.0, sharpen=0.0):
    """Return the image of an instrument alone in dentine, its true axis and tip in millimetres."""
    shape = tuple(round(side / pitch_mm) for side in SHAPE_MM)
    view = View(pitch_mm=pitch_mm, shape_px=shape, theta_deg=tilt_deg, phi_deg=tilt_deg / 2, depth_mm=9.0)
    canal = canal_curve("alone", (0.013, -12.007, 0.0), 16.0, Bends())
    tool = Instrument("alone", 12.0, size / 100, taper)
    steel = np.zeros(shape, np.float32)
    add_tube(steel, tube_with(form)(tool, canal), Camera.of(view))
    passed = transmission({STEEL: steel, DENTINE: np.full(shape, dentine_mm, np.float32)})
    detector = Detector(bits=16, quanta=0, sharpen=sharpen)
    image = exposed(passed, detector, unsharpness_mm, pitch_mm, np.random.default_rng(0))
    points = Camera.of(view).project(canal.at(np.linspace(7.5, 12.0, 90))) * pitch_mm
    return stored(toned(image, detector), detector), points


def offset_mm(size, taper, form, unsharpness_mm, pitch_mm, dentine_mm, tilt_deg=0.0, sharpen=0.0):
    """Return how far beyond the edge found the true tip lies."""
    grey, points = alone(size, taper, form, unsharpness_mm, pitch_mm, dentine_mm, tilt_deg, sharpen)
    end = find_end(grey, points, points[-1] - [0.05, 0], np.array([pitch_mm, pitch_mm]))
    return float((points[-1] - end.point_mm) @ end.along)


def one(size, taper, form):
    """Return mean and SD of the offset over unsharpness, pixels and what lies around."""
    found = [
        offset_mm(size, taper, form, *rest)
        for rest in product(UNSHARPNESS_MM, PITCHES_MM, DENTINE_MM, TILTS_DEG)
    ]
    return float(np.mean(found)), float(np.std(found)), np.array(found)


if __name__ == "__main__":
    for form in FORMS:
        for size in SIZES:
            found = [one(size, taper, form) for taper in TAPERS]
            print(form, size, *[f"{mean:.3f}±{sd:.3f}" for mean, sd, _ in found])
