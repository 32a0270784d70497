"""What two trembling marks hide when they lie close together: their distance is never negative."""

from __future__ import annotations

import math

from radlength.uncertainty.budget import Z95

TAIL = 0.025
FAR = 20.0
"""Distance, in standard deviations, from which two terms of a series are exact to a thousandth of one."""


def apart_arm(distance_mm: float, sd_mm: float) -> float:
    """Return how much nearer two places may be than two marks show, beyond what a normal error of their distance says.

    Parameters
    ----------
    distance_mm
        Between the marks, millimetres, >= 0.
    sd_mm
        Standard deviation of their difference, per coordinate, millimetres, >= 0.

    Returns
    -------
    float
        A 95 % arm in millimetres, to be added in quadrature to that of the normal error.

    Notes
    -----
    The distance of two marks with normal errors follows the Rice distribution (Rice 1945, Bell System Technical
    Journal 24, 46; from memory): its square over the variance is noncentral chi-square with two degrees of freedom.
    The lower limit is the true distance at which so great a distance of the marks, or a greater one, has a probability
    of 2.5 %; where none is that rare, it is zero.

    Examples
    --------
    >>> [round(apart_arm(distance, 0.3), 2) for distance in (0.3, 0.8, 1.0, 3.0)]
    [0.0, 0.54, 0.31, 0.14]
    """
    if sd_mm <= 0 or distance_mm <= Z95 * sd_mm:
        return 0.0
    far = distance_mm / sd_mm
    return sd_mm * math.sqrt(max((far - _least(far)) ** 2 - Z95**2, 0.0))


def _least(far: float) -> float:
    """Return the lower limit of a distance, both in standard deviations."""
    if far > FAR:
        return far - Z95 - 1 / (2 * far) - Z95 / (4 * far * far)
    if math.exp(-far * far / 2) >= TAIL:
        return 0.0
    from scipy.optimize import brentq  # noqa: PLC0415
    from scipy.stats import ncx2  # noqa: PLC0415

    return float(brentq(lambda least: ncx2.sf(far * far, 2, least * least) - TAIL, 1e-6, far))
