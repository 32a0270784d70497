"""Length of every pixel's ray inside a round body: swept tubes and balls, exact.

A tube is a chain of cone pieces that meet in planes across the curve. Each piece is worked out only inside the
box of its own shadow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.phantom.projection import Camera
from radlength.phantom.scene import Ball

FloatArray = NDArray[np.float64]
Image = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A round body swept along a curve.

    Parameters
    ----------
    centres_mm, tangents
        World points and unit tangents of the axis, shape (N, 3).
    radii_mm
        Radius there, shape (N,).
    stretch
        How much longer along z the body is than a round tube; its sections are ovals.
    """

    centres_mm: FloatArray
    tangents: FloatArray
    radii_mm: FloatArray
    stretch: float = 1.0


def straight_tube(start_mm: ArrayLike, end_mm: ArrayLike, radius_mm: float, end_radius_mm: float) -> Tube:
    """Return a straight cone or rod between two points."""
    ends = np.array([start_mm, end_mm], dtype=np.float64)
    along = ends[1] - ends[0]
    along /= np.linalg.norm(along)
    return Tube(ends, np.array([along, along]), np.array([radius_mm, end_radius_mm]))


def add_tube(image: Image, tube: Tube, camera: Camera) -> None:
    """Add the millimetres every ray runs inside a tube to an image.

    Parameters
    ----------
    image
        Float32 of the view's shape, changed in place.
    tube
        The body.
    camera
        The exposure.
    """
    scale = np.array([1.0, 1.0, 1.0 / tube.stretch])
    for at in range(len(tube.centres_mm) - 1):
        box = _box(tube, at, camera, image.shape)
        if box is None:
            continue
        rows, columns = box
        rays = _rays(camera, rows, columns)
        t_mm = _piece(tube, at, camera.source_mm * scale, rays * scale, scale)
        image[rows, columns] += (t_mm * np.sqrt(np.einsum("ijk,ijk->ij", rays, rays))).astype(np.float32)


def add_ball(image: Image, ball: Ball, camera: Camera) -> None:
    """Add the millimetres every ray runs inside a ball to an image, in place."""
    radius = ball.diameter_mm / 2
    around = ball.centre_mm + radius * 1.2 * _corners()
    box = _clip(camera.project(around), image.shape, 2)
    if box is None:
        return
    rows, columns = box
    rays = _rays(camera, rows, columns)
    offset = camera.source_mm - ball.centre_mm
    length = np.einsum("ijk,ijk->ij", rays, rays)
    along = rays @ offset
    inside = along * along - length * (offset @ offset - radius * radius)
    image[rows, columns] += (2 * np.sqrt(np.maximum(inside, 0) / length)).astype(np.float32)


def _corners() -> FloatArray:
    return np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])


def _box(tube: Tube, at: int, camera: Camera, shape: tuple[int, ...]) -> tuple[slice, slice] | None:
    reach = float(tube.radii_mm[at : at + 2].max())
    size = np.array([reach, reach, reach * tube.stretch])
    ends = tube.centres_mm[at : at + 2]
    return _clip(camera.project((ends[:, None, :] + size * _corners()).reshape(-1, 3)), shape, 1)


def _clip(points_px: FloatArray, shape: tuple[int, ...], margin: int) -> tuple[slice, slice] | None:
    low = np.floor(points_px.min(axis=0)).astype(int) - margin
    high = np.ceil(points_px.max(axis=0)).astype(int) + margin + 1
    r0, c0 = max(low[0], 0), max(low[1], 0)
    r1, c1 = min(high[0], shape[0]), min(high[1], shape[1])
    return (slice(r0, r1), slice(c0, c1)) if r0 < r1 and c0 < c1 else None


def _rays(camera: Camera, rows: slice, columns: slice) -> FloatArray:
    r = (np.arange(rows.start, rows.stop) - camera.origin_px[0]) * camera.pitch_mm
    c = (np.arange(columns.start, columns.stop) - camera.origin_px[1]) * camera.pitch_mm
    start = camera.detector_mm - camera.source_mm
    return np.asarray(start + r[:, None, None] * camera.row_axis + c[None, :, None] * camera.column_axis)


def _piece(tube: Tube, at: int, source: FloatArray, rays: FloatArray, scale: FloatArray) -> FloatArray:
    """Return the ray parameter spent inside one cone piece (quadratic of a ray and a cone), 0 outside."""
    base, top = tube.centres_mm[at] * scale, tube.centres_mm[at + 1] * scale
    axis = top - base
    height = float(np.linalg.norm(axis))
    axis = axis / height
    r0, r1 = float(tube.radii_mm[at]), float(tube.radii_mm[at + 1])
    slope = (r1 - r0) / height
    offset = source - base
    ray_up, off_up = rays @ axis, float(offset @ axis)
    square = np.einsum("ijk,ijk->ij", rays, rays)
    grow = 1 + slope * slope
    a = square - grow * ray_up * ray_up
    b = rays @ offset - grow * off_up * ray_up - slope * r0 * ray_up
    c = float(offset @ offset) - grow * off_up * off_up - 2 * slope * r0 * off_up - r0 * r0
    start, end = _slab(tube, at, source, rays, scale)
    return _overlap(a, b, c, start, end)


def _slab(
    tube: Tube, at: int, source: FloatArray, rays: FloatArray, scale: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return where a ray enters and leaves the slab between a piece's two end planes."""
    start, end = np.full(rays.shape[:2], -math.inf), np.full(rays.shape[:2], math.inf)
    for station, side in ((at, 1.0), (at + 1, -1.0)):
        normal = tube.tangents[station] * scale * side
        rate, ahead = rays @ normal, float((source - tube.centres_mm[station] * scale) @ normal)
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = -ahead / rate
        start = np.where(rate > 0, np.maximum(start, crossing), start)
        end = np.where(rate < 0, np.minimum(end, crossing), end)
        if ahead < 0:
            end = np.where(rate == 0, -math.inf, end)
    return start, end


def _overlap(a: FloatArray, b: FloatArray, c: float, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return how much of start..end has ``a t^2 + 2 b t + c < 0``; a ray steeper than the cone has a < 0."""
    a = np.where(np.abs(a) < 1e-9, 1e-9, a)
    square = b * b - a * c
    root = np.sqrt(np.maximum(square, 0)) / np.abs(a)
    low, high = -b / a - root, -b / a + root
    length = np.maximum(np.minimum(end, high) - np.maximum(start, low), 0)
    steep = a < 0
    if steep.any():
        whole = np.maximum(end - start, 0)
        length = np.where(steep, whole - np.where(square > 0, length, 0), length)
    return np.where((square > 0) | steep, length, 0.0)
