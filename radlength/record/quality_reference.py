"""Quality that marked references tell: sharpness, sharpening, contrast at the tip, bending, size, agreement."""

from __future__ import annotations

import math

from radlength.geometry import fit_curve
from radlength.imaging import Radiograph
from radlength.imaging.quality import Measure
from radlength.imaging.quality.bent import bend
from radlength.imaging.quality.contrast import tip_contrast
from radlength.imaging.quality.sharpness import sharpness
from radlength.record.quality_scale import mean_mm_per_px
from radlength.record.record import Record
from radlength.scale import Reference

LEAST_PX = 200.0
"""A pixel at each end is then 0.7 % of the length (common practice, no source)."""
AGREE_PERCENT = 5.0
"""Between the scales of two references (common practice, no source)."""
AGREE_SOURCE = "one plane has one magnification (similar triangles); limit: common practice, no source"


def reference_measures(
    record: Record, reference: Reference, radiograph: Radiograph, *, straight: bool
) -> tuple[Measure, ...]:
    """Return what one marked reference tells.

    Parameters
    ----------
    record, radiograph
        The marks and the image.
    reference
        The reference.
    straight
        Whether it is straight in reality.
    """
    inside = reference.placement == "in_canal"
    scale = mean_mm_per_px(record, reference, radiograph)
    found = [reference_size(reference), *sharpness(radiograph, reference.path_px, scale, in_canal=inside)]
    if inside:
        found.append(tip_contrast(radiograph, reference.path_px))
    if straight:
        found.append(bend(radiograph, reference.path_px))
    return tuple(measure.about(reference.name or "reference") for measure in found)


def reference_size(reference: Reference) -> Measure:
    """Return how many pixels long a reference is."""
    length = fit_curve(reference.path_px).length
    return Measure(
        "reference_size",
        length,
        "px",
        "doubt" if length < LEAST_PX else "good",
        f"The reference is {length:.0f} px long; less than {LEAST_PX:g} px makes a click of one pixel count too much.",
        "click error over length; limit: common practice, no source",
        "Use a longer reference, or the image in its full size.",
    )


def scales_agree(record: Record, radiograph: Radiograph) -> tuple[Measure, ...]:
    """Return how far the scales of the marked references differ, nothing for fewer than two."""
    scales = {
        reference.name or f"reference {number}": scale
        for number, reference in enumerate(record.references, 1)
        if (scale := mean_mm_per_px(record, reference, radiograph)) is not None
    }
    if len(scales) < 2:
        return ()
    low, high = min(scales, key=lambda name: scales[name]), max(scales, key=lambda name: scales[name])
    differ = 100 * math.log(scales[high] / scales[low])
    return (
        Measure(
            "scales_differ",
            differ,
            "%",
            "doubt" if differ > AGREE_PERCENT else "good",
            f"The scales of {low} and {high} differ by {differ:.2g} %; more than {AGREE_PERCENT:g} % is a doubt: one "
            "is tilted, in another plane, or its length is wrong.",
            AGREE_SOURCE,
            "Use the reference in the canal; check the lengths.",
        ),
    )
