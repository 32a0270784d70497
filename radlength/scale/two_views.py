"""The length of a canal in space from two images, straight and with the tube shifted.

What one shadow hides, a second one shows: the bend along the beam, and which side a canal lies on. The headline needs
an instrument of known length in a canal and the declared shift; a marker that is not flat does without the angle
and is better.
"""

from __future__ import annotations

from radlength.errors import MarkError, ScaleError
from radlength.geometry.number import is_number
from radlength.scale.two_view_checks import (
    REFUSE_RATIO,
    Solved,
    check_marks,
    check_solution,
    fit_of_marks,
    is_flat,
    refuse_small,
)
from radlength.scale.two_view_doubts import find_doubts
from radlength.scale.two_view_marks import KnownInstrument, ShiftDirection, TwoViewMarks, View
from radlength.scale.two_view_priors import DECLARED_PRIORS, MARKER_PRIORS, Priors
from radlength.scale.two_view_result import (
    CanalInSpace,
    TwoViewResult,
    canals_in_space,
    shift_uncertainty_deg,
)
from radlength.scale.two_view_solve import Solution, shift_rad, solve, solve_from
from radlength.scale.two_view_start import Guess, Plane, Spread
from radlength.uncertainty.marking import Marking

__all__ = [
    "CanalInSpace",
    "KnownInstrument",
    "ShiftDirection",
    "TwoViewMarks",
    "TwoViewResult",
    "View",
    "solve_two_views",
]

LEAST_SPREAD_MM = 0.005
REFERENCE_SPREAD_MM = 0.05
"""Spread of marks beside the tooth, beads and collars, where nothing is said: common practice, no source."""


def solve_two_views(
    marks: TwoViewMarks, *, marking: Marking | None = None, reference_mm: float = REFERENCE_SPREAD_MM
) -> TwoViewResult:
    """Return every canal in space from its marks on two images.

    Parameters
    ----------
    marks
        The marks on both images and what is known beforehand.
    marking
        Spread of this person's marks; the defaults of :class:`~radlength.uncertainty.Marking` otherwise.
    reference_mm
        Standard deviation of marks beside the tooth, a coordinate, millimetres.

    Returns
    -------
    TwoViewResult

    Raises
    ------
    ScaleError
        The shift is too small, the images are the same, a mark lies outside, the direction contradicts the
        marker, or the marks do not fit together. The ``code`` tells which.
    MarkError
        Marks that cannot be measured or do not match between the images.

    Notes
    -----
    Bundle adjustment (Triggs et al. 2000): both sources, the move of the tooth between the images, and every
    canal as a polynomial of degree 4 in space, so that its two shadows run through the clicks. Only the ends and
    the tip are the same points on both images; a click between counts by its distance across the shadow.

    No marks on two images can show what makes another possible tooth:

    - the apex marked at the same wrong place of the canal on both images;
    - without a marker, an instrument of another length than stated, or its tip marked at the same wrong place on
      both: a tooth of another size. Usual distances catch gross ones (finding ``two-views-length-differs``);
    - without a marker, a wrong direction of the shift, or images taken for each other: a tooth mirrored along the
      beam. Its lengths hardly change, sides and signs of bends turn over; only names of canals that tell a side
      contradict it (``two-views-sides-differ``).
    """
    marking = marking or Marking()
    if not (is_number(reference_mm) and 0 <= reference_mm <= 2):
        raise MarkError(
            f"marks beside the tooth known to {reference_mm!r} mm",
            "a standard deviation from 0 to 2 mm",
            "give the spread of repeated marks",
            code="marking-out-of-range",
        )
    spread = Spread(
        path_mm=max(marking.path_mm, LEAST_SPREAD_MM),
        stop_mm=max(marking.stop_mm, LEAST_SPREAD_MM),
        apex_mm=max(marking.apex_mm, LEAST_SPREAD_MM),
        tip_mm=max(marking.tip_mm, LEAST_SPREAD_MM),
        beside_mm=max(reference_mm, LEAST_SPREAD_MM),
    )
    planes = (Plane.of(marks.straight), Plane.of(marks.shifted))
    check_marks(marks, spread)
    declared = is_flat(marks)
    if declared and not marks.instruments:
        raise ScaleError(
            "a marker that lies in one plane, and no instrument of known length",
            "a marker with points off its plane, or an instrument of known length in a canal",
            "give the length of the instrument",
            code="two-views-marker-flat",
        )
    priors = DECLARED_PRIORS if declared else MARKER_PRIORS
    best, other = solve(marks, planes, spread, priors)
    covariance = best.covariance()
    chi_square, freedom = fit = fit_of_marks(best, covariance)
    if not declared and chi_square > 2 * freedom:
        _refuse_wrong_direction(marks, planes, spread, priors, best)
    canals = canals_in_space(best, covariance, list(marks.straight.canals))
    u_shift = shift_uncertainty_deg(best, covariance)
    solved = Solved(marks, best, other, canals, covariance, declared, u_shift, spread, fit)
    check_solution(solved)
    return TwoViewResult(
        canals=canals,
        method="declared" if declared else "marker",
        shift_deg=best.angle_deg,
        u_shift_deg=u_shift,
        chi_square=chi_square,
        freedom=freedom,
        findings=find_doubts(solved),
    )


def _refuse_wrong_direction(
    marks: TwoViewMarks, planes: tuple[Plane, Plane], spread: Spread, priors: Priors, best: Solution
) -> None:
    """Refuse where the marker says that the tube went the other way.

    Raises
    ------
    ScaleError
        The images fit much better with the opposite shift, or with hardly any.
    """
    angle, u_angle = shift_rad(marks, priors)
    turned = solve_from(marks, planes, spread, priors, Guess(-angle), u_angle)
    better = min(best, turned, key=lambda one: one.cost)
    if better.cost < REFUSE_RATIO * len(better.residuals):
        refuse_small(better.angle_deg)
    if turned.cost < best.cost / 2 or best.angle_deg * marks.sign < 0:
        raise ScaleError(
            f"the marker shows the tube shifted the other way than declared ({marks.shift})",
            "the direction as the tube was moved for the second image",
            "check the direction, that the two images are not swapped, and that neither is mirrored",
            code="two-views-direction",
        )
