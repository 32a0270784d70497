"""Quality around a marked canal: apex and reference point in the field, grey around the apex, magnification."""

from __future__ import annotations

import numpy as np

from radlength.errors import RadlengthError
from radlength.geometry import Point
from radlength.imaging import Radiograph
from radlength.imaging.quality import Measure, not_measured
from radlength.imaging.quality.blank import BlankBorder, distance_to_blank
from radlength.imaging.quality.clipping import clipping_near
from radlength.record.measure import measure_entry
from radlength.record.models import CanalEntry
from radlength.record.quality_scale import mm_per_px
from radlength.record.record import Record
from radlength.trade import magnification_prior

APEX_LEAST_MM, APEX_BETTER_MM = 2.0, 3.0
APEX_SOURCE = (
    "at least 2 to 3 mm of the periapical region: European Society of Endodontology 2006, Int Endod J 39:921-930 "
    "(values from memory)"
)
POINT_LEAST_MM = 0.5
POINT_SOURCE = "the whole tooth with its reference point; margin of 0.5 mm: common practice, no source"
_AROUND_MM = 1.0
_AROUND_PX = 40.0


def canal_measures(
    record: Record, entry: CanalEntry, radiograph: Radiograph, blank: BlankBorder | None
) -> tuple[Measure, ...]:
    """Return what can be said around one marked canal; `blank` is the blank border of the image, if any."""
    reference = record.reference_of(entry)
    scale = mm_per_px(record, reference, radiograph, canal_name=entry.canal.label)
    first, last = entry.canal.path_px[0], entry.canal.path_px[-1]
    radius = _AROUND_PX if scale is None else _AROUND_MM / float(np.sqrt(scale[0] * scale[1]))
    found = (
        apex_in_field(radiograph, last, scale, blank),
        point_in_field(radiograph, first, scale, blank),
        clipping_near(radiograph, last, radius),
        magnification(record, entry, radiograph),
    )
    return tuple(measure.about(entry.canal.label) for measure in found)


def room_mm(
    radiograph: Radiograph, point_px: Point, scale: tuple[float, float], blank: BlankBorder | None
) -> float:
    """Return the distance from a point to the nearest end of the exposed field, in millimetres.

    Parameters
    ----------
    radiograph
        The image.
    point_px
        (row, column).
    scale
        Millimetres for a pixel, (down, across).
    blank
        Blank region, which counts as outside the field.

    Returns
    -------
    float
        Negative outside the image.
    """
    rows, columns = radiograph.shape
    row, column = point_px
    edges = min((row + 0.5) * scale[0], (rows - 0.5 - row) * scale[0])
    sides = min((column + 0.5) * scale[1], (columns - 0.5 - column) * scale[1])
    return min(edges, sides, distance_to_blank(blank, point_px) * min(scale))


def apex_in_field(
    radiograph: Radiograph, apex_px: Point, scale: tuple[float, float] | None, blank: BlankBorder | None
) -> Measure:
    """Return how much of the field lies around the apex in every direction."""
    if scale is None:
        return not_measured("apex_in_field", "mm", "There is no scale.", APEX_SOURCE)
    room = room_mm(radiograph, apex_px, scale, blank)
    better = "" if room >= APEX_BETTER_MM else f", {APEX_BETTER_MM:g} mm is better"
    return Measure(
        "apex_in_field",
        room,
        "mm",
        "doubt" if room < APEX_LEAST_MM else "good",
        f"{room:.2g} mm of the image lie around the apex; less than {APEX_LEAST_MM:g} mm is a doubt{better}.",
        APEX_SOURCE,
        "An image with more around the apex, where a clinical reason justifies the exposure.",
    )


def point_in_field(
    radiograph: Radiograph, point_px: Point, scale: tuple[float, float] | None, blank: BlankBorder | None
) -> Measure:
    """Return how far the reference point lies inside the field."""
    if scale is None:
        return not_measured("reference_point_in_field", "mm", "There is no scale.", POINT_SOURCE)
    room = room_mm(radiograph, point_px, scale, blank)
    return Measure(
        "reference_point_in_field",
        room,
        "mm",
        "doubt" if room < POINT_LEAST_MM else "good",
        f"The reference point lies {room:.2g} mm inside the image; less than {POINT_LEAST_MM:g} mm is a doubt: the "
        "cusp may be cut off.",
        POINT_SOURCE,
        "Take another reference point, or an image that holds the whole crown.",
        "serious",
    )


def magnification(record: Record, entry: CanalEntry, radiograph: Radiograph) -> Measure:
    """Return the magnification, out of whose range tooth or receptor was tilted, or a length or pitch is wrong."""
    prior = magnification_prior()
    source = f"a shadow is smaller where its object leans (geometry); usual {prior.low} to {prior.high}: {prior.source}"
    try:
        value = measure_entry(record, entry, radiograph).magnification
    except RadlengthError as exc:
        return not_measured("magnification", "1", f"It cannot be measured: {exc.wrong}.", source)
    if value is None:
        why = "Pixel size at the detector or a reference of known length is missing."
        return not_measured("magnification", "1", why, source)
    odd = not prior.odd_low <= value.value <= prior.odd_high
    way = "foreshortened" if value.value < 1 else "elongated"
    return Measure(
        "magnification",
        value.value,
        "1",
        "doubt" if odd else "good",
        f"The magnification is {value.value:.3f}; outside {prior.odd_low:g} to {prior.odd_high:g} is a doubt"
        + (f": the reference is {way}, or its length or the pixel size is wrong." if odd else "."),
        source,
        "Check the known length and the pixel size; then whether tooth, receptor or tube was tilted.",
        "serious",
    )
