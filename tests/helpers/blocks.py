"""Photographs of an invented training block before and after shaping, with transportation planted where it is known."""

from __future__ import annotations

import json
from functools import lru_cache

import cv2
import numpy as np
from helpers.bends import bent
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.special import erf

from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.scale import Reference
from radlength.shape.compare import Side

MM = 0.025
"""Size of a pixel of the first photograph, millimetres."""

SHAPE = (820, 520)
FROM_MM = np.array([1.6, 5.0])
"""Where the canal begins."""

BLUR_MM = 0.04


def centre_line(count=2000):
    """The canal of the block, (row, column) millimetres: 16.5 mm, a bend of 35 degrees."""
    return bent(10.0, 8.0, 35.0, 1.6, count) + FROM_MM


def half_widths(at_mm, planted_mm):
    """Half widths by distance from the apical end: before, left after, right after; planted is the T of Gambill."""
    before = (0.15 + 0.02 * at_mm) / 2
    after = np.maximum((0.30 + 0.05 * at_mm) / 2, before)
    shift = np.vectorize(planted_mm)(at_mm) / 2 if callable(planted_mm) else planted_mm / 2
    return before, after + shift, after - shift


def photographs(
    seed, *, planted_mm=0.15, turn_deg=2.0, scale=1.02, shift_px=(9.3, -6.7), lean=0.0, bits=8, noise=0.01
):
    """Two photographs and the map from (column, row, 1) of the first to the second.

    Parameters
    ----------
    lean
        How much the camera leans at the second photograph: perspective over the picture's width.
    """
    rng = np.random.default_rng(seed)
    middle = np.array(SHAPE)[::-1] / 2
    turned = np.vstack([cv2.getRotationMatrix2D(tuple(middle), turn_deg, scale), [0, 0, 1]])
    turned[:2, 2] += shift_px
    matrix = np.array([[1, 0, 0], [0, 1, 0], [lean / SHAPE[1], 0, 1]]) @ turned
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]].astype(float)
    xy = np.linalg.inv(matrix) @ np.stack([columns.ravel(), rows.ravel(), np.ones(columns.size)])
    xy = (xy[:2] / xy[2]).reshape(2, *SHAPE)
    before = _block(seed, rows, columns, *[half_widths(_S, 0.0)[0]] * 2)
    _, left, right = half_widths(_S, planted_mm)
    after = _block(seed, xy[1], xy[0], left, right)
    return _stored(before, 1.0, noise, bits, rng), _stored(after, 0.9, noise, bits, rng), matrix


def marks(matrix, rng=None, *, sd_mm=0.1, count=12):
    """A person's paths along the canal on both photographs, (row, column) pixels."""
    paths = []
    for size in (np.eye(3), matrix):
        points = centre_line(count)
        if rng is not None:
            points = points + rng.normal(0, sd_mm, points.shape)
        homogeneous = size @ np.stack([points[:, 1] / MM, points[:, 0] / MM, np.ones(count)])
        paths.append((homogeneous[:2] / homogeneous[2]).T[:, ::-1])
    return paths


def sides(seed, **more):
    """Both sides of a comparison, and the true map."""
    first, second, matrix = photographs(seed, **more)
    paths = marks(matrix)
    both = [
        Side(Radiograph.from_array(image, name=name), Canal("46", "MB", [tuple(p) for p in path]))
        for image, name, path in zip((first, second), ("before.tif", "after.tif"), paths, strict=True)
    ]
    return both, matrix


def ruler():
    """A reference beside the canal on the first photograph: 10 mm."""
    return Reference(
        path_px=[(100, 30), (100 + 10 / MM, 30)],
        length_mm=10.0,
        limit_mm=0.02,
        placement="beside",
        name="ruler",
    )


def write_block(folder, seed, **more):
    """Write both photographs and their marks files: paths of images and of marks."""
    first, second, matrix = photographs(seed, **more)
    images, files = [], []
    for name, image, path in zip(("before", "after"), (first, second), marks(matrix), strict=True):
        images.append(folder / f"{name}.png")
        images[-1].write_bytes(cv2.imencode(".png", image)[1].tobytes())
        files.append(folder / f"{name}.marks.json")
        reference = ruler()
        document = {
            "format": "radlength-marks",
            "version": 1,
            "invented": True,
            "references": [
                {
                    "name": "ruler",
                    "path_px": [list(p) for p in reference.path_px],
                    "length_mm": 10.0,
                    "limit_mm": 0.02,
                    "placement": "beside",
                }
            ],
            "canals": [{"tooth": "46", "name": "MB", "path_px": path.tolist(), "reference": "ruler"}],
        }
        files[-1].write_text(json.dumps(document))
    return images, files, matrix


_LINE = centre_line()
_ALONG = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(_LINE, axis=0).T))])
_S = _ALONG[-1] - _ALONG


def _block(seed, rows, columns, left, right):
    """Grey 0..1 of the block at places of the first photograph, the canal dyed dark."""
    grey = 0.72 + 0.1 * map_coordinates(_texture(seed), [rows + 150, columns + 150], order=3, mode="reflect")
    grey += 0.08 * (rows / SHAPE[0] - 0.5)
    across, number = _across(rows * MM, columns * MM)
    soft = BLUR_MM * np.sqrt(2)
    inside = 0.5 * (erf((across + right[number]) / soft) - erf((across - left[number]) / soft))
    return grey * (1 - 0.6 * inside)


def _across(rows, columns):
    """Signed distance to the left of the canal, and the nearest place of its line, for every pixel."""
    from scipy.spatial import cKDTree

    _, number = cKDTree(_LINE).query(np.stack([rows.ravel(), columns.ravel()], axis=1))
    ahead = np.gradient(_LINE, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    away = np.stack([rows.ravel(), columns.ravel()], axis=1) - _LINE[number]
    beyond = np.abs(np.einsum("ni,ni->n", away, ahead[number])) > 0.05
    left = -away[:, 0] * ahead[number, 1] + away[:, 1] * ahead[number, 0]
    return np.where(beyond, 9.0, left).reshape(rows.shape), number.reshape(rows.shape)


@lru_cache(maxsize=4)
def _texture(seed):
    """Scratches, specks and bubbles of a resin block, standard deviation 1 or so."""
    rng = np.random.default_rng(seed + 1000)
    shape = (SHAPE[0] + 300, SHAPE[1] + 300)
    cloud = gaussian_filter(rng.standard_normal(shape), 4)
    image = cloud / cloud.std() * 0.25
    for _ in range(60):
        ends = rng.uniform([0, 0, 0, 0], [shape[1], shape[0], shape[1], shape[0]])
        end = ends[:2] + (ends[2:] - ends[:2]) * rng.uniform(0.05, 0.3)
        places = [tuple(place.astype(int).tolist()) for place in (ends[:2], end)]
        cv2.line(image, *places, float(rng.choice([-2, 2])), 2)
    for _ in range(120):
        centre = rng.uniform([0, 0], shape[::-1]).astype(int).tolist()
        cv2.circle(image, tuple(centre), int(rng.integers(2, 6)), float(rng.choice([-2, 2.5])), -1)
    return gaussian_filter(image, 1.2)


def _stored(image, gain, noise, bits, rng):
    top = 2**bits - 1
    values = np.rint(np.clip(gain * image + rng.normal(0, noise, image.shape), 0, 1) * top)
    return values.astype(np.uint8 if bits == 8 else np.uint16)
