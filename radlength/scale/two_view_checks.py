"""What makes two views no measurement: refusals, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.errors import ScaleError
from radlength.geometry import points_outside
from radlength.geometry.path import FloatArray
from radlength.scale.two_view_geometry import thickness
from radlength.scale.two_view_marks import TwoViewMarks, View
from radlength.scale.two_view_priors import TOOTH_DEPTH_MM
from radlength.scale.two_view_problem import FOOT
from radlength.scale.two_view_result import CanalInSpace
from radlength.scale.two_view_solve import Solution
from radlength.scale.two_view_start import Spread

LEAST_SHIFT_DEG = 8.0
FLAT_MM = 0.4
"""A marker whose points lie nearer to one plane than this, root mean square, does not tell where the tube stood."""

SAME = 1.65
"""Normal score of the differences between both images' ends below which they are one image: 95 % of copies lie below;
of pairs of exposures, the film 1 mm elsewhere, none did with careful marks, 1 % with an apex known to 0.3 mm."""

REFUSE_RATIO = 4.0
DOUBT = 3.3
"""Standard deviations of the chi-square over its expectation, as a normal score, that make a finding."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """A solution with everything a doubt may be about; `fit` is that of its marks."""

    marks: TwoViewMarks
    best: Solution
    other: Solution
    canals: tuple[CanalInSpace, ...]
    covariance: FloatArray
    declared: bool
    u_shift_deg: float
    spread: Spread
    fit: tuple[float, float]


def check_marks(marks: TwoViewMarks, spread: Spread) -> None:
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
    if score_of_ends(marks, spread) < SAME:
        raise ScaleError(
            "the marks of both images lie at the same places",
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


def score_of_ends(marks: TwoViewMarks, spread: Spread, *, moved: bool = False) -> float:
    """Return how far ends and tips lie apart on both images beyond their spread, as a normal score.

    An image opened twice and marked twice stays below `SAME`; a second exposure moves them by millimetres. With `moved`
    the marks of one image are first laid over those of the other: a copy whose edges were cut off stays below then.
    """
    ours, theirs = marks.straight, marks.shifted
    apart, sds = [], []
    for name, path in ours.canals.items():
        apart += [_apart(ours, theirs, path[0], theirs.canals[name][0])]
        apart += [_apart(ours, theirs, path[-1], theirs.canals[name][-1])]
        sds += [spread.stop_mm, spread.apex_mm]
    for tool in marks.instruments:
        pair = ours.instruments[tool.canal][-1], theirs.instruments[tool.canal][-1]
        apart, sds = [*apart, _apart(ours, theirs, *pair)], [*sds, spread.tip_mm]
    away, sd = np.array(apart), np.array(sds)
    if moved:
        away = away - np.average(away, axis=0, weights=1 / sd**2)
    misses = away / (np.sqrt(2) * sd)[:, None]
    return score(float(np.sum(misses**2)), misses.size - 2 * moved)


def _apart(
    ours: View, theirs: View, one: tuple[float, float], other: tuple[float, float]
) -> tuple[float, float]:
    return (
        one[0] * ours.pitch_mm[0] - other[0] * theirs.pitch_mm[0],
        one[1] * ours.pitch_mm[1] - other[1] * theirs.pitch_mm[1],
    )


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
    chi_square, freedom = solved.fit
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
