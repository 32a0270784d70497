"""Doubts about a measured canal: what was found and what would remove it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from radlength.clean import counted
from radlength.finding import Finding, Severity, worst_first
from radlength.geometry import CARRIED, Curve, crosses_itself, points_outside
from radlength.geometry.curve import clicks_apart, degree_for
from radlength.imaging import Radiograph
from radlength.length.canal import Canal
from radlength.length.orientation import orientation_doubts
from radlength.quantity import Quantity
from radlength.scale import STAMPED_LIMIT_MM, Frame, Reference, Scale, without_tooth
from radlength.trade import (
    arch,
    is_deciduous,
    is_posterior,
    magnification_prior,
    posterior_caution,
    tooth_length,
)
from radlength.uncertainty import Marking

FEW_CLICKS = 5
SHORT_SHARE = 0.6
NOT_PARALLEL_DEG = 10.0
LARGE_GAP_MM = 2.0
TOO_LONG_MM = 0.5
FORESHORTENED = 0.9
"""Tooth and receptor 25 degrees apart shorten a shadow to this, cos 25°."""
COARSE_MM_PER_PX = 0.1
FAR_FROM_TABLE_MM = 4.0
NO_TOOTH_SHARE = 0.5
"""Common practice, no source: no tooth is half as long again as the average of its kind, or half as long."""
AWAY_FROM_CANAL_MM = 1.0


@dataclass(frozen=True, slots=True)
class Measured:
    """Everything a doubt may be about."""

    canal: Canal
    reference: Reference | None
    scale: Scale
    curve: Curve
    frame: Frame
    radiograph: Radiograph | None
    marking: Marking
    canal_length: Quantity
    magnification: Quantity | None
    gap_mm: float | None
    cut_short_mm: float = 0.0
    offset_mm: float = 0.0
    others: tuple[Reference, ...] = ()


def find_doubts(measured: Measured) -> tuple[Finding, ...]:
    """Return the findings about one measured canal, worst first, in a fixed order within a severity."""
    doubts = [
        Finding(doubt.code, doubt.sentence, doubt.remedy, doubt.severity, measured.canal.label)
        for check in CHECKS
        for doubt in check(measured)
    ]
    return worst_first(doubts)


def _clicks(m: Measured) -> Iterator[Finding]:
    count, apart = len(m.canal.path_px), clicks_apart(m.curve.clicks)
    if apart < FEW_CLICKS:
        told = f"{apart} clicks" if count == apart else f"{count} clicks, {apart} of them apart"
        yield Finding(
            "few-clicks",
            f"The canal has {told}; a bend between them is cut short.",
            "Mark at least 7 points, two of them in the bend.",
        )
    elif m.curve.degree < degree_for(apart):
        unmarked = float(np.diff(m.curve.t).max()) * m.canal_length.value_mm
        yield Finding(
            "clicks-uneven",
            f"Between two clicks {unmarked:.1f} mm of the canal are unmarked; the curve is a simpler one, which may "
            "cut a bend short.",
            "Mark points there too, as far apart as elsewhere.",
        )
    scatter = m.curve.residual_rms * m.scale.mm_per_unit
    if scatter > max(3 * m.marking.path_mm, 0.1):
        yield Finding(
            "clicks-scatter",
            f"The clicks lie {scatter:.2f} mm (rms) off the smooth curve through them.",
            "Look for a click beside the canal, or mark more points where the canal bends twice.",
        )


def _path(m: Measured) -> Iterator[Finding]:
    if crosses_itself(m.curve.clicks):
        yield Finding(
            "path-crosses-itself",
            "The path of the canal crosses itself.",
            "Mark the canal again, from the reference point to the apex.",
            "serious",
        )
    paths = {"canal": m.canal.path_px}
    if m.reference is not None:
        paths["reference"] = m.reference.path_px
    for name, path in paths.items():
        if m.radiograph is not None and points_outside(np.asarray(path), m.radiograph.shape):
            rows, columns = m.radiograph.shape
            yield Finding(
                "path-outside-image",
                f"The path of the {name} leaves the image ({rows} x {columns}).",
                "Move the points inside the image; what lies outside cannot be measured.",
                "serious",
            )


def _reference_kind(m: Measured) -> Iterator[Finding]:
    if m.reference is None:
        yield Finding(
            "no-reference",
            f"No reference of known length: the scale is from the {m.scale.basis}.",
            "Place an instrument of known length and take the working-length image.",
        )
        return
    if m.scale.method == "borrowed":
        apart = _part_along_the_beam(m.canal, m.reference)
        other, ours = m.reference.canal, _as_told(m.canal, m.reference)
        more = (
            " Palatal and buccal roots part along the beam, which one view does not show: 25° make the length a tenth"
            " wrong (common practice, no source; cos 25°), more than the interval allows."
        )
        yield Finding(
            "reference-borrowed",
            f"The reference lies in canal {other}, not in {ours}: another depth.{more * apart}",
            "Mark an instrument in this canal.",
            "serious" if apart else "question",
        )
    if m.scale.method == "beside":
        yield Finding(
            "reference-beside",
            "The reference lies beside the tooth; the interval is two to four times wider than in the canal.",
            "Mark an instrument of known length in this canal.",
            "note",
        )
    if m.reference.limit_mm >= STAMPED_LIMIT_MM:
        yield Finding(
            "reference-stamped",
            f"The reference length is known to ±{m.reference.limit_mm:g} mm only.",
            "Read its length on a ruler, of an instrument from stop to tip, and give the limit of that reading.",
            "note",
        )


def _as_told(canal: Canal, reference: Reference) -> str:
    """Return the name of a canal, behind its tooth where the canal of a reference has the same one."""
    return canal.label if without_tooth(reference.canal or "") == canal.name else canal.name


def _part_along_the_beam(canal: Canal, reference: Reference) -> bool:
    """Tell whether one of two canals of an upper back tooth is palatal and the other is not."""
    if arch(canal.tooth) != "maxillary" or not is_posterior(canal.tooth):
        return False
    palatal = [
        name.strip().upper().startswith("P") for name in (canal.name, without_tooth(reference.canal or ""))
    ]
    return palatal[0] != palatal[1]


def _reference_shape(m: Measured) -> Iterator[Finding]:
    if m.reference is None or m.scale.curve is None:
        return
    if m.reference.length_mm < SHORT_SHARE * m.canal_length.value_mm:
        share = 100 * m.reference.length_mm / m.canal_length.value_mm
        yield Finding(
            "reference-short",
            f"The reference is {m.reference.length_mm:g} mm, {share:.0f} % of the canal.",
            "Use a reference nearly as long as the canal.",
        )
    angle = _angle_deg(m.scale.curve.chord, m.curve.chord)
    if min(angle, 180 - angle) > NOT_PARALLEL_DEG:
        yield Finding(
            "reference-not-parallel",
            f"Reference and canal are {min(angle, 180 - angle):.0f}° apart in the image.",
            "Use a reference that lies along the canal; tilt along the beam cannot be seen in one view.",
        )


def _reference_in_canal(m: Measured) -> Iterator[Finding]:
    if m.scale.method != "in_canal" or m.scale.curve is None or m.gap_mm is None:
        return
    start, tip = m.scale.curve.clicks[0], m.scale.curve.clicks[-1]
    first, last = m.curve.clicks[0], m.curve.clicks[-1]
    if np.hypot(*(first - tip)) + np.hypot(*(last - start)) < np.hypot(*(first - start)) + np.hypot(
        *(last - tip)
    ):
        yield Finding(
            "path-reversed",
            "The canal and its reference are marked in opposite directions.",
            "Mark both from the crown to the apex.",
            "serious",
        )
        return
    away = m.scale.mm_per_unit * float(np.min(np.linalg.norm(m.curve.resample(257) - tip, axis=1)))
    if m.gap_mm >= 0 and away > AWAY_FROM_CANAL_MM:
        yield Finding(
            "reference-elsewhere",
            f"The tip of the reference lies {away:.1f} mm beside the marked canal.",
            "Check that it lies in this canal; if not, name its canal or mark it as beside.",
            "serious",
        )
    if m.gap_mm > LARGE_GAP_MM:
        yield large_gap(m.gap_mm)
    if m.gap_mm < 0:
        yield Finding(
            "tip-beyond-apex",
            f"The tip is {-m.gap_mm:.1f} mm beyond the marked apex.",
            "Check the apex mark; shorten the instrument.",
            "serious",
        )


def large_gap(gap_mm: float) -> Finding:
    """Return the doubt about a gap in which one view may not show all."""
    return Finding(
        "gap-large",
        f"The tip is {gap_mm:.1f} mm from the apex; one view does not show a bend along the beam there.",
        f"Where a new image is clinically justified, bring the tip within {LARGE_GAP_MM:g} mm first.",
    )


def _cut_short(m: Measured) -> Iterator[Finding]:
    effect = abs(m.cut_short_mm)
    severity: Severity = "serious" if effect > TOO_LONG_MM else "question"
    if m.cut_short_mm > 0:
        yield Finding(
            "reference-cut-short",
            f"The instrument is marked straighter than its canal: the length reads about {effect:.1f} mm too long.",
            "Mark instrument and canal along the bend: 4 points or more, two of them in the bend.",
            severity,
        )
    elif effect:
        yield Finding(
            "canal-cut-short",
            f"The canal is marked straighter than the instrument in it: the length reads about {effect:.1f} mm too "
            "short.",
            "Mark the canal along the bend: 7 points or more, two of them in the bend.",
            severity,
        )


def _straight(m: Measured) -> Iterator[Finding]:
    if m.canal.straight and m.scale.method == "in_canal":
        yield Finding(
            "straight-stated",
            f"The interval counts on no bend along the beam: {m.canal.straight}.",
            "Take it back if it was hoped and not known.",
            "note",
        )


def _placed_by_nobody_here(m: Measured) -> Iterator[Finding]:
    marks = (*m.canal.assists, *(m.reference.assists if m.reference else ()))
    carried = sum(one.count for one in marks if one.method == CARRIED)
    if carried:
        yield Finding(
            "marks-carried",
            f"{counted(carried, 'point')} {'was' if carried == 1 else 'were'} placed on another image and not moved on "
            "this one.",
            f"Drag {'it' if carried == 1 else 'each of them'} to its place on this image.",
        )
    placed = [one for one in marks if one.method != CARRIED]
    if placed:
        lowest = min(placed, key=lambda one: one.confidence)
        count = sum(one.count for one in placed)
        yield Finding(
            "placed-by-program",
            f"{counted(count, 'point')} {'was' if count == 1 else 'were'} placed by a program "
            f"(least sure: {lowest.method}, confidence {lowest.confidence:.2f}).",
            f"Look whether {'it lies' if count == 1 else 'they lie'} on the canal.",
            "note",
        )


def _magnification(m: Measured) -> Iterator[Finding]:
    odd, found = magnification_prior(), m.magnification
    if found is None or odd.odd_low <= found.value <= odd.odd_high or found.low <= odd.odd_low <= found.high:
        return
    if FORESHORTENED <= found.value < odd.odd_low:
        yield Finding(
            "magnification-below-1",
            f"The reference makes the magnification {found.value:.2f}: tooth, receptor or tube leans along the "
            "beam and shortens the shadow, or the reference length or the pixel pitch is wrong.",
            "Check the reference length, its two ends and the pixel pitch.",
        )
    else:
        yield Finding(
            "magnification-odd",
            f"The reference makes the magnification {found.value:.2f}; "
            f"{FORESHORTENED:.1f} to {odd.odd_high:.1f} is possible on a periapical image.",
            "Check the reference length, its two ends and the pixel pitch.",
            "serious",
        )


def _header_disagrees(m: Measured) -> Iterator[Finding]:
    if m.reference is None or m.radiograph is None:
        return
    if m.radiograph.scale.meaning not in ("fiducial", "geometry"):
        return
    share = abs(m.scale.mm_per_unit - 1)
    if share > 0.03 + m.scale.limit_share:
        yield Finding(
            "header-disagrees",
            f"The header's corrected spacing and the reference differ by {100 * share:.0f} %.",
            "Check the reference; find out what the header was calibrated with.",
        )


def _others(m: Measured) -> Iterator[Finding]:
    all_of_them = list(dict.fromkeys(one for one in (m.reference, *m.others) if one is not None))
    if len(all_of_them) > 1:
        from radlength.scale import combine_scales, scale_estimates  # noqa: PLC0415 - seldom needed

        told = scale_estimates(all_of_them, canal_name=m.canal.label, frame=m.frame, marking=m.marking)
        if len(told) > 1:
            yield from combine_scales(told).findings


def _coarse(m: Measured) -> Iterator[Finding]:
    pixel = m.scale.mm_per_unit * max(m.frame.row, m.frame.column)
    if pixel > COARSE_MM_PER_PX:
        yield Finding(
            "image-coarse",
            f"One pixel is {pixel:.2f} mm in the tooth.",
            f"Use the image as it was stored, with pixels of {COARSE_MM_PER_PX:g} mm or less.",
        )


def _tooth(m: Measured) -> Iterator[Finding]:
    table = tooth_length(m.canal.tooth)
    length = m.canal_length.value_mm
    if table is not None and abs(length - table.overall_mm) > FAR_FROM_TABLE_MM:
        yield Finding(
            "far-from-table",
            f"{length:.1f} mm is far from the average of {table.overall_mm:g} mm for tooth {m.canal.tooth} "
            f"({table.source}).",
            "Is it the right tooth, and are both ends marked? Single teeth differ: the table proves nothing.",
            "serious" if abs(length - table.overall_mm) > NO_TOOTH_SHARE * table.overall_mm else "question",
        )
    if is_posterior(m.canal.tooth) and not is_deciduous(m.canal.tooth):
        yield Finding("posterior", posterior_caution(), "Confirm with the apex locator.", "note")


def _nothing_left(m: Measured) -> Iterator[Finding]:
    if m.offset_mm >= m.canal_length.value_mm:
        yield Finding(
            "working-length-none-left",
            f"The canal of {m.canal_length.value_mm:.1f} mm is no longer than the offset of {m.offset_mm:g} mm: no "
            "working length is left.",
            "Mark the canal from the reference point on the crown to the apex.",
            "serious",
        )


def _orientation(m: Measured) -> Iterator[Finding]:
    if m.radiograph is not None:
        yield from orientation_doubts(m.canal.tooth, m.radiograph.facts)


def _angle_deg(a: np.ndarray, b: np.ndarray) -> float:
    cosine = float(a @ b / (np.hypot(*a) * np.hypot(*b)))
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


CHECKS = (
    _clicks,
    _path,
    _reference_kind,
    _reference_shape,
    _reference_in_canal,
    _cut_short,
    _straight,
    _placed_by_nobody_here,
    _magnification,
    _header_disagrees,
    _others,
    _coarse,
    _tooth,
    _nothing_left,
    _orientation,
)
