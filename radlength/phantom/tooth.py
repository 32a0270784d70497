"""The outer shape of a tooth: roots that follow its canals, and a crown with cusps. Invented proportions.

Everything is told over one grid of heights y, so a slice of the tooth can be worked out at once. The "distance"
of a point is the usual signed one, near enough close to the surface: negative inside.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.curve import CanalCurve
from radlength.phantom.root import Root, distance_from, root_of, smooth_max, smooth_min, waves
from radlength.phantom.sizes import Sizes

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

FAR = np.float32(50.0)
_SHARES = (-1.0, 0.0, 0.12, 0.3, 0.6, 0.78, 0.95, 1.2)
_BULGES = (0.0, 0.0, 0.2, 0.55, 0.97, 1.0, 0.75, 0.3)


@dataclass(frozen=True, slots=True, eq=False)
class Tooth:
    """A tooth over a grid of heights.

    Parameters
    ----------
    y_mm
        Heights of the grid, shape (N, 1), Float32.
    roots
        Its roots.
    crown_x, crown_z, crown_a, crown_b
        Centre and half-widths of the crown at every height, shape (N, 1).
    neck_mm, top_mm
        Height of the neck at the middle, and of the highest cusp.
    sizes
        What it was made from.
    """

    y_mm: Image
    roots: tuple[Root, ...]
    crown_x: Image
    crown_z: Image
    crown_a: Image
    crown_b: Image
    neck_mm: float
    top_mm: float
    sizes: Sizes
    open_apex: bool = False


def tooth_of(
    canals: tuple[CanalCurve, ...],
    sizes: Sizes,
    y_mm: FloatArray,
    rng: np.random.Generator,
    *,
    open_apex: bool = False,
) -> Tooth:
    """Return the tooth round some canals.

    Parameters
    ----------
    canals
        Its canals; every root follows one, canals that lie close share a root.
    sizes
        Its measures.
    y_mm
        Heights of the grid, ascending, shape (N,).
    rng
        Source of small unevenness.
    open_apex
        Whether the root ends blunt, as before it is fully grown.
    """
    top = float(np.mean([canal.points_mm[0, 1] for canal in canals]))
    neck = top + sizes.crown
    wave = waves(y_mm, rng)
    span = (float(y_mm[0]) - 6, float(y_mm[-1]) + 6)
    roots = tuple(root_of(canal, sizes, span, neck, rng, open_apex=open_apex) for canal in canals)
    middle = np.mean([_along(canal, y_mm, neck) for canal in canals], axis=0)
    share = np.clip((neck - y_mm) / sizes.crown, -3, 1.2)
    bulge = _smooth(np.interp(share, _SHARES, _BULGES), 11)
    shrink = 1 - np.clip((y_mm - neck) / 14, 0, 1) * (0.45 if sizes.trunk else 0.95)
    a = (sizes.neck[0] + (sizes.widest[0] - sizes.neck[0]) * bulge) * shrink
    b = (sizes.neck[1] + (sizes.widest[1] - sizes.neck[1]) * bulge) * shrink
    return Tooth(
        y_mm=_column(y_mm),
        roots=roots,
        crown_x=_column(middle[:, 0]),
        crown_z=_column(middle[:, 1]),
        crown_a=_column(np.maximum(a + 0.05 * wave, 0.1)),
        crown_b=_column(b),
        neck_mm=neck,
        top_mm=top,
        sizes=sizes,
        open_apex=open_apex,
    )


def root_distance(tooth: Tooth, x: Image, z: float) -> Image:
    """Return the signed distance from the roots on a slice.

    Parameters
    ----------
    tooth
        The tooth.
    x
        (1, M) columns of the slice, millimetres.
    z
        Its depth, millimetres.
    """
    nearest = np.full((len(tooth.y_mm), x.shape[1]), FAR)
    for root in tooth.roots:
        nearest = smooth_min(nearest, distance_from(root, tooth.y_mm, x, np.float32(z)), 0.5)
    return np.asarray(nearest + np.float32(0.7) * np.maximum(np.float32(tooth.neck_mm + 1.0) - tooth.y_mm, 0))


def crown_distance(tooth: Tooth, x: Image, z: float) -> tuple[Image, Image, Image]:
    """Return signed distances on a slice: the crown, its dentine core, and a molar's trunk below it."""
    power = tooth.sizes.squareness
    dx = np.abs(x - tooth.crown_x) / tooth.crown_a
    dz = np.abs(np.float32(z) - tooth.crown_z) / tooth.crown_b
    lateral = ((dx**power + dz**power) ** np.float32(1 / power) - 1) * np.sqrt(tooth.crown_a * tooth.crown_b)
    over = occlusal_height(tooth, x, z) - tooth.y_mm
    line = np.float32(tooth.neck_mm) - np.float32(0.9) * (1 - np.minimum(dz, 1)) ** 2
    depth = np.clip((line - tooth.y_mm) / np.float32(tooth.sizes.crown * 0.6), 0, 1)
    enamel = np.float32(1.15) * depth ** np.float32(0.6)
    crown = smooth_max(smooth_max(lateral, over, 0.8), tooth.y_mm - np.float32(tooth.neck_mm + 2.5), 1.5)
    core = smooth_max(lateral + enamel, over + np.float32(1.7), 1.0)
    core = np.maximum(core, crown)
    trunk = _trunk(tooth, lateral, dx)
    return crown, core, trunk


def occlusal_height(tooth: Tooth, x: Image, z: float) -> Image:
    """Return the height of the chewing surface over (x, z), shape of x."""
    lowest = np.full(x.shape, FAR)
    centre_x = float(tooth.crown_x[np.searchsorted(tooth.y_mm[:, 0], tooth.top_mm)][0])
    for cusp_x, cusp_z, drop in tooth.sizes.cusps:
        away = np.hypot(x - np.float32(centre_x + cusp_x), np.float32(z - cusp_z))
        slope = np.float32(0.62) * (np.hypot(away, np.float32(0.7)) - np.float32(0.7))
        lowest = smooth_min(lowest, np.float32(tooth.top_mm + drop) + slope, 0.25)
    return lowest


def _trunk(tooth: Tooth, lateral: Image, dx: Image) -> Image:
    if not tooth.sizes.trunk:
        return np.full(lateral.shape, FAR)
    vault = np.float32(tooth.neck_mm + tooth.sizes.trunk) - tooth.y_mm
    arch = np.float32(2.6) * np.minimum(dx * 1.4, 1.2) ** 2
    floor = vault + arch
    above = np.maximum(np.float32(tooth.neck_mm + 1.0) - tooth.y_mm, 0)
    return np.asarray(smooth_max(lateral, -floor, 1.2) + np.float32(0.7) * above)


def _along(canal: CanalCurve, y_mm: FloatArray, neck: float) -> FloatArray:
    """Return (x, z) of the canal at every height, held from 2 mm past the neck on."""
    s = np.linspace(-12, canal.length_mm, 300)
    points = canal.at(s)
    held = np.minimum(y_mm, neck + 2.0)
    return np.column_stack([np.interp(held, points[:, 1], points[:, i]) for i in (0, 2)])


def _smooth(values: FloatArray, width: int) -> FloatArray:
    kernel = np.hanning(width + 2)[1:-1]
    padded = np.pad(values, width // 2, mode="edge")
    return np.asarray(np.convolve(padded, kernel / kernel.sum(), mode="valid"))


def _column(values: FloatArray) -> Image:
    return np.asarray(values, dtype=np.float32)[:, None]
