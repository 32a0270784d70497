r"""Points between the two conventions: pixel centres at whole numbers here, pixel corners at whole numbers there.

radlength: (row, column), centre of the top-left pixel at (0, 0). DICOM, SCOORD (PS3.3 C.18.6.1.1) and graphics in
PIXEL units (C.10.5): (column, row), top-left corner of the top-left pixel at 0\0, so that its centre is at 0.5\0.5.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.dicom.errors import DicomError
from radlength.geometry import Point

HALF = 0.5
"""From the corner of a pixel to its centre."""

DECIMALS = 3
"""Points come back to a thousandth of a pixel: graphic data are single precision, good for that up to 8191 pixels."""


def to_dicom(path_px: ArrayLike, shape: tuple[int, int]) -> NDArray[np.float32]:
    r"""Return points as DICOM counts them.

    Parameters
    ----------
    path_px
        (row, column) points, shape (N, 2).
    shape
        Rows and columns of the image.

    Returns
    -------
    numpy.ndarray
        (column, row) points, shape (N, 2), 0..columns and 0..rows.

    Raises
    ------
    DicomError
        A point that is not a number, or lies outside the image, or fewer than two of them.

    Examples
    --------
    >>> to_dicom([(0, 0), (9, 4)], (10, 5)).tolist()
    [[0.5, 0.5], [4.5, 9.5]]
    """
    points = np.asarray(path_px, dtype=np.float64).reshape(-1, 2)
    corner = points[:, ::-1] + HALF
    if len(points) < 2 or not np.isfinite(corner).all():
        raise DicomError("a path has no two points that are numbers", code="dicom-path")
    if (corner < 0).any() or (corner > (shape[1], shape[0])).any():
        raise DicomError(
            f"a path leaves the image ({shape[0]} x {shape[1]})",
            "points inside the image",
            "mark it again",
            code="dicom-path-outside",
        )
    return corner.astype(np.float32)


def from_dicom(graphic_data: ArrayLike) -> tuple[Point, ...]:
    r"""Return (row, column) points of graphic data, column\row\column\row, to a thousandth of a pixel.

    Raises
    ------
    DicomError
        Not pairs of numbers.

    Examples
    --------
    >>> from_dicom([0.5, 0.5, 462.6000061035156, 9.5])
    ((0.0, 0.0), (9.0, 462.1))
    """
    flat = np.atleast_1d(np.asarray(graphic_data, dtype=np.float64)).ravel()
    if flat.size == 0 or flat.size % 2 or not np.isfinite(flat).all():
        raise DicomError("the graphic data are not pairs of numbers", code="dicom-graphic")
    points = flat.reshape(-1, 2)[:, ::-1] - HALF
    return tuple((round(float(r), DECIMALS) + 0.0, round(float(c), DECIMALS) + 0.0) for r, c in points)
