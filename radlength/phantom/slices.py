"""Teeth and jaw cut into slices across the beam, and the slices laid over each other as the tube sees them.

A plane slice goes to the detector by a homography, so each is warped once and added.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.bone import Jaw, bone_density, soft_step
from radlength.phantom.projection import Camera
from radlength.phantom.root import smooth_min
from radlength.phantom.tooth import FAR, Tooth, crown_distance, root_distance

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

EDGE_MM = 0.12
"""Width of the ramp at a surface: keeps slices free of steps."""
CAVITY_EDGE_MM = 0.35
"""The same at the wall of a cavity."""


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The grid slices are made on: heights, columns and depths, millimetres."""

    y_mm: FloatArray
    x_mm: FloatArray
    z_mm: FloatArray

    @classmethod
    def over(cls, half_height_mm: float, half_width_mm: float, step_mm: float, step_z_mm: float) -> Grid:
        """Return a grid centred on the middle of the tooth."""
        return cls(
            np.arange(-half_height_mm, half_height_mm, step_mm),
            np.arange(-half_width_mm, half_width_mm, step_mm),
            np.arange(-7.0, 7.0 + step_z_mm / 2, step_z_mm),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Cavity:
    """An opening through the crown, or a pulp chamber: an upright rounded oval, millimetres.

    `flare` is how much wider it is at the top than half way, `boxy` the sharpness of its floor and roof.
    """

    x_mm: float
    z_mm: float
    half_x_mm: float
    half_z_mm: float
    top_mm: float
    bottom_mm: float
    flare: float = 0.0
    boxy: float = 3.0


def project_slices(
    grid: Grid,
    teeth: tuple[Tooth, ...],
    jaw: Jaw,
    cavities: tuple[Cavity, ...],
    camera: Camera,
    shape_px: tuple[int, int],
    shrink: int,
) -> Image:
    """Return the millimetres each ray runs through enamel, dentine, compact bone and soft tissue.

    Parameters
    ----------
    grid
        Where slices are made.
    teeth, jaw, cavities
        What is cut.
    camera
        The exposure.
    shape_px
        Rows and columns of the full image.
    shrink
        The result is made at every `shrink`-th pixel.

    Returns
    -------
    ndarray
        Float32, shape (rows / shrink, columns / shrink, 4), rounded up: the last ones may reach past the image.
    """
    import cv2  # noqa: PLC0415

    size = (-(-shape_px[1] // shrink), -(-shape_px[0] // shrink))
    total = np.zeros((size[1], size[0], 4), np.float32)
    for z in grid.z_mm:
        cut = cut_slice(grid, teeth, jaw, cavities, float(z))
        matrix = _homography(grid, float(z), camera, shrink)
        total += cv2.warpPerspective(
            cut, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
    total *= _run_mm(grid, camera, size, shrink)[..., None]
    return total


def cut_slice(
    grid: Grid, teeth: tuple[Tooth, ...], jaw: Jaw, cavities: tuple[Cavity, ...], z_mm: float
) -> Image:
    """Return the shares of enamel, dentine, compact bone and soft tissue on one slice, shape (N, M, 4)."""
    shape = (len(grid.y_mm), len(grid.x_mm))
    y = grid.y_mm.astype(np.float32)[:, None]
    roots, crowns = np.full(shape, FAR), np.full(shape, FAR)
    cut = np.zeros((*shape, 4), np.float32)
    for tooth in teeth:
        span = _span(tooth, grid.x_mm)
        x = grid.x_mm[span].astype(np.float32)[None, :]
        root = root_distance(tooth, x, z_mm)
        crown, core, trunk = crown_distance(tooth, x, z_mm)
        root = smooth_min(root, trunk, 1.6)
        whole = soft_step(-smooth_min(root, crown, 0.5), EDGE_MM)
        dentine = np.minimum(soft_step(-smooth_min(root, core, 0.5), EDGE_MM), whole)
        cut[:, span, 0] = np.maximum(cut[:, span, 0], whole - dentine)
        cut[:, span, 1] = np.maximum(cut[:, span, 1], dentine)
        roots[:, span] = np.minimum(roots[:, span], root)
        crowns[:, span] = np.minimum(crowns[:, span], crown)
    for cavity in cavities:
        rows, columns = _reach(cavity, grid, z_mm)
        cut[rows, columns, :2] *= 1 - _inside(cavity, grid.y_mm[rows], grid.x_mm[columns], z_mm)[..., None]
    cut[..., 2] = bone_density(jaw, y, z_mm, roots, crowns)
    gum = soft_step(y - jaw.crest_mm + np.float32(2.0), 3.0)
    hard = cut[..., 0] + cut[..., 1] + cut[..., 2]
    cut[..., 3] = np.maximum(gum - hard, 0)
    return cut


def _span(tooth: Tooth, x_mm: FloatArray) -> slice:
    reach = float(tooth.crown_a.max()) + 0.8
    low, high = float(tooth.crown_x.min()) - reach, float(tooth.crown_x.max()) + reach
    for root in tooth.roots:
        axis = root.axis[(root.past_tip < 1) & (root.half[:, 0] > 0), 0]
        low, high = min(low, float(axis.min()) - 3.2), max(high, float(axis.max()) + 3.2)
    return slice(int(np.searchsorted(x_mm, low)), int(np.searchsorted(x_mm, high)))


def _reach(cavity: Cavity, grid: Grid, z_mm: float) -> tuple[slice, slice]:
    """Return the rows and columns of a slice beyond which nothing is inside a cavity; none where it ends before."""
    size = (1 + 0.51 * CAVITY_EDGE_MM / min(cavity.half_x_mm, cavity.half_z_mm)) ** 2.5
    left2 = size**0.8 - ((z_mm - cavity.z_mm) / cavity.half_z_mm) ** 2
    if left2 <= 0:
        return slice(0, 0), slice(0, 0)
    middle, half = (cavity.top_mm + cavity.bottom_mm) / 2, (cavity.bottom_mm - cavity.top_mm) / 2
    high = half * size ** (1 / cavity.boxy)
    wide = cavity.half_x_mm * (1 + abs(cavity.flare)) * math.sqrt(left2)
    rows = np.searchsorted(grid.y_mm, [middle - high, middle + high])
    columns = np.searchsorted(grid.x_mm, [cavity.x_mm - wide, cavity.x_mm + wide])
    return slice(*map(int, rows)), slice(*map(int, columns))


def _inside(cavity: Cavity, y_mm: FloatArray, x_mm: FloatArray, z_mm: float) -> Image:
    middle, half = (cavity.top_mm + cavity.bottom_mm) / 2, (cavity.bottom_mm - cavity.top_mm) / 2
    dy = np.abs((y_mm - middle) / half)[:, None]
    wide = 1 + cavity.flare * np.clip((middle - y_mm) / half, -1, 1)[:, None]
    dx = (x_mm[None, :] - cavity.x_mm) / (cavity.half_x_mm * wide)
    dz = (z_mm - cavity.z_mm) / cavity.half_z_mm
    round_ = (np.sqrt(dx**2 + dz**2) ** 2.5 + dy**cavity.boxy) ** 0.4 - 1
    distance = (-round_ * min(cavity.half_x_mm, cavity.half_z_mm)).astype(np.float32)
    return soft_step(distance, CAVITY_EDGE_MM)


def _homography(grid: Grid, z_mm: float, camera: Camera, shrink: int) -> FloatArray:
    import cv2  # noqa: PLC0415

    rows, columns = len(grid.y_mm) - 1, len(grid.x_mm) - 1
    corners = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    world = [[grid.x_mm[int(c)], grid.y_mm[int(r)], z_mm] for c, r in corners]
    placed = camera.project(np.array(world))
    target = (placed[:, ::-1] - (shrink - 1) / 2) / shrink
    return np.asarray(cv2.getPerspectiveTransform(corners, target.astype(np.float32)))


def _run_mm(grid: Grid, camera: Camera, size: tuple[int, int], shrink: int) -> Image:
    """Return how far each ray runs between two slices."""
    rows, columns = np.mgrid[0 : size[1] : 8j, 0 : size[0] : 8j]
    rays = camera.pixel_mm(np.stack([rows, columns], axis=-1) * shrink) - camera.source_mm
    run = np.linalg.norm(rays, axis=-1) / np.abs(rays[..., 2]) * (grid.z_mm[1] - grid.z_mm[0])
    import cv2  # noqa: PLC0415

    return np.asarray(cv2.resize(run.astype(np.float32), size, interpolation=cv2.INTER_LINEAR))
