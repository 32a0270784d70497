"""Simulated radiographs for traces: rendered once, kept in a temporary folder, exported in several ways.

Seeds below 10 000 are for development; a study draws others.
"""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

import radlength.phantom
from radlength.imaging import Radiograph
from radlength.phantom import Camera, random_scene
from radlength.phantom.detector import Detector, stored, toned
from radlength.phantom.render import render

KINDS = ("single", "lower_molar", "upper_molar", "s_bend", "wide_apex", "single")
PITCHES_MM = (0.025, 0.03, 0.04, 0.05)
VARIANTS = {
    "16 bit": Detector(bits=16),
    "8 bit": Detector(bits=8),
    "JPEG": Detector(bits=8),
    "sharpened": Detector(bits=8, sharpen=1.0),
    "gamma": Detector(bits=8, gamma=1.8),
}
HARD = ("root edge", "wrong click", "faint", "noise")
"""Made to fail: clicks beside the root, one click 0.8 to 1.5 mm off, hardly any contrast, none at all."""


@dataclass(frozen=True)
class Case:
    """One canal on one image: the truth in millimetres on the detector, and whether an instrument lies in it."""

    seed: int
    kind: str
    variant: str
    canal: str
    instrument: bool
    radiograph: Radiograph
    truth_mm: np.ndarray

    @property
    def pixel_mm(self) -> float:
        return float(self.radiograph.scale.row_mm)


def scene_of(seed, shown=("wire", "ball")):
    """Return a scene: kind by turns, pitch and instrument by chance (40 %)."""
    rng = np.random.default_rng((77, seed))
    kind, pitch = KINDS[seed % len(KINDS)], float(rng.choice(PITCHES_MM))
    shape = (round(35 / pitch), round(26 / pitch))
    instruments = int(rng.random() < 0.4)
    return random_scene(seed, kind=kind, instruments=instruments, pitch_mm=pitch, shape_px=shape, shown=shown)


def exposure_of(seed):
    """Return the exposure of a scene, rendered once and kept as Float16 (its grain is below the noise)."""
    kept = _folder() / f"{seed}.npy"
    if not kept.exists():
        part = kept.with_suffix(f".{np.random.default_rng().integers(2**31)}.npy")
        np.save(part, render(scene_of(seed)).exposure.astype(np.float16))
        part.replace(kept)
    return np.load(kept).astype(np.float32)


def _folder():
    """Return the folder for renders of this very renderer."""
    sources = sorted(Path(radlength.phantom.__file__).parent.glob("*.py"))
    digest = hashlib.sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()[:12]
    folder = Path(tempfile.gettempdir()) / f"radlength-traced-scenes-{digest}"
    folder.mkdir(exist_ok=True)
    return folder


def radiograph_of(seed, variant):
    """Return a scene's radiograph as one of `VARIANTS` would export it."""
    detector = VARIANTS[variant]
    pixels = stored(toned(exposure_of(seed), detector), detector)
    if variant == "JPEG":
        pixels = cv2.imdecode(
            cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, 75])[1], cv2.IMREAD_GRAYSCALE
        )
    pitch = scene_of(seed).view.pitch_mm
    return Radiograph.from_array(pixels, row_mm=pitch, column_mm=pitch)


def cases(seed, variant=None):
    """Return every canal of a scene that lies in its image."""
    scene = scene_of(seed)
    variant = variant or tuple(VARIANTS)[seed % len(VARIANTS)]
    radiograph = radiograph_of(seed, variant)
    pitch = scene.view.pitch_mm
    size = np.array(radiograph.shape) * pitch
    found = []
    for canal in scene.canals:
        points = Camera.of(scene.view).project(canal.at(np.linspace(0, canal.length_mm, 600))) * pitch
        if points.min() > 0.5 and (points < size - 0.5).all():
            filled = bool(scene.instruments) and scene.instruments[0].canal == canal.name
            found.append(Case(seed, scene.kind, variant, canal.name, filled, radiograph, points))
    return found


def clicks_mm(case, count, rng, sd_mm=0.1):
    """Return clicks from reference point to apex, every one of them off by `sd_mm` a coordinate.

    `count` of them at equal steps; or, where it is a tuple, at those parts of the path.
    """
    last = len(case.truth_mm) - 1
    at = np.linspace(0, last, count) if isinstance(count, int) else last * np.array(count)
    return case.truth_mm[at.round().astype(int)] + rng.normal(0, sd_mm, (len(at), 2))


def deviations_mm(path_mm, truth_mm):
    """Return the distance of every point of a path from the true line."""
    start, step = truth_mm[:-1], np.diff(truth_mm, axis=0)
    away = path_mm[:, None] - start
    part = np.clip((away * step).sum(-1) / (step**2).sum(-1), 0, 1)
    return np.linalg.norm(away - part[..., None] * step, axis=-1).min(axis=1)


def spoilt(case, clicks, how, rng):
    """Return the image and the clicks of a case made hard in one of the ways of `HARD`."""
    radiograph, clicks = case.radiograph, clicks.copy()
    if how == "root edge":
        return radiograph, clicks + np.array([0, rng.choice([-1, 1]) * rng.uniform(1.5, 3.0)])
    if how == "wrong click":
        clicks[rng.integers(1, len(clicks) - 1)] += [0, rng.choice([-1, 1]) * rng.uniform(0.8, 1.5)]
        return radiograph, clicks
    grey = radiograph.stored / float(radiograph.stored.max()) - 0.5
    share = rng.uniform(10, 25) if how == "faint" else 0.0
    sd = 4.0 if how == "faint" else 6.0
    pixels = np.clip(120 + share * grey + rng.normal(0, sd, grey.shape), 0, 255).astype(np.uint8)
    return Radiograph.from_array(pixels, row_mm=case.pixel_mm, column_mm=case.pixel_mm), clicks
