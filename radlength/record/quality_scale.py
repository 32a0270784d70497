"""Millimetres for a pixel, where quality needs them and a missing scale is no error."""

from __future__ import annotations

import math

from radlength.errors import ScaleError
from radlength.imaging import Radiograph
from radlength.record.measure import stated_radiograph
from radlength.record.record import Record
from radlength.scale import Reference, image_scale


def mm_per_px(
    record: Record | None, reference: Reference | None, radiograph: Radiograph, *, canal_name: str = ""
) -> tuple[float, float] | None:
    """Return millimetres in the tooth for a pixel (down, across), or ``None`` without any scale.

    Parameters
    ----------
    record
        For the pitch it may state.
    reference
        What gives the scale; ``None`` for the header.
    radiograph
        The image.
    canal_name
        The canal it is wanted for.
    """
    stated = radiograph if record is None else stated_radiograph(record, radiograph)
    try:
        return image_scale(reference, stated, canal_name=canal_name or (reference and reference.canal) or "")[
            0
        ]
    except ScaleError:
        return None


def mean_mm_per_px(
    record: Record | None, reference: Reference | None, radiograph: Radiograph, *, canal_name: str = ""
) -> float | None:
    """Return the geometric mean of both sides of a pixel in millimetres, or ``None`` without any scale."""
    sides = mm_per_px(record, reference, radiograph, canal_name=canal_name)
    return None if sides is None else math.sqrt(sides[0] * sides[1])
