"""Two images of a simulated tooth on disk, marked but not rendered: grey noise with a record beside it."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
from helpers.cases import write_image

from radlength.cli.marks_file import record_from_marks
from radlength.imaging import read_radiograph
from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.projection import second_exposure
from radlength.phantom.write import write_marks
from radlength.record import save_record

SPREAD = {"apex_mm": 0.05, "stop_mm": 0.05, "tip_mm": 0.05, "path_mm": 0.05}


def two_images(folder, seed, *, shift_deg=20.0, **numbers):
    """Write two images and marks files; return the scene, both images, both marks files and a marker file."""
    rng = np.random.default_rng(seed)
    scene = random_scene(seed, **numbers)
    second = second_exposure(scene.view, shift_deg, rng)
    second = replace(second, horizontal_deg=scene.view.horizontal_deg + shift_deg)
    images, files, markers = [], [], []
    for at, view in enumerate((scene.view, second)):
        images.append(write_image(folder / f"view{at}.png", rows=1400, columns=1040, seed=at))
        files.append(write_marks(images[-1], scene, view, rng, marking=SPREAD))
        markers.append(simulate_marks(scene, view, rng, reference_mm=0.03).marker_px.tolist())
    marker = folder / "marker.json"
    names = ("shape_mm", "straight_px", "shifted_px")
    marker.write_text(json.dumps(dict(zip(names, (scene.marker.shape_mm.tolist(), *markers), strict=True))))
    return scene, images, files, marker


def marked_pair(folder, *, pitch_mm=0.025):
    """Write a lower molar of the right side with records, the tube 20 degrees mesial for the second image.

    Returns the scene, both images and the marker file; without a pitch the records state none.
    """
    scene, images, files, marker = two_images(folder, 741001, kind="lower_molar")
    for image, marks in zip(images, files, strict=True):
        record = record_from_marks(marks, read_radiograph(image))
        save_record(record.with_stated_pitch(pitch_mm, pitch_mm) if pitch_mm else record, image)
    return scene, images, marker
