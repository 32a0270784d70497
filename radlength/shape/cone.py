"""The obturating cone that goes with a prepared canal: where it binds, and how loose it is above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.errors import TradeError
from radlength.finding import Finding
from radlength.shape.prepared import PreparedCanal, distances_mm
from radlength.trade.cones import cone_limit
from radlength.trade.instrument_shape import Instrument

FloatArray = NDArray[np.float64]
_STEP_MM = 0.01
EXACT_MM = 0.005


@dataclass(frozen=True, slots=True)
class ConeFit:
    """How a cone sits in a prepared canal, both round and ideal.

    Parameters
    ----------
    cone
        The cone, its tip at 0.
    binds_mm
        Where its tip comes to rest, in millimetres short of the end of the working length; negative: beyond it.
    tug_back_mm
        Where the tip of the largest and of the smallest cone within the limits comes to rest: the band in which the
        pull is to be expected.
    at_mm, looseness_mm
        Distances from the end of the working length, and canal less cone in diameter there with the tip at the end.
    limit_words
        Limits of the cone and their source.
    findings
        Doubts.
    """

    cone: Instrument
    binds_mm: float
    tug_back_mm: tuple[float, float]
    at_mm: FloatArray
    looseness_mm: FloatArray
    limit_words: str
    findings: tuple[Finding, ...]


def matching_cone(canal: PreparedCanal) -> Instrument:
    """Return the cone of the last instrument taken to the full length: its size and its taper.

    Common practice, no source.

    Raises
    ------
    TradeError
        No instrument went to the full length.
    """
    to_length = [one.instrument for one in canal.passes if one.short_mm == 0]
    if not to_length:
        raise TradeError(
            "no instrument was taken to the working length",
            "a cone is chosen by the last instrument that was",
            "state it, or name a cone",
            code="cone-no-instrument",
        )
    last = to_length[-1]
    return Instrument(
        last.size, last.taper, last.table, name=f"cone {last.label}", working_mm=last.working_mm
    )


def fit_cone(canal: PreparedCanal, length_mm: float, cone: Instrument | None = None) -> ConeFit:
    """Return how a cone fits.

    Parameters
    ----------
    canal
        The prepared canal.
    length_mm
        From the end of the working length to where the canal opens, in millimetres.
    cone
        The cone; by default :func:`matching_cone`.

    Notes
    -----
    A cone comes to rest where it is first as thick as the canal. A tip that is thicker by e in a canal of taper t
    rests e / t short.

    Examples
    --------
    >>> from radlength.shape.prepared import Pass
    >>> fit = fit_cone(PreparedCanal((Pass(Instrument(30, 0.04)),)), 14.0)
    >>> fit.binds_mm, fit.tug_back_mm
    (0.0, (1.75, -1.75))
    """
    cone = cone or matching_cone(canal)
    limit = cone_limit(cone.size)
    at = distances_mm(length_mm, 1.0)
    fine = np.arange(0.0, length_mm + 1e-9, _STEP_MM)
    wide = np.array([canal.diameter_mm(float(x)) for x in fine])
    binds = _rest(cone, 0.0, fine, wide)
    band = (_rest(cone, limit.limit_mm, fine, wide), _rest(cone, -limit.limit_mm, fine, wide))
    loose = np.array([canal.diameter_mm(float(x)) - cone.diameter_mm(float(x)) for x in at])
    return ConeFit(cone, binds, band, at, loose, limit.words, tuple(_doubts(cone, binds, band, at, loose)))


def _rest(cone: Instrument, thicker_mm: float, fine: FloatArray, wide: FloatArray) -> float:
    """Return where a tip rests short of the end: the deepest place at which the cone is nowhere thicker than the canal.

    The canal beyond the end of the working length is taken as a hole of the width of the end, for a cone that goes
    past it.
    """
    # what stays above the opening goes in when the tip passes the end
    along = np.arange(2 * len(fine), dtype=np.float64) * _STEP_MM
    thick = np.array([cone.diameter_mm(float(x)) + thicker_mm for x in along])
    for steps in range(-len(fine) + 1, len(fine)):
        short = steps * _STEP_MM
        if steps >= 0:
            fits = np.all(thick[: len(fine) - steps] <= wide[steps:] + 1e-9)
        else:
            fits = np.all(thick[-steps : len(fine) - steps] <= wide + 1e-9)
        if fits:
            tight = short - _STEP_MM if steps > 1 - len(fine) else short
            return round(_between(tight, short, (along, thick), (fine, wide)), 3)
    return float(fine[-1])


def _between(
    tight: float, loose: float, cone: tuple[FloatArray, FloatArray], canal: tuple[FloatArray, FloatArray]
) -> float:
    """Return where between two places of the tip, one too deep and one that fits, the cone just fits."""
    at, wide = canal
    for _ in range(12):
        middle = (tight + loose) / 2
        inside = at >= middle
        fits = np.all(np.interp(at[inside] - middle, *cone) <= wide[inside] + 1e-9)
        tight, loose = (tight, middle) if fits else (middle, loose)
    return loose


def _doubts(
    cone: Instrument,
    binds: float,
    band: tuple[float, float],
    at: FloatArray,
    loose: Sequence[float] | FloatArray,
) -> list[Finding]:
    found = []
    tight = [float(x) for x, gap in zip(at, loose, strict=True) if gap < -EXACT_MM]
    if binds > EXACT_MM:
        found.append(
            Finding(
                "cone-wider",
                f"{cone.label} is wider than the canal"
                + (f" at {tight[0]:g} to {tight[-1]:g} mm" if tight else "")
                + (
                    f" and would come to rest {binds:.2f} mm short."
                    if binds < at[-1] - 2 * _STEP_MM
                    else " and does not enter it."
                ),
                "Choose the cone by the last instrument taken to length, size and taper.",
                "serious",
                cone.label,
            )
        )
    if binds < -EXACT_MM:
        found.append(
            Finding(
                "cone-beyond",
                f"{cone.label} would pass the end of the working length by {-binds:.2f} mm.",
                "Gauge the end and choose, or trim, a thicker tip.",
                "serious",
                cone.label,
            )
        )
    elif band[1] < -EXACT_MM:
        found.append(
            Finding(
                "cone-tolerance",
                f"{cone.label}: within its limits it may rest anywhere from {band[0]:.2f} mm short to {-band[1]:.2f} mm"
                " beyond.",
                "Try the cone in and confirm it on a radiograph.",
                "note",
                cone.label,
            )
        )
    return found
