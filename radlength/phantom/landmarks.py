"""What else of the head falls on the film: cheek, sinus and cheek-bone above, the nerve's canal below.

Smooth shadows, made small and enlarged. They carry no length. On a second exposure each moves as a point at its usual
depth does: cheek and cheek-bone, nearer to the tube, more than the tooth.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.bone import band_noise
from radlength.phantom.scene import Kind

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

CHEEK_MM, BONE_MM = (0.0, 6.0, 15.0), (0.0, 8.0, 0.0)
"""World (x, y, z) of what is nearer to the tube, cheek and cheek-bone, and of what lies about the roots, sinus and
nerve."""

_ROWS, _COLUMNS = 175, 130


def cheek_mm(shape_px: tuple[int, int], rng: np.random.Generator, *, roots_up: bool) -> Image:
    """Return millimetres of cheek, tongue and lip: thick toward the apices, uneven, never flat.

    Parameters
    ----------
    shape_px
        Rows and columns of the image.
    rng
        Where the unevenness comes from.
    roots_up
        Whether the apices are at the top.
    """
    down, across = _plane(roots_up=roots_up)
    thick = 9.5 + 3.0 * down + 1.5 * rng.uniform(-1, 1) * across + rng.uniform(-1, 1) * down * across
    thick = thick + 0.45 * band_noise(_ROWS, _COLUMNS, 1.0, 75.0, rng)
    return _enlarged(thick, shape_px)


def bone_landmarks(
    kind: Kind, shape_px: tuple[int, int], rng: np.random.Generator, *, roots_up: bool
) -> tuple[Image, Image, Image]:
    """Return what to multiply bone by, and what to add to it in millimetres: about the roots, and near the tube.

    Parameters
    ----------
    kind
        Upper molars get sinus and cheek-bone, lower teeth the canal of the lower nerve.
    shape_px, rng, roots_up
        As in :func:`cheek_mm`.
    """
    down, across = _plane(roots_up=roots_up)
    wander = band_noise(1, _COLUMNS, 1.0, 60.0, rng)
    if kind == "upper_molar":
        floor = 0.50 + 0.07 * wander - 0.10 * across**2
        sinus = np.clip((down - floor) / 0.05, 0, 1)
        line = np.exp(-(((down - floor) / 0.018) ** 2))
        near = _enlarged(_cheek_bone(down, across, rng), shape_px)
        return _enlarged(1 - 0.45 * sinus, shape_px), _enlarged(0.55 * line, shape_px), near
    none = np.zeros(shape_px, np.float32)
    if roots_up:
        return none + 1, none, none
    upper = 0.86 + 0.05 * wander + 0.05 * across
    inside = np.clip((down - upper) / 0.03, 0, 1) * np.clip((upper + 0.16 - down) / 0.03, 0, 1)
    rims = np.exp(-(((down - upper) / 0.014) ** 2)) + np.exp(-(((down - upper - 0.16) / 0.014) ** 2))
    return _enlarged(1 - 0.22 * inside, shape_px), _enlarged(0.22 * rims, shape_px), none


def moved(image: Image, by_px: FloatArray) -> Image:
    """Return an image moved by (rows, columns), its border drawn out."""
    import cv2  # noqa: PLC0415

    if not np.any(by_px):
        return image
    turn = np.array([[1.0, 0.0, by_px[1]], [0.0, 1.0, by_px[0]]])
    size = (image.shape[1], image.shape[0])
    return np.asarray(cv2.warpAffine(image, turn, size, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)


def _cheek_bone(down: FloatArray, across: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return a U of dense bone with a paler inside, as the root of the cheek-bone shows over upper molars."""
    middle = rng.uniform(-0.45, -0.1)
    side = (across - middle) / rng.uniform(0.42, 0.52)
    edge = down - (0.42 + 0.55 * side**2)
    body = np.clip(edge / 0.12, 0, 1)
    rim = np.exp(-(((edge - 0.08) / 0.07) ** 2))
    return np.asarray(1.0 * body + 1.5 * rim)


def _plane(*, roots_up: bool) -> tuple[FloatArray, FloatArray]:
    down = np.linspace(-1, 1, _ROWS)[:, None]
    return (-down if roots_up else down), np.linspace(-1, 1, _COLUMNS)[None, :]


def _enlarged(field: FloatArray, shape_px: tuple[int, int]) -> Image:
    import cv2  # noqa: PLC0415

    whole = np.ascontiguousarray(np.broadcast_to(field, (_ROWS, _COLUMNS)), dtype=np.float32)
    return np.asarray(cv2.resize(whole, shape_px[::-1], interpolation=cv2.INTER_CUBIC), dtype=np.float32)
