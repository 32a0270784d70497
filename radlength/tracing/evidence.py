"""How likely a canal is at every place of a corridor, from a strip of the image.

A canal is a dark line, or a bright one where metal or filling lies in it; metal of other canals is taken out of the
strip first. How much a line must stand out is told by what goes on within 2 mm beside and 3 mm along, the same in an
image and in any part cut out of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.bright import BrightLine, bright_line
from radlength.tracing.corridor import ACROSS_MM, FINE_MM, ROW_MM, Corridor
from radlength.tracing.cover import covered, without
from radlength.tracing.filters import REFERENCE, SIGMAS_MM, Answers, Table
from radlength.tracing.metal import heights_of_rows
from radlength.tracing.odds import odds
from radlength.tracing.open_canal import OpenCanal, open_canal
from radlength.tracing.order import median, quantiles_of_rows

FloatArray = NDArray[np.float64]
Polarity = Literal["auto", "dark", "bright"]
"""``dark``: canals only. ``bright``: a bright line only, or an empty canal of an image stored inverted. ``auto``: by
evidence."""

CEILING = 1.55
"""An answer this many times what goes on around counts no more than that."""
FLOOR = -0.68
WIDTH_POWER = 0.8
"""Wide lines must stand out more: what goes on around grows with the width looked at."""
ONE_SIDED = 0.9
"""A line whose sides differ by this many times its depth is the edge of a root, not a canal."""
LEAST_DEPTH = 0.3
STEEP = 10.0
"""A change along the corridor this steep is an edge that crosses it, not a canal."""
STEEP_REACH_MM = (1.05, 0.3)
"""How far, along and across, such an edge spoils what is seen."""
TOLD = 0.3
"""Evidence above which the middle of a line says where the canal runs."""
METAL_EXACT = 3.0
"""Metal tells the place of its middle this many times as much as a canal does."""
QUIET = 0.1
"""Grey values: less than this around is an even area."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What speaks for a canal.

    Parameters
    ----------
    weight
        At every row and place across, shape (rows, 61); positive speaks for.
    place
        What answers there, for the exact place of the middle, where `weight` speaks for it; shape (rows, 61).
    one_sided
        How much brighter one side is than the other, in depths of the line between them, shape (rows, 61); 0 where
        metal is.
    long
        How much a line smoothed more along stands out, in units of what goes on around, shape (rows, 61).
    around
        How much goes on around each row, grey values, shape (rows,).
    line
        The bright line in the corridor, ours or not, or ``None``.
    hidden
        Places that metal of other canals covers, shape (rows, 61).
    wide
        The wide canal of an open apex in the corridor, or ``None``.
    """

    weight: FloatArray
    place: FloatArray
    one_sided: FloatArray
    long: FloatArray
    around: FloatArray
    line: BrightLine | None
    hidden: NDArray[np.bool_]
    wide: OpenCanal | None = None


def weigh(strip: Table, corridor: Corridor, polarity: Polarity = "auto") -> Evidence:
    """Return what speaks for a canal in a corridor.

    Parameters
    ----------
    strip
        The strip of the image round it, shape (3 k + 1, 121).
    corridor
        The corridor, whose clicks tell a bright line in this canal from one in the next.
    polarity
        What to look for; with ``"bright"`` the strip is expected to be turned already.
    """
    found = Answers(strip)
    metal = heights_of_rows(found.short)
    if polarity != "auto":
        evidence = _without_metal(found, None, np.zeros(metal.height.shape, dtype=np.bool_))
        return _with_wide(evidence, found) if polarity == "dark" else evidence
    quiet = quiet_around(found.around)
    line, places = bright_line(metal, quiet, corridor), covered(metal, quiet)
    rest = Answers(without(strip, places)) if places.any() else found
    inner = (places.shape[1] - len(ACROSS_MM)) // 2
    evidence = _without_metal(rest, line, places[:, inner:-inner])
    if line and line.ours:
        return _with_metal(evidence, found, line)
    return _with_wide(evidence, rest)


def _without_metal(found: Answers, line: BrightLine | None, hidden: NDArray[np.bool_]) -> Evidence:
    around, wide = _around(found.around), _around(found.long_around)
    one_sided = found.step / np.maximum(found.lines.max(axis=0), LEAST_DEPTH * around[:, None])
    dark, sigma = _dark(found, around, one_sided)
    weight = np.where(hidden, 0.0, odds(dark, sigma))
    place = np.where(weight > TOLD, dark, np.minimum(dark, 0))
    long = found.long_lines.max(axis=0) / wide[:, None]
    place, one_sided = (np.where(hidden, 0.0, one) for one in (place, one_sided))
    return Evidence(weight, place, one_sided, long, around, line, hidden)


def _with_metal(evidence: Evidence, found: Answers, line: BrightLine) -> Evidence:
    """Return the evidence with the metal of our canal: its line where it is seen, nothing where it is hidden."""
    on, between = line.rows[:, None], _between(line.rows)[:, None]
    long = (-found.long_lines).max(axis=0) / _around(found.long_around)[:, None]
    weight, place = (
        np.where(on, seen, np.where(between, 0.0, one))
        for one, seen in ((evidence.weight, line.weight), (evidence.place, METAL_EXACT * line.weight))
    )
    return replace(
        evidence,
        weight=weight,
        place=place,
        one_sided=np.where(on, 0.0, evidence.one_sided),
        long=np.where(on, long, evidence.long),
        hidden=np.zeros_like(evidence.hidden),
    )


def _with_wide(evidence: Evidence, found: Answers) -> Evidence:
    """Return the evidence; where a wide canal is seen, with the middle between its walls wherever both are."""
    wide = open_canal(found.short, evidence.around)
    if wide is None:
        return evidence
    weight, place, one_sided, long = (
        np.where(wide.rows[:, None], seen, one)
        for one, seen in (
            (evidence.weight, wide.weight),
            (evidence.place, wide.weight),
            (evidence.one_sided, wide.one_sided),
            (evidence.long, wide.height),
        )
    )
    return replace(evidence, weight=weight, place=place, one_sided=one_sided, long=long, wide=wide)


def _between(rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the rows between the first and the last of a line."""
    return np.asarray(np.logical_or.accumulate(rows) & np.logical_or.accumulate(rows[::-1])[::-1])


