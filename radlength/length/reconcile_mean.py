"""A weighted mean of lengths of one canal, made only because somebody asked for it. It is no decision."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import gammaincc

from radlength.clean import counted
from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.length.reconcile import RECONCILE_ALGORITHM, Reconciled
from radlength.length.reconcile_readings import covariance, linear
from radlength.quantity import Quantity
from radlength.trade import CAUTION, NOT_CONFIRMED


@dataclass(frozen=True, slots=True)
class Combined:
    """A weighted mean of lengths to the radiographic apex, made only because somebody asked for it.

    Parameters
    ----------
    length
        The mean. It is a canal length, no working length and no decision.
    names, weights
        Of each value; the weights add up to 1.
    chi_square, freedom, probability
        Consistency of the values about the mean.
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
            "algorithm": RECONCILE_ALGORITHM,
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
    Best linear unbiased mean with the covariance of what is shared (generalised least squares, Aitken 1936).

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
    values = np.array([reading.length.value for reading in readings])
    inverse = np.linalg.inv(covariance(readings))
    weights = inverse.sum(axis=1) / inverse.sum()
    apart = values - weights @ values
    chi_square, freedom = float(apart @ inverse @ apart), len(readings) - 1
    mean = linear(readings, [float(weight) for weight in weights])
    names = tuple(reading.name for reading in readings)
    return Combined(
        mean,
        names,
        tuple(map(float, weights)),
        chi_square,
        freedom,
        _chance(chi_square, freedom),
        tuple(_doubts(found, weights)),
    )


def _chance(chi_square: float, freedom: int) -> float:
    return float(gammaincc(freedom / 2, chi_square / 2))


def _doubts(found: Reconciled, weights: Any) -> list[Finding]:
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
    if any(weight < 0 for weight in weights):
        doubts.append(
            Finding(
                "mean-negative-weight",
                "Values with so much in common get a negative weight: the mean lies outside them.",
                "Leave out the less certain of two values that share their error.",
            )
        )
    return doubts
