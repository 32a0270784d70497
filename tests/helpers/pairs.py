"""Two images of one view whose map is known: warped, exposed otherwise, noisy, and locally changed."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import cv2
import numpy as np
from scipy.ndimage import gaussian_filter, map_coordinates

ROOT = Path(__file__).parents[2]


@cache
def sources():
    """Grey images to warp: a simulated radiograph without its own noise, slices of a tooth, bone-like texture."""
    premolar = cv2.imread(str(ROOT / "radlength/demo/invented-premolar.png"), cv2.IMREAD_UNCHANGED)
    tooth = cv2.imread(str(ROOT / "fixtures/images/Tooth036.ExtractedSlices.png"), cv2.IMREAD_UNCHANGED)
    pictures = [p if p.ndim == 2 else p[..., 0] for p in (premolar, tooth)]
    pictures[0] = gaussian_filter(pictures[0].astype(float), 1.0)
    rng = np.random.default_rng(5)
    bone = sum(
        gaussian_filter(rng.standard_normal((900, 700)), s) * s * w for s, w in ((3, 1.0), (8, 1.2), (40, 3))
    )
    return [p / p.max() for p in pictures] + [(bone - bone.min()) / np.ptp(bone)]


def pair(seed, *, size=560):
    """Two images and the true map from (column, row, 1) of the first to the second, shape (3, 3).

    Turn up to 5 degrees, size 0.96 to 1.04, shift up to 25 pixels; gain, offset and gamma differ; 8 or 16 bit; noise
    of 0.3 to 1.5 % of full scale; a dark or bright band where a canal would be shaped.
    """
    rng = np.random.default_rng(seed)
    source = sources()[seed % 3]
    size = min(size, *(n - 80 for n in source.shape))
    room = np.array(source.shape) - size
    low = rng.uniform(0.2, 0.8, 2) * room
    matrix = similarity(size, *rng.uniform([-5, 0.96, -25, -25], [5, 1.04, 25, 25]))
    rows, columns = np.mgrid[:size, :size].astype(float)
    first = map_coordinates(source, [rows + low[0], columns + low[1]], order=5, mode="reflect")
    back = np.linalg.inv(matrix)
    xy = back @ np.stack([columns.ravel(), rows.ravel(), np.ones(size * size)])
    second = map_coordinates(source, [xy[1] + low[0], xy[0] + low[1]], order=5, mode="reflect").reshape(
        size, size
    )
    second = _changed(second, xy.reshape(3, size, size), size, rng)
    return _stored(first, rng), _stored(second, rng), matrix


def similarity(size, turn_deg, scale, across, down):
    """The map of a similarity around the middle of an image of this size."""
    turned = cv2.getRotationMatrix2D((size / 2, size / 2), turn_deg, scale)
    turned[:, 2] += (across, down)
    return np.vstack([turned, [0, 0, 1]])


def miss_px(found, matrix, size=560):
    """Root mean square distance between two maps over an image of this size, pixels of the second image."""
    grid = np.stack([g.ravel() for g in np.meshgrid(*[np.linspace(0, size - 1, 15)] * 2)] + [np.ones(225)])
    a, b = (m @ grid for m in (found, matrix))
    return float(np.sqrt(np.mean(np.sum((a[:2] / a[2] - b[:2] / b[2]) ** 2, axis=0))))


def _changed(image, xy, size, rng):
    """Lay a band over the middle third of the first image, as a canal that was filled or widened."""
    x, y = xy[0], xy[1]
    middle = size * rng.uniform(0.35, 0.65)
    wide = size * rng.uniform(0.01, 0.03)
    inside = (np.abs(x - middle) < wide * (1 - 0.6 * y / size)) & (y > 0.1 * size) & (y < 0.85 * size)
    return np.where(inside, np.clip(image + rng.choice([-0.4, 0.4]), 0, 1), image)


def _stored(image, rng):
    exposed = rng.uniform(0.55, 0.8) * np.clip(image, 0, 1) ** rng.uniform(0.8, 1.25) + rng.uniform(
        0.05, 0.15
    )
    noisy = np.clip(exposed + rng.normal(0, rng.uniform(0.003, 0.015), image.shape), 0, 1)
    return (
        np.rint(noisy * 255).astype(np.uint8)
        if rng.random() < 0.5
        else np.rint(noisy * 65535).astype(np.uint16)
    )
