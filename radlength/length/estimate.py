"""From marks and a scale to a canal length, a working length and their intervals."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from radlength.errors import MarkError, ScaleError
from radlength.finding import Finding
from radlength.geometry import Curve, fit_curve, polyline_length, straight_length
from radlength.imaging import Radiograph
from radlength.length.canal import Canal
from radlength.length.cut_short import cut_short_lines, cut_short_mm
from radlength.length.findings import Measured, find_doubts
from radlength.length.marks import mark_lines
from radlength.length.terminus import Terminus
from radlength.quantity import Direction, Quantity, round_for_stop
from radlength.scale import Frame, Method, Reference, Scale, scale_for
from radlength.scale.certainty import marks_share, outside_arms
from radlength.trade import CAUTION, NOT_CONFIRMED, AnatomicalBand, anatomical_band
from radlength.uncertainty import Budget, BudgetLine, Marking, two_arms
from radlength.uncertainty.budget import half_width_95
from radlength.uncertainty.geometry import Arms, in_canal_arms

ALGORITHM = "7"
"""Version of the estimate and of the confirmation: raised when the same marks would give another number or interval."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A measured canal and how sure the measurement is.

    Parameters
    ----------
    canal, reference, terminus, marking
        What was measured and with which assumptions.
    canal_length
        Along the curve from the reference point to the marked radiographic apex.
    working_length
        Canal length less the stated offset; ``None`` without a terminus.
    straight_length, polyline_length
        Chord and polyline of the same marks at the same scale, for comparison only.
    magnification
        Size of the image over the tooth, where the pixel pitch at the detector is known.
    gap_mm
        From the end of an in-canal reference to the apex at its scale, negative where it is beyond; else ``None``.
    method
        Where the scale comes from.
    budget
        Contributions to the uncertainty of the canal length; the offset adds none.
    anatomy
        Where foramen and constriction usually lie: another quantity, never part of the interval.
    findings
        Doubts, each with what would remove it.
    algorithm
        Version of the estimate.
    pitch_stated
        The scale is that of a pixel pitch which a person stated; `method` is the same as with one of the header.
    """

    canal: Canal
    reference: Reference | None
    terminus: Terminus | None
    marking: Marking
    canal_length: Quantity
    working_length: Quantity | None
    straight_length: Quantity
    polyline_length: Quantity
    magnification: Quantity | None
    gap_mm: float | None
    method: Method
    budget: Budget
    anatomy: AnatomicalBand | None
    findings: tuple[Finding, ...]
    algorithm: str = ALGORITHM
    pitch_stated: bool = False

    def stop_setting_mm(self, *, direction: Direction, step_mm: float = 0.5) -> float | None:
        """Return the working length rounded for the stop; ``None`` without a working length."""
        if self.working_length is None:
            return None
        return round_for_stop(self.working_length.value_mm, direction=direction, step_mm=step_mm)

    def as_dict(self) -> dict[str, Any]:
        """Return the estimate as plain data, with the caution."""
        shares = self.budget.shares_percent
        return {
            "tooth": self.canal.tooth,
            "canal": self.canal.name,
            "canal_length": self.canal_length.as_dict(),
            "working_length": self.working_length.as_dict() if self.working_length else None,
            "terminus": self.terminus.words if self.terminus else None,
            "straight_length": self.straight_length.as_dict(),
            "polyline_length": self.polyline_length.as_dict(),
            "magnification": self.magnification.as_dict() if self.magnification else None,
            "gap_mm": self.gap_mm,
            "method": self.method,
            "budget": [
                {
                    "name": line.name,
                    "u_mm": line.u_mm,
                    "share_percent": share,
                    "distribution": line.distribution,
                    "low_mm": line.low_mm,
                    "high_mm": line.high_mm,
                    "basis": line.basis,
                }
                for line, share in zip(self.budget.lines, shares, strict=True)
            ],
            "anatomy": self.anatomy.as_dict() if self.anatomy else None,
            "findings": [finding.as_dict() for finding in self.findings],
            "algorithm": self.algorithm,
            "status": NOT_CONFIRMED,
            "caution": CAUTION,
        }


def estimate_length(
    canal: Canal,
    reference: Reference | None = None,
    *,
    radiograph: Radiograph | None = None,
    terminus: Terminus | None = None,
    marking: Marking | None = None,
    others: Iterable[Reference] = (),
) -> Estimate:
    """Estimate the length of a canal along its curve.

    Parameters
    ----------
    canal
        The marked canal, first point the reference point, last the radiographic apex.
    reference
        Something of known length in the image; ``None`` falls back on the header of the radiograph.
    radiograph
        The image the marks were made on: its pixel spacing, its shape, its header facts. Without it pixels
        count as square and a reference is needed.
    terminus
        Where the work should end. Without one the working length is ``None``.
    marking
        Spread of this person's marks; the defaults of :class:`Marking` otherwise.
    others
        Everything else of known length on the image. The scale still comes from ``reference`` alone; one that
        disagrees with it is a finding.

    Returns
    -------
    Estimate

    Raises
    ------
    ScaleError
        Neither a reference nor a header scale, a reference that is none, or a panoramic image.
    MarkError
        A path that cannot be measured, or a canal that is none.

    Examples
    --------
    >>> reference = Reference(path_px=[(0, 0), (210, 0)], length_mm=20.0, limit_mm=0.25)
    >>> canal = Canal(tooth="11", name="single", path_px=[(0, 0), (231, 0)])
    >>> estimate = estimate_length(canal, reference, terminus=Terminus(offset_mm=1.0))
    >>> round(estimate.canal_length.value_mm, 9), round(estimate.working_length.value_mm, 9)
    (22.0, 21.0)
    """
    _check_types(canal, reference)
    check_optional(radiograph=radiograph, terminus=terminus, marking=marking)
    if radiograph is not None and not radiograph.measurable:
        raise ScaleError(
            "a panoramic image gives no length: its magnification differs from place to place",
            "a periapical image",
            code="not-measurable",
            subject=radiograph.name,
        )
    marking = marking or Marking()
    frame = Frame.of(radiograph)
    curve = fit_curve(frame.to_units(canal.path_px))
    scale = scale_for(reference, radiograph, canal_name=canal.label)
    length_mm = scale.mm_per_unit * curve.length
    gap_mm = length_mm - reference.length_mm if reference and scale.method == "in_canal" else None
    cut_mm = cut_short_mm(curve, scale, marking)
    lines = _lines(canal, curve, scale, marking, length_mm, gap_mm)
    budget = Budget((*lines, *cut_short_lines(cut_mm)))
    canal_length = budget.around(length_mm)
    points = frame.to_units(canal.path_px)
    magnification = _magnification(scale, radiograph, marking)
    return Estimate(
        canal=canal,
        reference=reference,
        terminus=terminus,
        marking=marking,
        canal_length=canal_length,
        working_length=canal_length.shifted(-terminus.distance_mm) if terminus else None,
        straight_length=_scaled(canal_length, straight_length(points) / curve.length),
        polyline_length=_scaled(canal_length, polyline_length(points) / curve.length),
        magnification=magnification,
        gap_mm=gap_mm,
        method=scale.method,
        budget=budget,
        anatomy=anatomical_band(canal.tooth),
        findings=find_doubts(
            Measured(
                canal=canal,
                reference=reference,
                scale=scale,
                curve=curve,
                frame=frame,
                radiograph=radiograph,
                marking=marking,
                canal_length=canal_length,
                magnification=magnification,
                gap_mm=gap_mm,
                cut_short_mm=cut_mm,
                offset_mm=terminus.distance_mm if terminus else 0.0,
                others=tuple(others),
            )
        ),
        pitch_stated=scale.stated,
    )


def _check_types(canal: object, reference: object) -> None:
    if not isinstance(canal, Canal):
        raise MarkError(
            f"{type(canal).__name__} as a canal",
            "a Canal with its tooth, name and marked path",
            "make one: Canal(tooth=..., name=..., path_px=...)",
            code="canal-type",
        )
    if not isinstance(reference, Reference | None):
        raise ScaleError(
            f"{type(reference).__name__} as a reference",
            "a Reference with its marked path and its length, or None for the scale of the header",
            "make one: Reference(path_px=..., length_mm=...)",
            code="reference-type",
        )


def check_optional(*, radiograph: object = None, terminus: object = None, marking: object = None) -> None:
    """Refuse what is given as an image, a terminus or a spread of marks and is none.

    Raises
    ------
    MarkError
        It is something else.
    """
    for given, wanted, example in (
        (radiograph, Radiograph, 'read_radiograph("tooth.dcm")'),
        (terminus, Terminus, "Terminus(offset_mm=1.0)"),
        (marking, Marking, "Marking(apex_mm=0.3)"),
    ):
        if not isinstance(given, wanted | None):
            name = wanted.__name__
            raise MarkError(
                f"{type(given).__name__} as a {name.lower()}",
                f"a {name}, or None",
                f"make one: {example}",
                code=f"{name.lower()}-type",
            )


def _lines(
    canal: Canal, curve: Curve, scale: Scale, marking: Marking, length_mm: float, gap_mm: float | None
) -> list[BudgetLine]:
    limit = length_mm * scale.limit_share
    arms = geometry_arms(scale.method, length_mm, gap_mm, straight=bool(canal.straight))
    lines = [
        *mark_lines(curve, scale, marking),
        BudgetLine(
            "reference length" if scale.reference else "magnification not known",
            limit / math.sqrt(3),
            "rectangular",
            scale.basis,
        ),
        BudgetLine(
            "shape of the curve",
            scale.mm_per_unit * degree_effect(curve) / math.sqrt(3),
            "normal",
            "change of the length when the curve loses one degree",
        ),
        two_arms("geometry of one view", arms.low_mm, arms.high_mm, arms.words),
    ]
    return [line for line in lines if line.u_mm > 0]


def geometry_arms(method: Method, length_mm: float, gap_mm: float | None, *, straight: bool = False) -> Arms:
    """Return the arms of the geometry for a way to the scale, in millimetres."""
    if method == "in_canal" and gap_mm is not None:
        return in_canal_arms(gap_mm, straight=straight)
    return outside_arms(method, length_mm)


def degree_effect(curve: Curve) -> float:
    """Return how much the length changes with one degree less, in units of the curve."""
    if curve.degree <= 1:
        return 0.0
    return abs(curve.length - fit_curve(curve.clicks, degree=curve.degree - 1).length)


def _scaled(length: Quantity, share: float) -> Quantity:
    return Quantity(length.value * share, length.u * share, length.low * share, length.high * share)


def _magnification(scale: Scale, radiograph: Radiograph | None, marking: Marking) -> Quantity | None:
    """Return detector units per millimetre in the tooth, from a reference on an image of known pitch.

    It is that of the reference as it lies: its length's limit and its marks make the interval (JCGM 100:2008, 5.1).
    """
    known = radiograph is not None and radiograph.scale.meaning == "detector"
    if not known or scale.reference is None or scale.curve is None:
        return None
    value, marks = 1 / scale.mm_per_unit, marks_share(scale, marking)
    arm = value * half_width_95(marks, scale.limit_share)
    u = value * math.hypot(marks, scale.limit_share / math.sqrt(3))
    return Quantity(value, u, value - arm, value + arm, unit="1")
