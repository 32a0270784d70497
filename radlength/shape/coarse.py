"""A first map between two images from features that look alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError
from radlength.shape.contrast import Even

FloatArray = NDArray[np.float64]
LONGEST_SIDE = 700
LEAST_MATCHES = 10
RATIO = 0.85
SMALLEST, LARGEST = 0.4, 2.5
"""Sizes of the second image over the first that are believed."""


def coarse_map(
    first: Even,
    second: Even,
    *,
    plane: bool,
    ignore: NDArray[np.bool_] | None,
    names: Sequence[str],
) -> FloatArray:
    """Return a map from (column, row, 1) of the first image to the second, shape (3, 3), good to a few pixels.

    Raises
    ------
    ImageError
        Too little in common.
    """
    zooms = [min(1.0, LONGEST_SIDE / max(image.shape)) for image in (first, second)]
    keys = [_features(image, zoom) for image, zoom in zip((first, second), zooms, strict=True)]
    places = _pairs(*keys)
    if ignore is not None and len(places[0]):
        at = np.clip(places[0].round().astype(int)[:, ::-1], 0, np.array(first.shape) - 1)
        kept = ~ignore[at[:, 0], at[:, 1]]
        places = places[0][kept], places[1][kept]
    matrix, inside = None, 0
    if len(places[0]) >= LEAST_MATCHES:
        cv2.setRNGSeed(7)
        method = cv2.RANSAC
        if plane:
            matrix, kept = cv2.findHomography(*places, method, 3.0, maxIters=5000)
        else:
            matrix, kept = cv2.estimateAffinePartial2D(
                *places, method=method, ransacReprojThreshold=3.0, maxIters=5000, confidence=0.999
            )
        inside = 0 if matrix is None else int(kept.sum())
    if matrix is None or inside < LEAST_MATCHES or not _likely(np.asarray(matrix, dtype=np.float64)):
        raise ImageError(
            f"{names[0]} and {names[1]} have {inside} places in common",
            f"{LEAST_MATCHES} or more: the same view of the same tooth",
            "check that the two belong together, and that neither is mirrored or inverted; nothing is compared",
            code="registration-nothing-in-common",
        )
    return np.vstack([matrix, [0, 0, 1]]) if len(matrix) == 2 else np.asarray(matrix / matrix[2, 2])


def _likely(matrix: FloatArray) -> bool:
    large, small = np.linalg.svd(matrix[:2, :2], compute_uv=False)
    return bool(small > SMALLEST and large < LARGEST and np.linalg.det(matrix[:2, :2]) > 0)


def _features(even: Even, zoom: float) -> tuple[FloatArray, Any]:
    """Return (column, row) places and descriptors; none of either where nothing stands out."""
    grey: Any = np.clip(even * 32 + 128, 0, 255).astype(np.uint8)
    if zoom < 1:
        grey = cv2.resize(grey, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    create: Any = vars(cv2)["SIFT_create"]  # the stubs do not know it
    keys, words = create(nfeatures=1500, contrastThreshold=0.01, sigma=1.6).detectAndCompute(grey, None)
    if not keys:
        return np.zeros((0, 2)), None
    places = np.array([key.pt for key in keys])
    size = np.array([even.shape[1] / grey.shape[1], even.shape[0] / grey.shape[0]])
    return (places + 0.5) * size - 0.5, words


def _pairs(one: tuple[FloatArray, Any], other: tuple[FloatArray, Any]) -> tuple[FloatArray, FloatArray]:
    """Return places whose descriptors are each other's best and clearly better than the second best."""
    if min(len(one[0]), len(other[0])) < 2:
        return np.zeros((0, 2)), np.zeros((0, 2))
    matcher = cv2.BFMatcher(cv2.NORM_L2)
    ahead = matcher.knnMatch(one[1], other[1], k=2)
    back = {m.queryIdx: m.trainIdx for m in matcher.match(other[1], one[1])}
    good = [
        (m.queryIdx, m.trainIdx)
        for m, n in ahead
        if m.distance < RATIO * n.distance and back[m.trainIdx] == m.queryIdx
    ]
    ours, theirs = ([pair[k] for pair in good] for k in (0, 1))
    return one[0][ours].reshape(-1, 2), other[0][theirs].reshape(-1, 2)
