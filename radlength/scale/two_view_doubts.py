"""What makes two views doubtful: findings, each with what would remove it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from radlength.finding import Finding, worst_first
from radlength.geometry import fit_curve
from radlength.scale.two_view_checks import (
    DOUBT,
    SAME,
    Solved,
    fit_of_marks,
    score,
    score_of_ends,
    worst_mark,
)
from radlength.scale.two_view_geometry import term_slopes
from radlength.scale.two_view_result import depth_between
from radlength.scale.two_view_side import named_side
from radlength.scale.two_view_solve import length_without

SMALL_SHIFT_DEG = 10.0
LARGE_SHIFT_DEG = 43.0
WIDE_U_MM = 0.4
FAR_FROM_ONE_VIEW_MM = (0.65, 0.9)
"""Difference from the length by the instrument on the straight and on the shifted image alone that is asked about."""
STEEP_BEND_DEG = 45.0
"""Bend along the beam that is asked about: seldom in roots, and what an apex marked at two places looks like."""
MOST_TURN_DEG = 70.0
"""Turn of a canal anywhere that is asked about: 75 degrees is the largest curve of 700 teeth (Schäfer et al. 2002)."""
UNLIKELY, UNLIKELY_DECLARED = -1.5, -0.8
"""Normal score of what counts as likely, which is wide, that makes a finding: 99 % of sound simulated scenes stay below
-2.1 with a marker, below -1.4 with a declared angle."""
OUTLIER = 4.5
AMBIGUOUS_COST = 4.0
AMBIGUOUS_MM = 0.35
LENGTH_DOUBT, LENGTH_DOUBT_DECLARED = 3.3, 1.75
"""Standard deviations between the stated length of an instrument and the one everything else tells. What counts as
likely without a marker is wide: 99 % of sound simulated scenes stay below 1.5."""
_TURN = term_slopes(np.linspace(0.0, 1.0, 9))


def find_doubts(solved: Solved) -> tuple[Finding, ...]:
    """Return the findings about a solution, worst first."""
    return worst_first(doubt for check in _CHECKS for doubt in check(solved))


def _residual(solved: Solved) -> Iterator[Finding]:
    chi_square, freedom = solved.fit
    outlier = float(np.max(np.abs(solved.best.residuals[: solved.best.marks])))
    if score(chi_square, freedom) > DOUBT or outlier > OUTLIER:
        yield Finding(
            "two-views-residual",
            f"The marks of the two images fit badly: chi-square {chi_square:.0f} where {freedom:.0f} is expected; "
            f"{worst_mark(solved)}.",
            "Mark it again, or state a larger spread of the marks.",
            "serious",
        )


def _unlikely(solved: Solved) -> Iterator[Finding]:
    chi_square, freedom = fit_of_marks(solved.best, solved.covariance, likely=True)
    if score(chi_square, freedom) > (UNLIKELY_DECLARED if solved.declared else UNLIKELY):
        yield Finding(
            "two-views-unlikely",
            f"The canal or the tube would have to be unusual: chi-square {chi_square:.0f} where {freedom:.0f} is "
            "expected.",
            "Check the apex and the tip on both images, and the length of the instrument.",
            "serious",
        )


def _ambiguous(solved: Solved) -> Iterator[Finding]:
    apart = float(np.max(np.abs(solved.best.lengths_mm - solved.other.lengths_mm)))
    if solved.other.cost - solved.best.cost < AMBIGUOUS_COST and apart > AMBIGUOUS_MM:
        yield Finding(
            "two-views-ambiguous",
            f"Two shapes explain the images almost equally well; their lengths differ by {apart:.1f} mm.",
            "Use a marker that is not flat, or a larger shift.",
            "serious",
        )


def _wide(solved: Solved) -> Iterator[Finding]:
    for canal in solved.canals:
        if canal.length.u > WIDE_U_MM:
            yield Finding(
                "two-views-wide",
                f"The length in space of {canal.name} is known to {canal.length.u:.2f} mm (standard uncertainty).",
                "Mark more carefully, shift the tube farther, or use the length of one view.",
                "question",
                canal.name,
            )
        if abs(canal.bend_along_beam_deg) - canal.u_bend_deg > STEEP_BEND_DEG:
            yield Finding(
                "two-views-steep",
                f"The end of {canal.name} would turn {canal.bend_along_beam_deg:.0f}° along the beam.",
                "Check that the apex is the same point on both images.",
                "serious",
                canal.name,
            )


def _turn(solved: Solved) -> Iterator[Finding]:
    velocity = _TURN @ solved.best.problem.curves(solved.best.p)
    unit = velocity / np.linalg.norm(velocity, axis=2, keepdims=True)
    cosines = unit @ unit.transpose(0, 2, 1)
    for canal, least in zip(solved.canals, cosines.min(axis=(1, 2)), strict=True):
        turn = float(np.degrees(np.arccos(np.clip(least, -1.0, 1.0))))
        if turn > MOST_TURN_DEG:
            yield Finding(
                "two-views-turn",
                f"Canal {canal.name} would turn through {turn:.0f}° in space.",
                "Check the length of the instrument, its stop and tip, and the ends of the canal on both images.",
                "serious",
                canal.name,
            )


def _one_view(solved: Solved) -> Iterator[Finding]:
    for known in solved.marks.instruments:
        length = next(canal.length.value for canal in solved.canals if canal.name == known.canal)
        for which, view, most in zip(
            ("straight", "shifted"),
            (solved.marks.straight, solved.marks.shifted),
            FAR_FROM_ONE_VIEW_MM,
            strict=True,
        ):
            whole, tool = (
                fit_curve(np.array(paths[known.canal]) * view.pitch_mm).length
                for paths in (view.canals, view.instruments)
            )
            flat = known.length_mm * whole / tool
            if abs(length - flat) > most:
                yield Finding(
                    "two-views-far-from-one",
                    f"The length in space of {known.canal} is {length - flat:+z.1f} mm off the length by the "
                    f"instrument on the {which} image alone.",
                    "Check the apex and the tip on both images.",
                    "serious",
                    known.canal,
                )


def _shift(solved: Solved) -> Iterator[Finding]:
    found, declared = abs(solved.best.angle_deg), solved.marks.angle_deg
    small = solved.declared and declared is not None and declared < SMALL_SHIFT_DEG
    if small or found > LARGE_SHIFT_DEG:
        yield Finding(
            "two-views-shift-unusual",
            f"The tube was shifted by {found:.0f}°.",
            "A shift of 15 to 35° is better.",
        )
    if declared is None:
        if solved.declared:
            yield Finding(
                "two-views-angle-not-declared",
                "How far the tube was shifted is not said; 20° ± 8° was taken.",
                "Give the angle.",
            )
        return
    if not solved.declared and abs(found - declared) > 3 * np.hypot(
        solved.u_shift_deg, solved.marks.u_angle_deg
    ):
        yield Finding(
            "two-views-angle-differs",
            f"The tube was shifted by {found:.0f}°, declared are {declared:.0f}°.",
            "Check the declared angle and the marks of the marker.",
        )


def _alike(solved: Solved) -> Iterator[Finding]:
    """Ask where a declared angle is all that says there were two exposures.

    Of simulated pairs 2 to 20 % with one straight canal are as much alike, none with several canals; of copies of one
    image, cut elsewhere, 92 % and more.
    """
    marks = solved.marks
    if solved.declared and score_of_ends(marks, solved.spread, moved=True) < SAME:
        yield Finding(
            "two-views-alike",
            "The marks of both images differ by a mere move of the whole image, as those of one exposure would.",
            "Check that the tube was moved between them, and that they are not copies of one image.",
            "serious" if len(marks.straight.canals) > 1 else "question",
        )


def _flat(solved: Solved) -> Iterator[Finding]:
    if solved.declared and solved.marks.marker_mm:
        yield Finding(
            "two-views-marker-flat",
            "The marker lies in one plane and does not tell where the tube stood; the declared angle was taken.",
            "Use a marker with points off its plane.",
        )


def _stated_length(solved: Solved) -> Iterator[Finding]:
    """Compare each stated length with the one all other marks and what counts as likely tell."""
    most = LENGTH_DOUBT_DECLARED if solved.declared else LENGTH_DOUBT
    for index, known in enumerate(solved.marks.instruments):
        seen, u_seen = length_without(solved.best, index)
        _, stated, u_stated = solved.best.problem.tools[index]
        if abs(seen - stated) > most * math.hypot(u_seen, u_stated):
            yield Finding(
                "two-views-length-differs",
                f"The instrument is stated as {stated:.1f} mm; everything else on the two images tells "
                f"{seen:.1f} mm.",
                "Check the length, its stop and tip, and the pixel pitch of both images.",
                "serious",
                known.canal,
            )


def _no_instrument(solved: Solved) -> Iterator[Finding]:
    """Ask where a canal's length rests on an instrument in another one and on a declared angle.

    Of 600 simulated upper molars with two instruments three had a third canal wrong by 1.0 to 1.1 mm at a standard
    uncertainty below `WIDE_U_MM`.
    """
    known = {tool.canal for tool in solved.marks.instruments}
    for canal in solved.canals:
        if solved.declared and canal.name not in known:
            yield Finding(
                "two-views-no-instrument",
                f"No instrument lies in {canal.name}: its length rests on another canal's and on the declared angle.",
                "Use a marker that is not flat, or an instrument in this canal.",
                "question",
                canal.name,
            )


def _names(solved: Solved) -> Iterator[Finding]:
    """Ask where a canal called buccal lies lingual of one called lingual or palatal."""
    sides = [named_side(canal.name) for canal in solved.canals]
    for one, buccal in enumerate(sides):
        for other, lingual in enumerate(sides):
            if buccal != "buccal" or lingual != "lingual":
                continue
            depth, u = depth_between(solved.best, solved.covariance, one, [other])
            if depth < -2 * u:
                yield Finding(
                    "two-views-sides-differ",
                    f"{solved.canals[one].name} lies {-depth:.1f} mm lingual of {solved.canals[other].name}.",
                    "Check the direction of the shift, that the images are not swapped or mirrored, and the names "
                    "of the canals.",
                    "serious",
                    solved.canals[one].name,
                )


_CHECKS = (
    _residual,
    _unlikely,
    _stated_length,
    _no_instrument,
    _names,
    _turn,
    _one_view,
    _ambiguous,
    _wide,
    _shift,
    _alike,
    _flat,
)
