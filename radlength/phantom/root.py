"""A root that follows its canal, and how far a point is from its surface.

The "distance" is the usual signed one, near enough close to the surface: negative inside.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.curve import CanalCurve
from radlength.phantom.sizes import Sizes

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

TABLE_MM = 0.02
"""Step of the tables roots are told over."""


@dataclass(frozen=True, slots=True, eq=False)
class Root:
    """A root told over a fine table of heights, one row a height, Float32.

    Parameters
    ----------
    first_mm
        Height of the first row; rows are :data:`TABLE_MM` apart.
    axis
        (x, z) of the axis, shape (N, 2).
    tangent
        Unit tangent (x, y, z) of the axis, shape (N, 3).
    half
        Half-widths (x, z) across the axis, shape (N, 2).
    past_tip
        Millimetres past the tip, 0 before it, shape (N,).
    """

    first_mm: float
    axis: Image
    tangent: Image
    half: Image
    past_tip: Image


def root_of(
    canal: CanalCurve,
    sizes: Sizes,
    span_mm: tuple[float, float],
    neck: float,
    rng: np.random.Generator,
    *,
    open_apex: bool,
) -> Root:
    """Return the root round a canal.

    Parameters
    ----------
    canal
        The canal in its middle; the root ends where the canal does.
    sizes
        Measures of the tooth.
    span_mm
        First and last height of the table.
    neck
        Height of the tooth's neck.
    rng
        Source of small unevenness.
    open_apex
        Whether it ends blunt.
    """
    table = np.arange(span_mm[0], span_mm[1], TABLE_MM)
    s = np.linspace(-15, canal.length_mm + 15, 1200)
    points = canal.at(s)
    place = np.interp(table, points[:, 1], s)
    start = float(np.interp(neck, points[:, 1], s)) + 0.6 * sizes.trunk
    from_tip = canal.length_mm - place
    left = np.clip(from_tip / (canal.length_mm - start), 0, 1.3)
    if open_apex:
        rounded = np.where(from_tip > 0, 0.62 + 0.38 * np.sqrt(np.clip(from_tip / 1.5, 0, 1)), 0.0)
        ends = [(side, 0.72 * side) for side in sizes.root]
    else:
        rounded = np.clip(1 - (1 - np.minimum(from_tip / 2.2, 1)) ** 2, 0, 1) ** 0.75
        ends = list(zip(sizes.root, sizes.tip, strict=True))
    wave = 0.03 * waves(table, rng)
    half = [np.maximum((tip + (base - tip) * left**0.85 + wave) * rounded, 0.02) for base, tip in ends]
    way = canal.at(place + 0.02) - canal.at(place - 0.02)
    way /= np.linalg.norm(way, axis=1)[:, None]
    return Root(
        first_mm=float(span_mm[0]),
        axis=canal.at(place)[:, [0, 2]].astype(np.float32),
        tangent=way.astype(np.float32),
        half=np.column_stack(half).astype(np.float32),
        past_tip=np.maximum(-from_tip, 0).astype(np.float32),
    )


def distance_from(root: Root, y: Image, x: Image, z: np.float32) -> Image:
    """Return the distance from one root: first the axis at the point's own height, then at its foot on the axis."""
    row = _row(root, y[:, 0])
    axis, tangent = root.axis[row], root.tangent[row]
    ahead = (x - axis[:, :1]) * tangent[:, :1] + ((z - axis[:, 1]) * tangent[:, 2])[:, None]
    height = np.asarray(y + ahead * tangent[:, 1:2], dtype=np.float32)
    foot = _row(root, height)
    tx, ty, tz = (root.tangent[:, i].take(foot) for i in range(3))
    a, b = root.half[:, 0].take(foot), root.half[:, 1].take(foot)
    dy = y - (np.float32(root.first_mm) + foot.astype(np.float32) * np.float32(TABLE_MM))
    across = (x - root.axis[:, 0].take(foot)) * ty - dy * tx
    deep = (z - root.axis[:, 1].take(foot)) * ty - dy * tz
    oval = np.sqrt((across / a) ** 2 + (deep / b) ** 2)
    side = (oval - 1) * np.sqrt(a * b)
    past = root.past_tip.take(foot)
    return np.asarray(np.where(past > 0, np.hypot(oval * np.sqrt(a * b), past), side), dtype=np.float32)


def _row(root: Root, height: Image) -> NDArray[np.intp]:
    place = (height - np.float32(root.first_mm)) * np.float32(1 / TABLE_MM) + np.float32(0.5)
    return np.asarray(np.clip(place, 0, len(root.axis) - 1), dtype=np.intp)


def waves(y_mm: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return a sum of four slow waves over heights, amplitude about 2."""
    phase, length = rng.uniform(0, 2 * np.pi, 4), rng.uniform(3, 9, 4)
    waves = [np.sin(2 * np.pi * y_mm / w + p) for w, p in zip(length, phase, strict=True)]
    return np.asarray(np.sum(waves, axis=0))


def smooth_min(p: Image, q: Image, width: float) -> Image:
    """Return the smaller of two distances, rounded where they meet within `width`."""
    blend = np.maximum(np.float32(width) - np.abs(p - q), 0)
    return np.asarray(np.minimum(p, q) - blend * blend * np.float32(0.25 / width), dtype=np.float32)


def smooth_max(p: Image, q: Image, width: float) -> Image:
    """Return the larger of two distances, rounded where they meet within `width`."""
    return -smooth_min(-p, -q, width)
