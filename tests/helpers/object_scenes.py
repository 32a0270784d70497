"""Simulated radiographs for instruments and objects of known size, rendered once and kept in a temporary folder.

Seeds below 10 000 are for development; a study draws others. Sizes, tapers and forms of the point vary; the form is
put in place of the simulated instrument's own for the time of one render.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from unittest import mock

import cv2
import numpy as np
from helpers.traced_scenes import KINDS, PITCHES_MM, VARIANTS

import radlength.phantom
from radlength.imaging import Radiograph
from radlength.phantom import Camera, random_scene, simulate_marks
from radlength.phantom.chords import Tube
from radlength.phantom.detector import stored, toned
from radlength.phantom.render import render
from radlength.phantom.tools import SHAFT_MM, instrument_tube, tangents_at
from radlength.scale.ball import fit_ellipse

USUAL = (15, 0.02, "short cone")
"""The simulated instrument as it is: a cone of 0.15 mm at its tip."""
FORMS = ("short cone", "cone", "rounded")
BESIDE = (("wire", "ball"), ("rod", "ball"), ("wire", "ball"))
"""By turns: beaded wire, rod with collars, wire whose beads are as thick as itself: a plain one."""


@dataclass(frozen=True)
class Tool:
    """What a person knows of an instrument: size, taper and form of its point."""

    size: int
    taper: float
    form: str


def tool_of(seed):
    """Return the instrument of a scene: the usual one in half of them, any other in the rest."""
    rng = np.random.default_rng((78, seed))
    if rng.random() < 0.5:
        return Tool(*USUAL)
    size = int(rng.choice((8, 10, 15, 20, 25, 30, 40)))
    return Tool(size, float(rng.choice((0.02, 0.04, 0.06))), str(rng.choice(FORMS)))


def scene_of(seed):
    """Return a scene: kind by turns, pitch, instruments and references beside it by chance."""
    rng = np.random.default_rng((79, seed))
    kind, pitch = KINDS[seed % len(KINDS)], float(rng.choice(PITCHES_MM))
    count = 1 + int("molar" in kind and rng.random() < 0.4)
    beside = BESIDE[seed % 3 if seed % 2 else (seed // 2) % 3]
    shape = (round(35 / pitch), round(26 / pitch))
    scene = random_scene(seed, kind=kind, instruments=count, pitch_mm=pitch, shape_px=shape, shown=beside)
    tool = tool_of(seed)
    tools = tuple(replace(one, tip_mm=tool.size / 100, taper=tool.taper) for one in scene.instruments)
    wire = replace(scene.wire, mark_diameter_mm=scene.wire.diameter_mm) if plain_wire(seed) else scene.wire
    return replace(scene, instruments=tools, wire=wire)


def plain_wire(seed):
    """Return whether a scene's wire has no beads that show."""
    return (seed % 3 if seed % 2 else (seed // 2) % 3) == 2


def point_mm(form, radius_mm):
    """Return the length of a point and its half width in shares at (N, 2) [distance from tip, half width] nodes."""
    if form == "cone":
        length = radius_mm / np.tan(np.radians(37.5))
        return np.array([[0.0, 0.004], [length, radius_mm]])
    turn = np.linspace(0.03, np.pi / 2, 9)
    nodes = np.column_stack([radius_mm * (1 - np.cos(turn)), radius_mm * np.sin(turn)])
    return np.vstack([[0.0, 0.004], nodes])


def tube_with(form):
    """Return what draws an instrument with a form of its point."""
    if form == "short cone":
        return instrument_tube

    def tube(tool, canal, pieces=60):
        tip, half = tool.stop_to_tip_mm, tool.tip_mm / 2
        nodes = point_mm(form, half)
        nodes[-1, 1] = half + tool.taper / 2 * nodes[-1, 0]
        shaft = np.linspace(-SHAFT_MM, tip - nodes[-1, 0], pieces)
        s = np.concatenate([shaft, tip - nodes[-2::-1, 0]])
        radius = np.minimum(half + tool.taper / 2 * (tip - shaft), half + tool.taper * 8)
        return Tube(canal.at(s), tangents_at(canal, s), np.concatenate([radius, nodes[-2::-1, 1]]))

    return tube


def exposure_of(seed):
    """Return the exposure of a scene, rendered once and kept as Float16 (its grain is below the noise)."""
    kept = _folder() / f"{seed}.npy"
    if not kept.exists():
        part = kept.with_suffix(f".{os.getpid()}.npy")
        with mock.patch("radlength.phantom.tools.instrument_tube", tube_with(tool_of(seed).form)):
            np.save(part, render(scene_of(seed)).exposure.astype(np.float16))
        part.replace(kept)
    return np.load(kept).astype(np.float32)


@lru_cache
def _folder():
    """Return the folder for renders of this very renderer."""
    sources = [*sorted(Path(radlength.phantom.__file__).parent.glob("*.py")), Path(__file__)]
    digest = hashlib.sha256(b"".join(_geometry(source) for source in sources)).hexdigest()[:12]
    folder = Path(tempfile.gettempdir()) / f"radlength-object-scenes-{digest}"
    folder.mkdir(exist_ok=True)
    return folder


def _geometry(source):
    """Return what of a source says how a scene looks: of this file, all above the exposure."""
    text = source.read_bytes()
    return text.split(b"def exposure_of")[0] if source == Path(__file__) else text


def radiograph_of(seed, variant=None):
    """Return a scene's radiograph as one of `VARIANTS` would export it, by turns where none is named."""
    variant = variant or tuple(VARIANTS)[seed % len(VARIANTS)]
    detector = VARIANTS[variant]
    pixels = stored(toned(exposure_of(seed), detector), detector)
    if variant == "JPEG":
        quality = [cv2.IMWRITE_JPEG_QUALITY, 75]
        pixels = cv2.imdecode(cv2.imencode(".jpg", pixels, quality)[1], cv2.IMREAD_GRAYSCALE)
    pitch = scene_of(seed).view.pitch_mm
    return Radiograph.from_array(pixels, row_mm=pitch, column_mm=pitch)


def inverted(radiograph):
    """Return the image with bone dark, as some exports store it without saying so."""
    top = np.iinfo(radiograph.stored.dtype).max
    pitch = radiograph.scale.row_mm
    return Radiograph.from_array(top - radiograph.stored, row_mm=pitch, column_mm=pitch)


@dataclass(frozen=True)
class Truth:
    """Where things are on the image of a scene, pixels; what is not wholly on it is left out.

    Parameters
    ----------
    instruments
        By canal: points every 0.05 mm of an instrument from the stop's lower face to the tip, shape (N, 2).
    ball
        Ellipse of the ball's shadow, x as columns run, or None.
    beads_px, wire_ends_px, collars_px, rod_ends_px
        Points, shape (N, 2), or None where the scene does not show them.
    """

    instruments: dict
    ball: object
    beads_px: np.ndarray | None
    wire_ends_px: np.ndarray | None
    collars_px: np.ndarray | None
    rod_ends_px: np.ndarray | None


def truth_of(seed):
    """Return where things are on a scene's image."""
    scene = scene_of(seed)
    camera = Camera.of(scene.view)
    size, margin = np.array(scene.view.shape_px), 0.6 / scene.view.pitch_mm

    def inside(points):
        return points if points.min() > margin and (points < size - 1 - margin).all() else None

    tools = {}
    for tool in scene.instruments:
        way = np.linspace(0, tool.stop_to_tip_mm, round(tool.stop_to_tip_mm / 0.05) + 1)
        points = inside(camera.project(scene.canal(tool.canal).at(way)))
        if points is not None:
            tools[tool.canal] = points
    outline = inside(simulate_marks(scene).ball_px)
    beads, wire = _line(scene.wire.marks_mm, camera, inside)
    collars, rod = _line(scene.rod.marks_mm, camera, inside)
    return Truth(
        tools,
        None if outline is None else fit_ellipse(outline[:, ::-1]),
        beads if "wire" in scene.shown and not plain_wire(seed) else None,
        wire if "wire" in scene.shown else None,
        collars if "rod" in scene.shown else None,
        rod if "rod" in scene.shown else None,
    )


def _line(marks_mm, camera, inside):
    """Return marks and both ends of a straight reference, 1 mm beyond the marks."""
    way = (marks_mm[-1] - marks_mm[0]) / np.linalg.norm(marks_mm[-1] - marks_mm[0])
    return inside(camera.project(marks_mm)), inside(
        camera.project(np.array([marks_mm[0] - way, marks_mm[-1] + way]))
    )