def _dark(found: Answers, around: FloatArray, one_sided: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return what answers, in units of what goes on around, and the number of the sigma that answers most."""
    widths = (np.array(SIGMAS_MM) / SIGMAS_MM[REFERENCE]) ** -WIDTH_POWER
    most, sigma = _most(found.lines * widths[:, None, None].astype(np.float32))
    answer = most / around[:, None]
    weight = np.where(answer > 0, CEILING * np.tanh(answer / CEILING), np.maximum(answer, FLOOR))
    even = 1 / (1 + (one_sided / ONE_SIDED) ** 2)
    weight = np.where(weight > 0, weight * even, weight) * _clear(found.slope, around)
    return np.asarray(weight, dtype=np.float64), sigma


def _most(tables: Table) -> tuple[Table, NDArray[np.intp]]:
    """Return the highest of several tables at every place, and its number: the first of equals."""
    most, which = tables[0].copy(), np.zeros(tables.shape[1:], dtype=np.intp)
    for number, one in enumerate(tables[1:], start=1):
        which[one > most] = number
        np.maximum(most, one, out=most)
    return most, which


def _clear(slope: Table, around: FloatArray) -> FloatArray:
    """Return 1 where nothing crosses the corridor, towards 0 near an edge that does."""
    import cv2  # noqa: PLC0415

    along, across = (
        2 * round(reach / step) + 1 for reach, step in zip(STEEP_REACH_MM, (ROW_MM, FINE_MM), strict=True)
    )
    steep = cv2.dilate((slope / around[:, None]).astype(np.float32), np.ones((along, across), np.uint8))
    return np.asarray(1 / (1 + (steep / STEEP) ** 2), dtype=np.float64)


def _around(answer: Table) -> FloatArray:
    """Return how much goes on around each row: 40 % quantile over 4 mm across, median over 6 mm along.

    Scaled so that it is the SD where the answers are normal (quantile 0.4 of a half-normal: 0.5244).
    """
    from scipy.ndimage import median_filter  # noqa: PLC0415

    spread = quantiles_of_rows(np.abs(answer), 0.4) / 0.5244
    window = min(41, len(spread))
    return np.maximum(np.asarray(median_filter(spread, size=window, mode="nearest"), dtype=np.float64), QUIET)


def quiet_around(answer: Table) -> float:
    """Return how much goes on around along the whole path where metal is left out: lower quartiles, their median."""
    return max(median(quantiles_of_rows(np.abs(answer), 0.25)), QUIET)
