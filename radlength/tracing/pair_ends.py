"""Where each of two lines of metal side by side ends: its height, the metal of the other taken out, and the edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.path import cumulative_length
from radlength.tracing.edge import Edge, fit_edge
from radlength.tracing.pair import Pair, find_pair
from radlength.tracing.pair_sums import ACROSS_MM, BLUR_MM, line_profile
from radlength.tracing.strip import directions, steps, strip_along
from radlength.tracing.tip import End
from radlength.tracing.two_steps import two_steps

FloatArray = NDArray[np.float64]

STEP_MM = 0.04
BACK_MM, AHEAD_MM = 3.2, 1.5
"""How much of the lines before the guess, and of what follows, is looked at."""
REAL = 0.3
"""A second line stands out at least this much of the first."""
NEAR_MM = 0.25
"""Beside lines the background is told within this distance of their borders."""
SMOOTH_MM = 0.04
ON_ONE, WHOLE_MM = 1.2, 0.1
"""Lines that two explain better by less may lie on one another; both together are this wide at least, half."""
STEPS, STEP_U_MM = 10.0, 0.05
"""A line ends in two steps where they are this much likelier than one; and how well each is placed."""


@dataclass(frozen=True, slots=True, eq=False)
class PairStrip:
    """A strip along a rough line, and two lines of metal in it.

    Parameters
    ----------
    base_mm
        (row, column) points of its middle, shape (N, 2).
    at
        Places along, 0 at the guess, shape (N,).
    grey
        Grey values, metal bright, at `ACROSS_MM`, shape (N, 97).
    guess
        Place along where one of the lines is thought to end.
    pair
        The lines.
    """

    base_mm: FloatArray
    at: FloatArray
    grey: NDArray[np.generic]
    guess: float
    pair: Pair


@dataclass(frozen=True, slots=True, eq=False)
class PairEnds:
    """Ends of two lines side by side.

    Parameters
    ----------
    ends
        Of each line that is seen.
    on_one
        Both ends where the lines look like one that ends in two steps.
    better
        How much more of the image two lines explain than one, a ratio.
    """

    ends: tuple[End, ...]
    on_one: tuple[End, ...]
    better: float


def pair_strip(
    grey: NDArray[np.generic], line_mm: FloatArray, guess_mm: FloatArray, side_mm: FloatArray
) -> PairStrip:
    """Return a strip along a rough line, a parabola before a guess, and two lines of metal in it.

    Parameters
    ----------
    grey
        Grey values, metal bright, shape (rows, columns).
    line_mm
        (row, column) points of a rough line, shape (N, 2).
    guess_mm
        Where one of the lines is thought to end.
    side_mm
        (row, column) size of a pixel.
    """
    base, at = _base(line_mm, guess_mm)
    strip = strip_along(grey, base, ACROSS_MM, side_mm)
    guess = float(at[np.hypot(*(base - guess_mm).T).argmin()])
    return PairStrip(base, at, strip, guess, find_pair(strip, at, guess))


def pair_ends(strip: PairStrip, *, guess_sd_mm: float) -> PairEnds:
    """Return the ends near a guess of two lines of metal near a rough one, or of one.

    Parameters
    ----------
    strip
        The strip.
    guess_sd_mm
        How well the guess is known.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    base, at, guess, pair = strip.base_mm, strip.at, strip.guess, strip.pair
    strongest = max((one.height for one in pair.courses), default=0.0)
    courses = [one for one in pair.courses if one.height > REAL * strongest]
    if not courses:
        return PairEnds((), (), pair.better)
    places = np.stack([one.across_mm for one in courses], axis=1)
    smooth = gaussian_filter1d(strip.grey, SMOOTH_MM / STEP_MM, axis=0)[:, ::2]
    heights = _heights(smooth, ACROSS_MM[::2], places, pair.half_mm)
    sideways = directions(base)[1]
    ends = []
    for number in range(len(courses)):
        edge = fit_edge(heights[:, number], at, guess, guess_sd_mm)
        half = float(np.interp(edge.place_mm - 0.7, at, pair.half_mm))
        line = base + places[:, number : number + 1] * sideways
        ends.append(end_on(line, at, heights[:, number], edge, half))
    if pair.better > ON_ONE:
        return PairEnds(tuple(ends), (), pair.better)
    middle = places.mean(axis=1, keepdims=True)
    whole = _heights(smooth, ACROSS_MM[::2], middle, np.maximum(pair.half_mm, WHOLE_MM))[:, 0]
    *falls, gain = two_steps(whole, at, guess)
    edges = [Edge(fall, 1.0, STEP_U_MM, 1.0, gain) for fall in falls] if gain > STEPS else []
    half = float(np.interp(guess - 0.7, at, pair.half_mm))
    on_one = tuple(end_on(base + middle * sideways, at, whole, edge, half) for edge in edges)
    return PairEnds(tuple(ends), on_one, pair.better)


def _base(line_mm: FloatArray, guess_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a parabola through the last millimetres before a guess, and places along it from there."""
    along = cumulative_length(line_mm)
    along -= along[np.hypot(*(line_mm - guess_mm).T).argmin()]
    at = steps(-BACK_MM, AHEAD_MM, STEP_MM)
    use = (along > -BACK_MM - 0.3) & (along < 0.1)
    factors = np.polyfit(along[use], line_mm[use], 2)
    return np.stack([np.polyval(one, at) for one in factors.T], axis=1), at


def _heights(
    strip: NDArray[np.generic], across: FloatArray, places: FloatArray, half_mm: FloatArray
) -> FloatArray:
    """Return how high lines stand beside a parabola of background, all fitted at once, shape (N, lines)."""
    away = across[None, :, None] - places[:, None, :]
    count = places.shape[1]
    x = across - places.mean(axis=1, keepdims=True)
    columns = np.concatenate(
        [line_profile(away, half_mm[:, None, None]), np.stack([np.ones_like(x), x, x * x], axis=2)], axis=2
    )
    near = np.abs(away).min(axis=2) < 2 * half_mm[:, None] + NEAR_MM
    turned = np.swapaxes(columns * near[..., None], 1, 2)
    firm = np.diag([1e-3] * count + [1e-9] * 3)
    return np.asarray(np.linalg.solve(turned @ columns + firm, turned @ strip[..., None])[:, :count, 0])


def end_on(line: FloatArray, at: FloatArray, heights: FloatArray, edge: Edge, half_mm: float) -> End:
    """Return the end of a line, whose points lie at places along, where its height has an edge."""
    place = edge.place_mm
    before = float(heights[(at > place - 1.2) & (at < place - 0.2)].mean())
    back = place - 0.1 * np.arange(round((place - at[0]) / 0.1), -1, -1)
    shown = np.stack([np.interp(back[back >= at[0]], at, line[:, axis]) for axis in (0, 1)], axis=1)
    way = shown[-1] - shown[-3]
    return End(
        point_mm=shown[-1],
        along=way / np.hypot(*way),
        u_mm=edge.u_mm,
        width_mm=float(np.hypot(half_mm / 2, BLUR_MM)),
        sure=edge.sure,
        gain=edge.gain,
        step=edge.height / max(before, 1e-9),
        axis_mm=shown,
    )
