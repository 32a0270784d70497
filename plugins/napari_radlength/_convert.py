"""Between marks of the session and data of layers. Pure: no Qt, napari for types only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from radlength.errors import MarkError
from radlength.geometry import fit_curve

if TYPE_CHECKING:
    from radlength.geometry import Point
    from radlength.imaging import Radiograph

IMAGE_KEY = "radlength_radiograph"
"""Metadata key under which an image layer carries its Radiograph."""

ROLE_KEY = "radlength_role"
"""Metadata key of the layers that show the session."""


def points_array(path_px: tuple[Point, ...]) -> NDArray[np.float64]:
    """Return marks as layer data, shape (N, 2), also where there are none."""
    return np.asarray(path_px, dtype=np.float64).reshape(-1, 2)


def curve_line(path_px: tuple[Point, ...], count: int = 200) -> NDArray[np.float64] | None:
    """Return the smooth curve through marks for drawing, or ``None`` while there is none."""
    try:
        return fit_curve(path_px).resample(count)
    except MarkError:
        return None


def image_layer(radiograph: Radiograph) -> tuple[NDArray[np.float32], dict[str, Any], str]:
    """Return layer data for a radiograph: grey for the eye, bright where radiopaque."""
    settings = {
        "name": radiograph.name,
        "colormap": "gray",
        "contrast_limits": (0.0, 1.0),
        "metadata": {IMAGE_KEY: radiograph},
    }
    return radiograph.display(), settings, "image"
