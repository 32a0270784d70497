"""The length of canals from two images of a tooth: marks and references of both joined to one length in space.

Here canals, references and images become what :func:`radlength.scale.two_views.solve_two_views` takes; the solving is
there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, Literal

from radlength.errors import MarkError, ScaleError
from radlength.finding import Finding, worst_first
from radlength.geometry import Point
from radlength.imaging import Radiograph
from radlength.length.canal import Canal
from radlength.length.estimate import Estimate, estimate_length
from radlength.length.terminus import Terminus
from radlength.quantity import Direction, Quantity, round_for_stop
from radlength.scale import Reference
from radlength.scale.two_view_result import CanalInSpace
from radlength.scale.two_views import (
    KnownInstrument,
    ShiftDirection,
    TwoViewMarks,
    TwoViewResult,
    View,
    solve_two_views,
)
from radlength.trade import CAUTION, NOT_CONFIRMED, side
from radlength.uncertainty import Marking

METHOD: Literal["two views"] = "two views"
OF_ONE_VIEW = {
    "no-reference",
    "reference-borrowed",
    "reference-beside",
    "reference-short",
    "reference-not-parallel",
    "reference-cut-short",
    "gap-large",
    "clicks-uneven",
    "straight-stated",
    "header-disagrees",
}
"""Findings of a single image that a second one settles, or that speak of its scale alone."""


@dataclass(frozen=True, slots=True)
class MarkedView:
    """One of two images with everything marked on it.

    Parameters
    ----------
    radiograph
        The image. Its pixel pitch at the detector must be known, from the header or stated.
    canals
        The marked canals of one tooth.
    references
        By name of the canal: what measures it on this image alone.
    termini
        By name of the canal: where the work should end; may be empty.
    marking
        Spread of the marks.
    marker_px
        Points of a marker of known shape, (row, column) pixels, same order on both images; may be empty.
    """

    radiograph: Radiograph
    canals: tuple[Canal, ...]
    references: Mapping[str, Reference] = field(default_factory=dict)
    termini: Mapping[str, Terminus] = field(default_factory=dict)
    marking: Marking = field(default_factory=Marking)
    marker_px: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class CanalOfTwoViews:
    """One canal measured in space, beside what each image alone gives.

    Parameters
    ----------
    canal
        As marked on the straight image.
    canal_length
        Along the curve in space, from the reference point to the marked apex.
    working_length
        Canal length less the stated offset; ``None`` without a terminus.
    terminus
        The one of the straight image.
    in_space
        Side, depth and bend along the beam.
    straight, shifted
        Estimates by each image alone.
    """

    canal: Canal
    canal_length: Quantity
    working_length: Quantity | None
    terminus: Terminus | None
    in_space: CanalInSpace
    straight: Estimate
    shifted: Estimate

    def stop_setting_mm(self, *, direction: Direction, step_mm: float = 0.5) -> float | None:
        """Return the working length rounded for the stop; ``None`` without a working length."""
        if self.working_length is None:
            return None
        return round_for_stop(self.working_length.value_mm, direction=direction, step_mm=step_mm)

    def as_dict(self) -> dict[str, Any]:
        """Return the canal as plain data."""
        space = self.in_space
        return {
            "tooth": self.canal.tooth,
            "canal": self.canal.name,
            "canal_length": self.canal_length.as_dict(),
            "working_length": self.working_length.as_dict() if self.working_length else None,
            "terminus": self.terminus.words if self.terminus else None,
            "side": space.side,
            "depth_mm": space.depth_mm,
            "u_depth_mm": space.u_depth_mm,
            "bend_along_beam_deg": space.bend_along_beam_deg,
            "u_bend_deg": space.u_bend_deg,
            "straight_view": _short(self.straight),
            "shifted_view": _short(self.shifted),
        }


@dataclass(frozen=True, slots=True)
class TwoViewEstimate:
    """A tooth measured from two images.

    Parameters
    ----------
    canals
        In the order of the straight image.
    result
        What the solver found: angle between the views, fit, method.
    shift, angle_deg
        As declared.
    findings
        Doubts of the pair and of each image, worst first.
    """

    canals: tuple[CanalOfTwoViews, ...]
    result: TwoViewResult
    shift: ShiftDirection
    angle_deg: float | None
    findings: tuple[Finding, ...]
    method: Literal["two views"] = METHOD

    @property
    def canal_length(self) -> Quantity:
        """Length of the only canal.

        Raises
        ------
        MarkError
            There are several.
        """
        return self.canal().canal_length

    def canal(self, name: str | None = None) -> CanalOfTwoViews:
        """Return a canal by its name, or the only one.

        Raises
        ------
        MarkError
            No such canal, or several where none is named.
        """
        found = [one for one in self.canals if name in (None, one.canal.name, one.canal.label)]
        if len(found) == 1:
            return found[0]
        raise MarkError(
            f"{'no canal' if not found else 'several canals'}" + (f" {name!r}" if name else ""),
            f"one of: {', '.join(one.canal.name for one in self.canals)}",
            code="canal-unknown",
        )

    def as_dict(self) -> dict[str, Any]:
        """Return the estimate as plain data, with the caution."""
        result = self.result
        return {
            "method": self.method,
            "tube_from": result.method,
            "shift": self.shift,
            "declared_shift_deg": self.angle_deg,
            "shift_deg": result.shift_deg,
            "u_shift_deg": result.u_shift_deg,
            "chi_square": result.chi_square,
            "freedom": result.freedom,
            "canals": [one.as_dict() for one in self.canals],
            "findings": [finding.as_dict() for finding in self.findings],
            "status": NOT_CONFIRMED,
            "caution": CAUTION,
        }


def estimate_two_views(
    straight: MarkedView,
    shifted: MarkedView,
    *,
    shift: ShiftDirection,
    angle_deg: float | None = None,
    u_angle_deg: float = 5.0,
    marker_mm: tuple[tuple[float, float, float], ...] = (),
) -> TwoViewEstimate:
    """Estimate the length of every canal in space from two images of one tooth.

    Parameters
    ----------
    straight, shifted
        Both images with their marks: the same canals, each instrument left as it was between the exposures.
    shift
        Where the tube went for the second image. The images alone do not tell: a wrong direction, or images
        taken for each other, mirror the tooth along the beam. Its lengths hardly change, sides and bends turn over.
    angle_deg
        How far, where it is known.
    u_angle_deg
        Standard uncertainty of that.
    marker_mm
        Shape of a marker whose points are marked on both images; see
        :class:`~radlength.scale.two_views.TwoViewMarks`. With a marker that is not flat the angle is found.

    Returns
    -------
    TwoViewEstimate

    Raises
    ------
    ScaleError
        No pixel pitch at the detector, nothing of known length in a canal, one picture twice, a shift too small,
        or marks that do not fit together.
    MarkError
        Canals or references that differ between the images.

    Notes
    -----
    Mistakes no two images can show are those that make another possible tooth: the apex marked at the same wrong
    place of both; and without a marker a wrong length of the instrument, or its tip marked at the same wrong place of
    both. These are as right as the marks and the stated length are; gross ones end in a finding.
    """
    _check_pictures(straight, shifted)
    tooth = _tooth(straight, shifted)
    instruments = _instruments(straight, shifted)
    names = tuple(instruments)
    marks = TwoViewMarks(
        _view(straight, names),
        _view(shifted, names),
        shift=shift,
        angle_deg=angle_deg,
        u_angle_deg=u_angle_deg,
        instruments=tuple(
            KnownInstrument(name, one.length_mm, one.limit_mm) for name, one in instruments.items()
        ),
        marker_mm=marker_mm,
        mesial_side="right" if side(tooth) == "right" else "left",
    )
    result = solve_two_views(marks, marking=_looser(straight.marking, shifted.marking))
    canals = tuple(_canal(one, result, straight, shifted) for one in straight.canals)
    return TwoViewEstimate(canals, result, shift, angle_deg, _findings(result, canals))


def _check_pictures(straight: MarkedView, shifted: MarkedView) -> None:
    for which, view in (("straight", straight), ("shifted", shifted)):
        scale = view.radiograph.scale
        if scale.meaning != "detector":
            raise ScaleError(
                f"the pixel pitch of the {which} image at the detector is not known",
                "a pitch from the header at the detector, or stated",
                "state it: radlength mark IMAGE --pitch-mm 0.02",
                code="two-views-pitch-unknown",
                subject=view.radiograph.name,
            )
    if straight.radiograph.pixel_sha256 == shifted.radiograph.pixel_sha256:
        raise ScaleError(
            "both files hold the same picture",
            "two images with the tube shifted 10 to 35° between them",
            "give the second image",
            code="two-views-identical",
            subject=shifted.radiograph.name,
        )


def _tooth(straight: MarkedView, shifted: MarkedView) -> str:
    teeth = {canal.tooth for view in (straight, shifted) for canal in view.canals}
    if len(teeth) != 1:
        raise MarkError(
            f"canals of the teeth {', '.join(sorted(teeth)) or 'none'}",
            "canals of one tooth on both images",
            "choose the canals, or mark the same tooth on both",
            code="two-views-teeth",
        )
    return teeth.pop()


def _instruments(straight: MarkedView, shifted: MarkedView) -> dict[str, Reference]:
    """Return the instruments that lie in a canal on both images, by name of the canal."""
    found = {}
    for canal in straight.canals:
        one, other = straight.references.get(canal.name), shifted.references.get(canal.name)
        if one is None or not _lies_in(one, canal.label, straight):
            continue
        if other is None or not _lies_in(other, canal.label, shifted) or one.name != other.name:
            raise MarkError(
                f"{one.name or 'the instrument'} is not marked in this canal of the shifted image",
                "the same instrument, under the same name, on both images",
                "mark it on the other image",
                code="two-views-instrument",
                subject=canal.label,
            )
        if abs(one.length_mm - other.length_mm) > 0.01:
            raise ScaleError(
                f"an instrument of {one.length_mm:g} mm on one image and {other.length_mm:g} mm on the other",
                "the same length: stop and instrument untouched between the exposures",
                "correct the length; where the stop was moved, two views do not go together",
                code="two-views-length-twice",
                subject=canal.label,
            )
        found[canal.name] = replace(one, limit_mm=max(one.limit_mm, other.limit_mm))
    return found


def _lies_in(reference: Reference, canal: str, view: MarkedView) -> bool:
    if reference.placement != "in_canal":
        return False
    if reference.canal is not None:
        return reference.lies_in(canal)
    if sum(other == reference for other in view.references.values()) > 1:
        raise MarkError(
            f"{reference.name or 'an instrument'} measures several canals, and it is not said in which one it lies",
            "the name of the canal it lies in",
            "say it: radlength mark IMAGE --reference-name NAME --reference-canal CANAL",
            code="two-views-which-canal",
            subject=view.radiograph.name,
        )
    return True


def _view(view: MarkedView, instruments: tuple[str, ...]) -> View:
    scale = view.radiograph.scale
    return View(
        canals={canal.name: canal.path_px for canal in view.canals},
        instruments={name: view.references[name].path_px for name in instruments},
        marker_px=view.marker_px,
        pitch_mm=(float(scale.row_mm or math.nan), float(scale.column_mm or math.nan)),
        shape_px=view.radiograph.shape,
    )


def _looser(one: Marking, other: Marking) -> Marking:
    return Marking(**{f.name: max(getattr(one, f.name), getattr(other, f.name)) for f in fields(Marking)})


def _canal(canal: Canal, result: TwoViewResult, straight: MarkedView, shifted: MarkedView) -> CanalOfTwoViews:
    space = result.canal(canal.name)
    terminus = straight.termini.get(canal.name)
    again = next(one for one in shifted.canals if one.name == canal.name)
    single = (
        estimate_length(
            one,
            view.references.get(one.name),
            radiograph=view.radiograph,
            terminus=terminus,
            marking=view.marking,
        )
        for one, view in ((canal, straight), (again, shifted))
    )
    return CanalOfTwoViews(
        canal,
        space.length,
        space.length.shifted(-terminus.distance_mm) if terminus else None,
        terminus,
        space,
        *single,
    )


def _findings(result: TwoViewResult, canals: tuple[CanalOfTwoViews, ...]) -> tuple[Finding, ...]:
    """Return the doubts of the pair, then those of each image that a second one does not settle, each once."""
    kept: dict[tuple[str, str], Finding] = {}
    for single in (view for one in canals for view in (one.straight, one.shifted)):
        for doubt in single.findings:
            if doubt.code in OF_ONE_VIEW:
                continue
            known = kept.setdefault((doubt.code, doubt.sentence), doubt)
            if known.subject != doubt.subject:
                kept[doubt.code, doubt.sentence] = replace(known, subject=None)
    return worst_first((*result.findings, *kept.values()))


def _short(estimate: Estimate) -> dict[str, Any]:
    return {"method": estimate.method, "canal_length": estimate.canal_length.as_dict()}
