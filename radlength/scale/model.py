"""One interface for every way to a scale: how many millimetres in the tooth one unit of the frame is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from radlength.errors import ScaleError
from radlength.geometry import Curve, fit_curve
from radlength.imaging import Radiograph
from radlength.scale.frame import Frame
from radlength.scale.reference import Reference
from radlength.trade import magnification_prior

Method = Literal["in_canal", "borrowed", "beside", "fiducial", "geometry", "detector", "undetermined"]
"""Where a scale comes from; the last four from the image header."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Millimetres in the tooth for one unit of the frame.

    Parameters
    ----------
    mm_per_unit
        The factor.
    method
        Where it comes from.
    limit_share
        Rectangular half-width of the factor as a share of it, without the geometry and the marks.
    basis
        The factor's origin in words.
    reference, curve
        The reference and the curve along it in units of the frame; ``None`` for a header scale.
    stated
        The pixel pitch is one that a person stated, not the header.
    """

    mm_per_unit: float
    method: Method
    limit_share: float
    basis: str
    reference: Reference | None = None
    curve: Curve | None = None
    stated: bool = False


def reference_scale(reference: Reference, frame: Frame, *, canal_name: str) -> Scale:
    """Return the scale of a reference: its length over the length of its image along the curve.

    Parameters
    ----------
    reference
        The marked reference.
    frame
        Size of a pixel.
    canal_name
        Name of the canal to be measured, alone or behind its tooth. A reference that says it lies in another one is
        borrowed.

    Notes
    -----
    Similar triangles: real length / image length, as in the rule of three for working length.
    """
    curve = fit_curve(frame.to_units(reference.path_px))
    return Scale(
        mm_per_unit=reference.length_mm / curve.length,
        method=method_of(reference, canal_name),
        limit_share=reference.limit_mm / reference.length_mm,
        basis=f"{reference.length_mm:g} mm known to ±{reference.limit_mm:g} mm",
        reference=reference,
        curve=curve,
    )


def method_of(reference: Reference, canal_name: str) -> Method:
    """Return how a reference measures a canal: in it, borrowed from another one, or beside.

    Parameters
    ----------
    reference
        The reference.
    canal_name
        Name of the canal to be measured, alone or behind its tooth.

    Examples
    --------
    >>> method_of(Reference(path_px=[(80, 410), (905, 452)], length_mm=21.0, canal="46 MB"), "47 MB")
    'borrowed'
    """
    if reference.placement == "in_canal" and not reference.lies_in(canal_name):
        return "borrowed"
    return reference.placement


def header_scale(radiograph: Radiograph | None) -> Scale:
    """Return the scale of the image header alone: the usual pre-operative case, with its own wide interval.

    Raises
    ------
    ScaleError
        The image has no scale of any kind.

    Notes
    -----
    A pitch at the detector is divided by the magnification, of which only a range is known; a spacing whose
    meaning is not said may be either, so its range starts at 1.
    """
    meaning = radiograph.scale.meaning if radiograph is not None else "none"
    if radiograph is None or meaning == "none" or radiograph.scale.row_mm is None:
        raise ScaleError(
            "no scale: lengths in pixels only",
            "a reference of known length in the image, or a pixel spacing in a DICOM header",
            "mark an instrument of known length",
            code="no-scale",
            subject=radiograph.name if radiograph is not None else None,
        )
    if meaning == "fiducial":
        return Scale(1.0, "fiducial", 0.01, "header, calibrated by an object in the image")
    if meaning == "geometry":
        return Scale(1.0, "geometry", 0.03, "header, corrected for an assumed magnification")
    prior = magnification_prior()
    low = 1.0 if meaning == "undetermined" else prior.low
    middle = (low + prior.high) / 2
    words = "at the detector" if meaning == "detector" else "whose meaning is not said"
    said = "stated" if radiograph.scale.stated else "header"
    return Scale(
        1 / middle,
        "detector" if meaning == "detector" else "undetermined",
        (prior.high - low) / 2 / middle,
        f"{said} pixel spacing {words}, magnification {low:g}–{prior.high:g} ({prior.source})",
        stated=radiograph.scale.stated,
    )


def scale_for(reference: Reference | None, radiograph: Radiograph | None, *, canal_name: str) -> Scale:
    """Return the scale of a reference, or where there is none that of the header.

    Raises
    ------
    ScaleError
        Neither a reference nor a header scale.
    """
    if reference is None:
        return header_scale(radiograph)
    return reference_scale(reference, Frame.of(radiograph), canal_name=canal_name)
