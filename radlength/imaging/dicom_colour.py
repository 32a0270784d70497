"""DICOM files that store grey three times, as red, green and blue: read where, and only where, the three are equal.

Source: PS3.3 C.7.6.3.1.2 (Photometric Interpretation). A picture of an image, as secondary captures are, is often so.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.radiograph import Grey

COLOURS = ("RGB", "YBR_FULL", "YBR_FULL_422", "YBR_ICT", "YBR_RCT")
"""Interpretations of three samples a pixel that decoders give back as red, green and blue."""

GREY_IN_COLOUR = Finding(
    "image-grey-in-colour",
    "The file stores the picture as red, green and blue; the three are equal in every pixel, and one of them was read.",
    "Use the image as the detector delivered it, in grey: nothing tells what became of its values on the way.",
    "note",
)


def is_colour(dataset: Any) -> bool:
    """Tell whether a header speaks of three samples a pixel."""
    return dataset.get("SamplesPerPixel") == 3 and dataset.get("PhotometricInterpretation") in COLOURS


def samples_a_pixel(dataset: Any) -> int:
    """Return how many samples a pixel has: one, or three where :func:`is_colour` holds."""
    return 3 if is_colour(dataset) else 1


def one_of_three(pixels: Any, name: str) -> Grey:
    """Return one of three equal channels, shape (rows, columns).

    Parameters
    ----------
    pixels
        Red, green and blue, shape (rows, columns, 3).
    name
        File name for the refusal.

    Raises
    ------
    ImageError
        They differ: no weights of theirs are the values of a detector.
    """
    red, green, blue = np.moveaxis(pixels, -1, 0)
    differ = (red != green) | (red != blue)
    if differ.any():
        share = f"{100 * float(differ.mean()):.2g} % of its pixels have colour"
        raise ImageError(
            f"{name} is not one grey image ({share})",
            "grey values, or red, green and blue that are equal in every pixel; export it in grey, or as PNG",
            code="dicom-not-grey",
        )
    return np.ascontiguousarray(red)
