"""What makes two views no measurement, and what makes one doubtful."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from radlength.errors import ScaleError
from radlength.finding import Finding
from radlength.geometry import fit_curve, points_outside
from radlength.geometry.path import FloatArray
from radlength.scale.two_view_geometry import term_slopes, thickness
from radlength.scale.two_view_marks import TwoViewMarks
from radlength.scale.two_view_priors import TOOTH_DEPTH_MM
from radlength.scale.two_view_problem import FOOT
from radlength.scale.two_view_result import CanalInSpace
from radlength.scale.two_view_solve import Solution
from radlength.scale.two_view_start import Plane

LEAST_SHIFT_DEG = 8.0
SMALL_SHIFT_DEG = 10.0
LARGE_SHIFT_DEG = 40.0
FLAT_MM = 0.4
"""A marker whose points lie nearer to one plane than this, root mean square, does not tell where the tube stood."""

WIDE_U_MM = 0.35
FAR_FROM_ONE_VIEW_MM = (0.8, 1.2)
"""Difference from the length by the instrument on the straight and on the shifted image alone that is asked about."""
STEEP_BEND_DEG = 45.0
"""Bend along the beam that is asked about: seldom in roots, and what an apex marked at two places looks like."""
MOST_TURN_DEG = 70.0
"""Turn of a canal anywhere that is asked about: 75 degrees is the largest curve of 700 teeth (Schäfer et al. 2002)."""
DOUBT = 3.3
"""Standard deviations of the chi-square over its expectation, as a normal score, that make a finding."""
UNLIKELY, UNLIKELY_DECLARED = -1.5, -0.5
"""The same for what counts as likely, which is wide: 99 % of sound simulated scenes stay below -2.1 with a marker,
below -1.4 with a declared angle."""
OUTLIER = 4.5
REFUSE_RATIO = 4.0
AMBIGUOUS_COST = 4.0
AMBIGUOUS_MM = 0.35
_TURN = term_slopes(np.linspace(0.0, 1.0, 9))


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """A solution with everything a doubt may be about."""

    marks: TwoViewMarks
    best: Solution
    other: Solution
    canals: tuple[CanalInSpace, ...]
    covariance: FloatArray
    declared: bool
    u_shift_deg: float


def check_marks(marks: TwoViewMarks, planes: tuple[Plane, Plane]) -> None:
    """Refuse marks outside the film, copied marks, and a shift that is too small as declared.

    Raises
    ------
    ScaleError
        See the words of each.
    """
    for which, view in (("straight", marks.straight), ("shifted", marks.shifted)):
        if view.shape_px is None:
            continue
        for name, path in view.canals.items():
            if points_outside(np.array(path), view.shape_px):
                raise ScaleError(
                    f"a mark of the canal lies outside the {which} image",
                    "every mark on the film",
                    "the apex must be on both images: take another one",
                    code="two-views-outside",
                    subject=name,
                )
    if _same(planes):
        raise ScaleError(
            "both images carry the same marks",
            "two images with the tube shifted 10 to 35° between them",
            "open the second image and mark it on its own",
            code="two-views-identical",
        )
    if marks.angle_deg is not None:
        refuse_small(marks.angle_deg)


def is_flat(marks: TwoViewMarks) -> bool:
    """Tell whether the marker has no shape, or one that lies in a plane."""
    return len(marks.marker_mm) < 4 or thickness(np.array(marks.marker_mm)) < FLAT_MM


def refuse_small(angle_deg: float) -> None:
    """Refuse a shift that is too small.

    Raises
    ------
    ScaleError
        It is below `LEAST_SHIFT_DEG`.
    """
    if abs(angle_deg) < LEAST_SHIFT_DEG:
        raise ScaleError(
            f"a tube shift of {abs(angle_deg):.1f}°",
            f"{LEAST_SHIFT_DEG:g}° or more, 20° is better",
            "take the second image with the tube shifted farther",
            code="two-views-shift-small",
        )


def _same(planes: tuple[Plane, Plane]) -> bool:
    misses = []
    for name, path in planes[0].canals.items():
        other = planes[1].canals[name]
        if path.shape != other.shape:
            return False
        misses.append(path - other)
    moved = np.concatenate(misses)
    return bool(np.sqrt(np.mean((moved - moved.mean(axis=0)) ** 2)) < 1e-3)


def score(chi_square: float, freedom: float) -> float:
    """Return a chi-square as a normal score (Wilson and Hilferty 1931).

    Examples
    --------
    >>> round(score(18.307, 10.0), 2)
    1.65
    """
    k = 2 / (9 * max(freedom, 1.0))
    return float(((max(chi_square, 0.0) / max(freedom, 1.0)) ** (1 / 3) - (1 - k)) / np.sqrt(k))


def fit_of_marks(solution: Solution, covariance: FloatArray, *, likely: bool = False) -> tuple[float, float]:
    """Return the chi-square of the marks and its expectation; or of what counts as likely."""
    part = slice(solution.marks, None) if likely else slice(0, solution.marks)
    rows, values = solution.jacobian[part], solution.residuals[part]
    used = float(np.sum((rows @ covariance) * rows))
    return float(values @ values), len(values) - used


def check_solution(solved: Solved) -> None:
    """Refuse a solution that is none.

    Raises
    ------
    ScaleError
        See the words of each.
    """
    chi_square, freedom = fit_of_marks(solved.best, solved.covariance)
    if chi_square > REFUSE_RATIO * max(freedom, 1.0):
        raise ScaleError(
            f"the marks of the two images do not fit together: chi-square {chi_square:.0f} where {freedom:.0f} is"
            " expected",
            "the same canal and the same points on both images, each once",
            worst_mark(solved) + "; mark it again, and check that no marks are swapped",
            code="two-views-residual",
        )
    if not solved.declared:
        refuse_small(solved.best.angle_deg)
    tilted = abs(float(np.mean(solved.best.problem.curves(solved.best.p)[:, :2, 2])) - TOOTH_DEPTH_MM)
    if not np.isfinite(solved.best.p).all() or tilted > 40:
        raise ScaleError(
            "the two images give no place for the tooth",
            "marks of the same tooth on both",
            "mark both images again",
            code="two-views-no-solution",
        )


def worst_mark(solved: Solved) -> str:
    """Return in words which mark misses the most."""
    problem = solved.best.problem
    clicks = problem.clicks
    names = list(solved.marks.straight.canals)
    sizes = np.abs(solved.best.residuals[: solved.best.marks])
    worst = int(np.argmax(sizes))
    feet, points = len(solved.best.foot), 2 * len(solved.best.point)
    if worst >= feet + points:
        place = (worst - feet - points) // 2
        count = problem.beside_xy.shape[1]
        which = "straight" if place < count else "shifted"
        return f"point {place % count + 1} beside the tooth on the {which} image misses the most"
    index = int(solved.best.foot[worst] if worst < feet else solved.best.point[(worst - feet) // 2])
    which = "straight" if clicks.view[index] == 0 else "shifted"
    what = "a click along" if clicks.role[index] == FOOT else "an end or the tip in"
    return f"{what} canal {names[int(clicks.canal[index])]} on the {which} image misses the most"


def find_doubts(solved: Solved) -> tuple[Finding, ...]:
    """Return the findings about a solution, worst first."""
    doubts = [doubt for check in _CHECKS for doubt in check(solved)]
    rank = {"serious": 0, "question": 1, "note": 2}
    return tuple(sorted(doubts, key=lambda doubt: rank[doubt.severity]))


def _residual(solved: Solved) -> Iterator[Finding]:
    chi_square, freedom = fit_of_marks(solved.best, solved.covariance)
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
                f"The length in space is known to {canal.length.u:.2f} mm (standard uncertainty).",
                "Mark more carefully, shift the tube farther, or use the length of one view.",
                "question",
                canal.name,
            )
        if abs(canal.bend_along_beam_deg) > STEEP_BEND_DEG:
            yield Finding(
                "two-views-steep",
                f"The end of the canal would turn {canal.bend_along_beam_deg:.0f}° along the beam.",
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
                f"The canal would turn through {turn:.0f}° in space.",
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
                    f"The length in space is {length - flat:+.1f} mm off the length by the instrument on the {which} "
                    "image alone.",
                    "Check the apex and the tip on both images.",
                    "serious",
                    known.canal,
                )


def _shift(solved: Solved) -> Iterator[Finding]:
    found, declared = abs(solved.best.angle_deg), solved.marks.angle_deg
    if found < SMALL_SHIFT_DEG or found > LARGE_SHIFT_DEG:
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


def _flat(solved: Solved) -> Iterator[Finding]:
    if solved.declared and solved.marks.marker_mm:
        yield Finding(
            "two-views-marker-flat",
            "The marker lies in one plane and does not tell where the tube stood; the declared angle was taken.",
            "Use a marker with points off its plane.",
        )


_CHECKS = (_residual, _unlikely, _turn, _one_view, _ambiguous, _wide, _shift, _flat)
