"""What another viewer would read off our polyline, and why that differs from our length.

A viewer that knows nothing of canals joins the marks by straight lines and multiplies by a pixel spacing of the
header. Two steps apart from ours: the straight lines against the curve, and the spacing against the calibration.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.dicom.canals import Marked, MeasuredCanal
from radlength.dicom.read_own import ReadReport
from radlength.geometry import polyline_length
from radlength.imaging.dicom_spacing import spacing_pair
from radlength.quantity import Quantity
from radlength.record.compare import AGREE_MM


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
        pair = spacing_pair(header, keyword)
        if pair is not None:
            return words, pair
    return "", None


def _why(ours: float | None, lines: float | None, viewer: float | None, name: str) -> str:
    if viewer is None:
        return "The header states no spacing: another viewer shows pixels."
    if ours is None or lines is None:
        return f"There is no calibration here; another viewer multiplies by {name} all the same."
    bend = f"straight lines between the marks instead of the curve {lines - ours:+z.2f} mm"
    return f"{viewer - ours:+z.2f} mm: {bend}, {name} instead of the calibration {viewer - lines:+z.2f} mm."


def outdated(report: ReadReport, present: Marked) -> tuple[str, ...]:
    """Return in words where a report of ours is not one of the present marks; nothing where it is.

    Parameters
    ----------
    report
        What was read.
    present
        The image as it is marked now.
    """
    now = {canal.label: canal.estimate for canal in present.canals}
    words = []
    for one in report.canals:
        label = one.canal.label
        if label not in now:
            words.append(f"{label} is in the report and no more marked.")
            continue
        found = now[label]
        if (one.canal_length is None) != (found is None):
            words.append(
                f"{label} has a scale in one of the two, report and present marks, and none in the other."
            )
            continue
        pairs = {
            "canal length": (one.canal_length, found.canal_length if found else None),
            "working length": (one.working_length, found.working_length if found else None),
        }
        words += [
            f"{label}: the report says a {what} of {_told(old)}, the present marks give {_told(new)}."
            for what, (old, new) in pairs.items()
            if _differ(old, new)
        ]
    return tuple(words)


def _differ(old: Quantity | None, new: Quantity | None) -> bool:
    """Tell whether a length or an end of its interval is another one."""
    if old is None or new is None:
        return old is not new
    parts = ("value_mm", "low_mm", "high_mm")
    return any(abs(getattr(old, part) - getattr(new, part)) > AGREE_MM for part in parts)


def _told(length: Quantity | None) -> str:
    if length is None:
        return "none"
    return f"{length.value_mm:.2f} mm ({length.low_mm:.2f} to {length.high_mm:.2f})"
