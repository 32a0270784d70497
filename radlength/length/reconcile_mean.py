"""A weighted mean of lengths of one canal, made only because somebody asked for it. It is no decision."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.special import gammaincc

from radlength.clean import counted
from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.length.reconcile import Reconciled
from radlength.length.reconcile_readings import Reading, covariance, linear
from radlength.quantity import Quantity
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty.budget import Z95

MEAN_ALGORITHM: Final = "4"
"""Version of the mean: raised when the same values would give another one. 2: an image counts once. 3: the interval of
values that do not agree is widened. 4: what one view hides of a canal, every image of it hides."""

CONSISTENT_P = 0.05
"""Probability below which values count as not agreeing together (the usual 5 %)."""


@dataclass(frozen=True, slots=True)
class Combined:
    """A weighted mean of lengths to the radiographic apex, made only because somebody asked for it.

    Parameters
    ----------
    length
        The mean. It is a canal length, no working length and no decision.
    names, weights
        Of each value; the weights add up to 1. One that shares an image with a surer one has the weight 0.
    chi_square, freedom, probability
        Consistency of the values with a weight about the mean. Where the probability is below `CONSISTENT_P` the
        interval is widened.
    findings
        Why the mean may mislead.
    """

    length: Quantity
    names: tuple[str, ...]
    weights: tuple[float, ...]
    chi_square: float
    freedom: int
    probability: float
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data, with status and caution."""
        return {
            "length": self.length.as_dict(),
            "ends_at": "radiographic apex",
            "weights": dict(zip(self.names, self.weights, strict=True)),
            "chi_square": self.chi_square,
            "freedom": self.freedom,
            "probability": self.probability,
            "findings": [finding.as_dict() for finding in self.findings],
            "algorithm": MEAN_ALGORITHM,
            "status": NOT_CONFIRMED,
            "caution": CAUTION,
        }


def combine(found: Reconciled) -> Combined:
    """Return the weighted mean of lengths to the radiographic apex.

    Raises
    ------
    MarkError
        Fewer than two lengths could be brought there.

    Notes
    -----
    Best linear unbiased mean with the covariance of what is shared (generalised least squares, Aitken 1936), its
    variance first order with covariances (JCGM 100:2008, 5.2.2, equation 13).

    Lengths of one image are correlated, since marks, scale and view are one (5.2.4: one instrument, standard or datum
    used for both), and nobody knows by how much. Their covariance is taken as the smaller of their variances, as if
    the less sure length were the surer one with a further error of its own: the correlation of 5.2.2, equation 14, is
    u(surer) / u(less sure), 1 where both are equally sure. The best weight of the less sure one is then 0, so that
    each image counts once and the interval never gets narrower by measuring it twice.

    A bend or a lean along the beam is the canal's own: every image of it from about there hides it and reads as much
    too short, or with an instrument beyond the apex as much too long. By how much one arm exceeds the other in
    quadrature is that part, and parts of several images to one side are added before they are squared
    (JCGM 100:2008, 5.2.2, note 1: correlation 1).

    Values that scatter more than their intervals say (chi-square) make u and both arms wider by the root of chi-square
    over its degrees of freedom (Birge 1932), as in :func:`radlength.scale.combine.combine_scales`.

    Examples
    --------
    >>> from radlength.length.reconcile import Reading, reconcile
    >>> a = Reading("a", Quantity(21.0, 0.3, 20.4, 21.6), "radiographic apex")
    >>> b = Reading("b", Quantity(21.6, 0.6, 20.4, 22.8), "radiographic apex")
    >>> mean = combine(reconcile([a, b], "46"))
    >>> round(mean.length.value_mm, 2), [round(weight, 2) for weight in mean.weights]
    (21.12, [0.8, 0.2])
    """
    readings = [reading for reading in found.at_apex if reading is not None]
    if len(readings) < 2:
        raise MarkError(
            f"a mean of {counted(len(readings), 'length')} at one end point",
            "two lengths or more",
            "add another value",
            code="combine-few",
        )
    counted_ones = each_image_once(readings)
    values = np.array([reading.length.value for reading in counted_ones])
    inverse = np.linalg.inv(covariance(counted_ones))
    shares = inverse.sum(axis=1) / inverse.sum()
    apart = values - shares @ values
    chi_square, freedom = float(apart @ inverse @ apart), len(counted_ones) - 1
    chance = _chance(chi_square, freedom) if freedom else 1.0
    widened = math.sqrt(chi_square / freedom) if chance < CONSISTENT_P else 1.0
    weighted = [float(weight) for weight in shares]
    mean = _wider(_hidden_alike(linear(counted_ones, weighted), counted_ones, weighted), widened)
    by_reading = {id(one): float(weight) for one, weight in zip(counted_ones, shares, strict=True)}
    weights = tuple(by_reading.get(id(reading), 0.0) for reading in readings)
    return Combined(
        mean,
        tuple(reading.name for reading in readings),
        weights,
        chi_square,
        freedom,
        chance,
        (*_doubts(found, weights, chance), *_left_out(readings, counted_ones)),
    )


