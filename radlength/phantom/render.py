"""A scene as a radiograph: path lengths through every material, the beam they let pass, and the detector.

The one place that knows the order of the steps. Where things stand is told by the scene, never here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.anatomy import anatomy_of
from radlength.phantom.bone import jaw_of
from radlength.phantom.chords import Tube, add_tube
from radlength.phantom.detector import Detector, Stored, exposed, stored, toned
from radlength.phantom.landmarks import BONE_MM, CHEEK_MM, bone_landmarks, cheek_mm, moved
from radlength.phantom.materials import (
    BONE,
    DENTINE,
    ENAMEL,
    FILLING,
    RUBBER,
    SOFT,
    STEEL,
    Material,
    transmission,
)
from radlength.phantom.projection import Camera, View, unsharpness_mm
from radlength.phantom.scene import Scene
from radlength.phantom.slices import Grid, project_slices
from radlength.phantom.tools import rubber_mm, steel_mm

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

SHRINK = 2
"""Teeth and bone, which are smooth, are made at every second pixel."""


@dataclass(frozen=True, slots=True, eq=False)
class Rendering:
    """A simulated radiograph.

    Parameters
    ----------
    pixels
        Stored values, uint8 or uint16.
    scene, view, detector
        What it shows, and how it was taken.
    exposure
        Share of the open beam at every pixel, Float32: the image before tone and bits.
    """

    pixels: Stored
    scene: Scene
    view: View
    detector: Detector
    exposure: Image


def render(scene: Scene, view: View | None = None, detector: Detector | None = None) -> Rendering:
    """Return the radiograph of a scene.

    Parameters
    ----------
    scene
        What stands before the film.
    view
        The exposure; ``None`` for the scene's own.
    detector
        What the detector does; ``None`` for the usual one.

    Notes
    -----
    Same scene, view and detector: same pixels. Another view of the same scene shows the same teeth and bone.
    """
    view, detector = view or scene.view, detector or Detector()
    camera = Camera.of(view)
    paths = material_paths(scene, camera, view.shape_px)
    sod = float(np.linalg.norm(camera.source_mm))
    oid = float(np.linalg.norm(camera.detector_mm))
    noise = np.random.default_rng((scene.seed, 2, round(1000 * view.horizontal_deg) & 0xFFFF))
    blur = unsharpness_mm(detector.focal_spot_mm, oid, sod)
    exposure = exposed(transmission(paths), detector, blur, view.pitch_mm, noise)
    return Rendering(stored(toned(exposure, detector), detector), scene, view, detector, exposure)


def material_paths(scene: Scene, camera: Camera, shape_px: tuple[int, int]) -> dict[Material, Image]:
    """Return the millimetres of every material in every ray, Float32 of the image's shape."""
    import cv2  # noqa: PLC0415

    rng = np.random.default_rng((scene.seed, 1))
    grid = _grid(scene)
    anatomy = anatomy_of(scene, grid.y_mm, rng)
    jaw = jaw_of(anatomy.teeth, grid.y_mm, grid.x_mm, rng)
    hard = project_slices(grid, anatomy.teeth, jaw, anatomy.cavities, camera, shape_px, SHRINK)
    size = (SHRINK * hard.shape[1], SHRINK * hard.shape[0])
    full = cv2.resize(hard, size, interpolation=cv2.INTER_CUBIC)[: shape_px[0], : shape_px[1]]
    enamel, dentine, bone, soft = (np.ascontiguousarray(np.maximum(full[..., i], 0)) for i in range(4))
    pulp = np.minimum(_tubes_mm(anatomy.pulps, camera, shape_px), dentine)
    roots_up = scene.view.roots_up
    near, far = (_moves(point, scene, camera) for point in (CHEEK_MM, BONE_MM))
    soft += moved(cheek_mm(shape_px, rng, roots_up=roots_up), near)
    share, more, cheek_bone = bone_landmarks(scene.kind, shape_px, rng, roots_up=roots_up)
    bone = bone * moved(share, far) + (moved(more, far) + moved(cheek_bone, near))
    return {
        ENAMEL: enamel,
        DENTINE: dentine - pulp,
        BONE: bone,
        SOFT: soft + pulp,
        STEEL: steel_mm(scene, camera, shape_px),
        FILLING: _tubes_mm(anatomy.fillings, camera, shape_px),
        RUBBER: rubber_mm(scene, camera, shape_px),
    }


def _moves(point_mm: tuple[float, float, float], scene: Scene, camera: Camera) -> FloatArray:
    """Return how far a point moves on the image against the scene's own exposure, (rows, columns)."""
    point = np.array(point_mm)
    return np.asarray(camera.project(point) - Camera.of(scene.view).project(point))


def _grid(scene: Scene) -> Grid:
    rows, columns = scene.view.shape_px
    pitch = scene.view.pitch_mm
    return Grid.over(rows * pitch * 0.5 + 3.0, columns * pitch * 0.5 + 4.0, 0.1, 0.25)


def _tubes_mm(tubes: tuple[Tube, ...], camera: Camera, shape_px: tuple[int, int]) -> Image:
    image = np.zeros(shape_px, np.float32)
    for tube in tubes:
        add_tube(image, tube, camera)
    return image
