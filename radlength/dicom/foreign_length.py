"""What another viewer would read off our polyline, and why that differs from our length.

A viewer that knows nothing of canals joins the marks by straight lines and multiplies by a pixel spacing of the
header. Two steps apart from ours: the straight lines against the curve, and the spacing against the calibration.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.dicom.canals import Marked, MeasuredCanal
from radlength.geometry import polyline_length


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A canal as another viewer measures it.

    Parameters
    ----------
    canal
        Its label.
    ours_mm
        Our canal length, or ``None`` without a scale.
    polyline_mm
        Straight lines between the marks at our scale: the step from the curve to the lines alone.
    viewer_mm
        Straight lines between the marks at the spacing of the header, or ``None`` where it states none.
    spacing
        Which attribute of the header that is.
    why
        The difference in words.
    """

    canal: str
    ours_mm: float | None
    polyline_mm: float | None
    viewer_mm: float | None
    spacing: str
    why: str


def elsewhere(marked: Marked) -> tuple[Elsewhere, ...]:
    """Return every canal as another viewer would measure it from our polyline."""
    return tuple(_canal(marked, canal) for canal in marked.canals)


def _canal(marked: Marked, canal: MeasuredCanal) -> Elsewhere:
    name, spacing = _spacing(marked)
    ours = canal.estimate.canal_length.value_mm if canal.estimate else None
    lines = canal.estimate.polyline_length.value_mm if canal.estimate else None
    viewer = None
    if spacing is not None:
        viewer = polyline_length(np.asarray(canal.entry.canal.path_px) * spacing)
    return Elsewhere(canal.label, ours, lines, viewer, name, _why(ours, lines, viewer, name))


def _spacing(marked: Marked) -> tuple[str, tuple[float, float] | None]:
    """Return the spacing that a viewer takes: Pixel Spacing where there is one, else Imager Pixel Spacing."""
    header = marked.source.header
    for keyword, words in (
        ("PixelSpacing", "Pixel Spacing"),
        ("ImagerPixelSpacing", "Imager Pixel Spacing"),
        ("NominalScannedPixelSpacing", "Nominal Scanned Pixel Spacing"),
    ):
        try:
            row, column = (float(part) for part in header.get(keyword))
        except (TypeError, ValueError):
            continue
        return words, (row, column)
    return "", None


def _why(ours: float | None, lines: float | None, viewer: float | None, name: str) -> str:
    if viewer is None:
        return "The header states no spacing: another viewer shows pixels."
    if ours is None or lines is None:
        return f"There is no calibration here; another viewer multiplies by {name} all the same."
    bend = f"straight lines between the marks instead of the curve {lines - ours:+z.2f} mm"
    return f"{viewer - ours:+z.2f} mm: {bend}, {name} instead of the calibration {viewer - lines:+z.2f} mm."