def _hidden_alike(mean: Quantity, readings: Sequence[Reading], weights: Sequence[float]) -> Quantity:
    """Return a mean whose arms count what one view hides of a canal as hidden alike on all its images."""
    more = []
    for upper in (False, True):
        hidden = [
            weight
            * math.sqrt(max(one.own_arm_mm(upper=upper) ** 2 - one.own_arm_mm(upper=not upper) ** 2, 0.0))
            for one, weight in zip(readings, weights, strict=True)
            if one.images and weight > 0
        ]
        more.append(sum(hidden) ** 2 - sum(part**2 for part in hidden))
    low, high = math.sqrt(mean.lower_arm**2 + more[0]), math.sqrt(mean.upper_arm**2 + more[1])
    u = math.sqrt(mean.u**2 + sum(more) / (2 * Z95**2))
    return Quantity(mean.value, u, mean.value - low, mean.value + high, mean.unit)


def _wider(length: Quantity, factor: float) -> Quantity:
    low, high = length.value - factor * length.lower_arm, length.value + factor * length.upper_arm
    return Quantity(length.value, factor * length.u, low, high, length.unit)


def each_image_once(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return lengths of which no two share an image, the surest first choice, in the order given.

    Parameters
    ----------
    readings
        With one end point. Those that name no image always stay.

    Examples
    --------
    >>> a = Reading("a", Quantity(21.0, 0.3, 20.4, 21.6), "radiographic apex", images=frozenset({"one"}))
    >>> b = Reading("b", Quantity(21.6, 0.6, 20.4, 22.8), "radiographic apex", images=frozenset({"one", "two"}))
    >>> [reading.name for reading in each_image_once([b, a])]
    ['a']
    """
    used: set[str] = set()
    kept: set[int] = set()
    for place in sorted(range(len(readings)), key=lambda number: readings[number].length.u):
        if used.isdisjoint(readings[place].images):
            used |= readings[place].images
            kept.add(place)
    return tuple(reading for place, reading in enumerate(readings) if place in kept)


def _left_out(readings: Sequence[Reading], counted_ones: Sequence[Reading]) -> list[Finding]:
    there = {id(reading) for reading in counted_ones}
    names = [reading.name for reading in readings if id(reading) not in there]
    if not names:
        return []
    told = (
        f"Not in the mean: {', '.join(names)}, measured on an image that a surer length was measured on too."
    )
    if len(counted_ones) == 1:
        told += f" So this is no mean, but {counted_ones[0].name} alone."
    return [
        Finding("mean-image-once", told, "Add a length by another method or of another image.", "question"),
    ]


def _chance(chi_square: float, freedom: int) -> float:
    return float(gammaincc(freedom / 2, chi_square / 2))


def _doubts(found: Reconciled, weights: Sequence[float], chance: float) -> list[Finding]:
    doubts = [
        Finding(
            "mean-of-conflict",
            "The values conflict: their mean is the length of nothing.",
            "Find out which of them is wrong.",
            "serious",
        )
        for finding in found.findings
        if finding.code in ("values-conflict", "values-changed")
    ][:1]
    if not doubts and chance < CONSISTENT_P:
        doubts.append(
            Finding(
                "mean-inconsistent",
                "No two values conflict, but all together scatter more than their intervals say (probability "
                f"{chance:.2g} of as much by chance): the interval of the mean is widened.",
                "Look for values of another stage, canal or reference point; measure again.",
            )
        )
    if any(weight < 0 for weight in weights):
        doubts.append(
            Finding(
                "mean-negative-weight",
                "Values with so much in common get a negative weight: the mean lies outside them.",
                "Leave out the less certain of two values that share their error.",
            )
        )
    return doubts
