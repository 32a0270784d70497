"""Several scales of one image into one: weighted by what is known of each, and tested against each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from radlength.errors import ScaleError
from radlength.finding import Finding
from radlength.scale.certainty import IN_CANAL_SHARE, marks_share, outside_arms
from radlength.scale.frame import Frame
from radlength.scale.model import Method, reference_scale
from radlength.scale.reference import Reference
from radlength.uncertainty.budget import Z95
from radlength.uncertainty.marking import Marking

MOST_SHARE = 0.5
"""A scale whose relative standard uncertainty is as large tells nothing."""

CONSISTENT_P = 0.05
"""Probability below which scales count as disagreeing (the usual 5 %)."""

UNNAMED: dict[Method, str] = {
    "in_canal": "the instrument in the canal",
    "borrowed": "the instrument in another canal",
    "beside": "the reference beside the tooth",
}
"""What a reference without a name is called."""


@dataclass(frozen=True, slots=True)
class ScaleEstimate:
    """One scale with its uncertainty.

    Parameters
    ----------
    name
        What it comes from.
    mm_per_unit
        Millimetres in the tooth for one unit of the image.
    u_share
        Relative standard uncertainty of its own, from marks and geometry.
    shared_share
        Relative standard uncertainty it has in common with every other estimate that has one: the same ruler,
        the same pixel pitch.
    """

    name: str
    mm_per_unit: float
    u_share: float
    shared_share: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.mm_per_unit) and self.mm_per_unit > 0):
            raise ScaleError(
                f"a scale of {self.mm_per_unit} mm a unit", "above 0", code="combine-scale", subject=self.name
            )
        if not (math.isfinite(self.u_share) and 0 < self.u_share < MOST_SHARE):
            raise ScaleError(
                f"a relative standard uncertainty of {self.u_share}",
                f"above 0, below {MOST_SHARE:g}",
                code="combine-uncertainty",
                subject=self.name,
            )
        if not (math.isfinite(self.shared_share) and 0 <= self.shared_share < MOST_SHARE):
            raise ScaleError(
                f"a shared relative standard uncertainty of {self.shared_share}",
                f"0 up to below {MOST_SHARE:g}",
                code="combine-uncertainty",
                subject=self.name,
            )


@dataclass(frozen=True, slots=True)
class CombinedScale:
    """The weighted mean of several scales.

    Parameters
    ----------
    mm_per_unit
        The mean.
    u_share
        Its relative standard uncertainty.
    weights
        Weight of every estimate, in their order; they add up to 1.
    chi_square, freedom, probability
        Consistency test: weighted squares about the mean, degrees of freedom, probability of as much or more.
    findings
        One finding where they disagree.
    """

    mm_per_unit: float
    u_share: float
    weights: tuple[float, ...]
    chi_square: float
    freedom: int
    probability: float
    findings: tuple[Finding, ...]


def scale_estimates(
    references: Sequence[Reference],
    *,
    canal_name: str,
    frame: Frame | None = None,
    marking: Marking | None = None,
) -> tuple[ScaleEstimate, ...]:
    """Return what each of several references on one image tells, for :func:`combine_scales`.

    One too short for its marks (`MOST_SHARE`) tells nothing and is left out.

    Parameters
    ----------
    references
        Each with its own name.
    canal_name
        The canal they are to measure.
    frame
        Size of a pixel.
    marking
        Spread of the marks.

    Notes
    -----
    Own are the length's rectangular limit, the marks, and half (of the variance) of the geometry; the other
    half is shared by all that lie outside the canal, because a tooth not parallel to one of them is not parallel to
    its neighbours either.

    Examples
    --------
    >>> wire = Reference([(0, 0), (210, 0)], 20.0, 0.05, placement="beside", name="wire")
    >>> file = Reference([(0, 30), (220, 30)], 21.0, 0.25, name="instrument")
    >>> both = combine_scales(scale_estimates([wire, file], canal_name="MB"))
    >>> round(both.mm_per_unit, 4), [round(weight, 2) for weight in both.weights]
    (0.0954, [0.1, 0.9])
    """
    frame, marking = frame or Frame(), marking or Marking()
    told = (_estimate(one, frame, canal_name, marking) for one in references)
    return tuple(one for one in told if one is not None)


def _estimate(reference: Reference, frame: Frame, canal_name: str, marking: Marking) -> ScaleEstimate | None:
    scale = reference_scale(reference, frame, canal_name=canal_name)
    limit = scale.limit_share / math.sqrt(3)
    marks = marks_share(scale, marking)
    if scale.method == "in_canal":
        own, shared = math.hypot(limit, marks, IN_CANAL_SHARE), 0.0
    else:
        arms = outside_arms(scale.method, 1.0)
        shared = (arms.low_mm + arms.high_mm) / (2 * Z95 * math.sqrt(2))
        own = math.hypot(limit, marks, shared)
    if own >= MOST_SHARE:
        return None
    return ScaleEstimate(reference.name or UNNAMED[scale.method], scale.mm_per_unit, own, shared)


def combine_scales(estimates: Sequence[ScaleEstimate]) -> CombinedScale:
    """Return the weighted mean of scales, and whether they agree.

    Parameters
    ----------
    estimates
        One or more scales of the same image.

    Returns
    -------
    CombinedScale
        Where the estimates disagree the uncertainty is widened by the root of chi-square over its degrees of
        freedom (Birge 1932), and a finding names the estimate whose removal makes the others agree best.

    Raises
    ------
    ScaleError
        No estimates.

    Notes
    -----
    Generalised least squares of one constant: with the covariance V and ones e, the mean is
    e' V^-1 x / (e' V^-1 e). The test is Cox 2002, Metrologia 39:589, procedure A, with the covariance kept whole.
    Own uncertainties are independent; shared parts are fully correlated. The shares count as absolute
    uncertainties at the unweighted mean, so that an estimate does not gain weight by being small.

    Examples
    --------
    >>> both = combine_scales([ScaleEstimate("wire", 0.95, 0.01), ScaleEstimate("ball", 0.97, 0.01)])
    >>> round(both.mm_per_unit, 4), round(both.u_share, 4), both.freedom, both.findings
    (0.96, 0.0071, 1, ())
    """
    if not estimates:
        raise ScaleError("no scales to combine", "one or more", code="combine-empty")
    values = np.array([one.mm_per_unit for one in estimates])
    level = float(values.mean())
    covariance = _covariance(estimates) * level**2
    mean, u, weights, chi_square = _fit(values, covariance)
    freedom = len(values) - 1
    probability = _tail(chi_square, freedom)
    findings: tuple[Finding, ...] = ()
    if probability < CONSISTENT_P:
        u *= math.sqrt(max(chi_square / freedom, 1.0))
        findings = (_disagreement(estimates, values, covariance, probability),)
    return CombinedScale(
        mean, u / mean, tuple(float(w) for w in weights), chi_square, freedom, probability, findings
    )


def _covariance(estimates: Sequence[ScaleEstimate]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    own = np.array([one.u_share for one in estimates])
    shared = np.array([one.shared_share for one in estimates])
    return np.asarray(np.diag(own**2) + np.outer(shared, shared))


def _fit(
    values: np.ndarray[tuple[int], np.dtype[np.float64]],
    covariance: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> tuple[float, float, np.ndarray[tuple[int], np.dtype[np.float64]], float]:
    inverse = np.linalg.inv(covariance)
    total = float(inverse.sum())
    weights = inverse.sum(axis=0) / total
    mean = float(weights @ values)
    misses = values - mean
    return mean, 1 / math.sqrt(total), weights, float(misses @ inverse @ misses)


def _tail(chi_square: float, freedom: int) -> float:
    if freedom < 1:
        return 1.0
    from scipy.special import gammaincc  # noqa: PLC0415

    return float(gammaincc(freedom / 2, chi_square / 2))


def _disagreement(
    estimates: Sequence[ScaleEstimate],
    values: np.ndarray[tuple[int], np.dtype[np.float64]],
    covariance: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    probability: float,
) -> Finding:
    sentence = f"The scales disagree (probability {probability:.2g} of as much by chance)"
    if len(values) == 2:
        return Finding(
            "scales-disagree",
            f"{sentence}: {estimates[0].name} and {estimates[1].name} differ by "
            f"{100 * abs(values[1] / values[0] - 1):.1f} %.",
            "Check both lengths and their marks; two scales do not tell which is wrong.",
            "serious",
        )
    left = []
    for odd in range(len(values)):
        keep = np.arange(len(values)) != odd
        left.append(_fit(values[keep], covariance[np.ix_(keep, keep)])[3])
    odd = int(np.argmin(left))
    rest = _fit(np.delete(values, odd), np.delete(np.delete(covariance, odd, 0), odd, 1))[0]
    return Finding(
        "scales-disagree",
        f"{sentence}: {estimates[odd].name} is the odd one out, {100 * (values[odd] / rest - 1):+z.1f} % from the "
        "rest.",
        f"Check the length and the marks of {estimates[odd].name}, or leave it out.",
        "serious",
        estimates[odd].name,
    )
