"""A canal that turns sharply in its last millimetres, as many do: steeper than the search can follow.

The search's own probabilities hold up to some node; from there one circle leads to the clicked apex, which a state's
place and slope and the apex determine. What speaks along it is looked up in what the search looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.path import equal_steps, polyline_length
from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, ROW_MM, Corridor, corridor_along
from radlength.tracing.search import NODE, SLOPES, UNIT, Chain

FloatArray = NDArray[np.float64]

NODES = 9
"""Nodes before the apex at which the circle may start: 4 mm."""
LEAST_ALONG_MM = 0.5
CURVATURE = (0.12, 1.2)
"""Of the circle, 1/mm; less the search follows by itself."""
MOST_TURN = 2.3
"""Of the circle, radians."""
OFTEN = 0.02
"""How often a canal turns so at a node."""
LEAST_ODDS = -2.0
"""Logarithm of the odds of such a course against all that the search can follow, below which none is looked at."""
UNLIKELY = 1e-5
"""A state this much less likely than the likeliest of its node is not looked at."""
SAMPLES = 12
OUTSIDE = -0.5
"""What speaks, in nats a row, for a place outside the corridor."""
ROUND_MM = 0.5
"""SD of what rounds the corner between the course and the circle."""


@dataclass(frozen=True, slots=True, eq=False)
class _Circles:
    """Circles from states to the apex, in millimetres along the corridor and across it, shape (circles,)."""

    node: NDArray[np.intp]
    slope: NDArray[np.intp]
    place: NDArray[np.intp]
    heading: FloatArray
    curvature: FloatArray
    length: FloatArray
    prior: FloatArray

    def points(self) -> tuple[FloatArray, FloatArray]:
        """Return rows and places across, mm, of points at equal steps along them, shape (circles, samples)."""
        part = (np.arange(SAMPLES) + 0.5) / SAMPLES
        start, bend = self.heading[:, None], self.curvature[:, None]
        ahead = start + bend * self.length[:, None] * part
        along = (np.sin(ahead) - np.sin(start)) / bend
        across = ACROSS_MM[self.place][:, None] - (np.cos(ahead) - np.cos(start)) / bend
        return self.node[:, None] * NODE + along / ROW_MM, across


def hooked(chain: Chain, corridor: Corridor) -> Corridor | None:
    """Return the corridor round the likeliest hooked course, or ``None`` where none is likely.

    Parameters
    ----------
    chain
        That of the search.
    corridor
        Where it searched.

    Notes
    -----
    The odds are those of two models with priors of their own (a Bayes factor, Kass and Raftery 1995, Journal of the
    American Statistical Association 90, 773). The curvature of the circle is taken to be evenly spread.
    """
    circles = _circles(chain)
    if not len(circles.node):
        return None
    rows, across = circles.points()
    told = circles.prior + _along(chain.nats, rows, across) * circles.length / ROW_MM
    best = int(told.argmax())
    without = chain.reached[-1] + np.log((chain.forward[-1] * chain.backward[-1]).sum())
    if told[best] + np.log(np.exp(told - told[best]).sum()) - without < LEAST_ODDS:
        return None
    node = int(circles.node[best])
    course = chain.course_to(node, int(circles.slope[best]), int(circles.place[best]))
    before = np.arange(node * NODE)
    at = np.concatenate([before, rows[best], [len(corridor.rows_mm) - 1]])
    aside = np.concatenate([np.interp(before, np.arange(node + 1) * NODE, course), across[best], [0.0]])
    return _corridor_along(_in_image(corridor, at, aside), corridor.anchors_mm)


def _circles(chain: Chain) -> _Circles:
    """Return the circles worth looking at."""
    nodes = len(chain.links)
    node = np.arange(max(nodes - NODES, 1), nodes)
    along = ((len(chain.nats) - 1 - node * NODE) * ROW_MM)[:, None, None]
    heading, across = np.arctan(SLOPES * UNIT)[None, :, None], ACROSS_MM[None, None]
    turn, chord = np.arctan2(-across, along) - heading, np.hypot(along, across)
    curvature = 2 * np.sin(turn) / chord
    state = chain.forward[node]
    kept = (state > UNLIKELY * state.max(axis=(1, 2), keepdims=True)) & (2 * np.abs(turn) < MOST_TURN)
    kept &= (
        (np.abs(curvature) >= CURVATURE[0]) & (np.abs(curvature) <= CURVATURE[1]) & (along > LEAST_ALONG_MM)
    )
    which, slope, place = np.nonzero(kept)
    ends_there = 2 * FINE_MM / along[which, 0, 0] ** 2 / (2 * CURVATURE[1])
    prior = np.log(state[which, slope, place] * OFTEN * ends_there) + chain.reached[node[which]]
    turn, chord = turn[which, slope, place], chord[which, 0, place]
    return _Circles(
        node=node[which],
        slope=slope,
        place=place,
        heading=heading[0, slope, 0],
        curvature=curvature[which, slope, place],
        length=chord * turn / np.sin(turn),
        prior=prior,
    )


def _along(nats: FloatArray, rows: FloatArray, across: FloatArray) -> FloatArray:
    """Return what speaks for courses, mean of their points, nats a row, shape (courses,)."""
    row = np.rint(rows).astype(np.intp)
    column = np.rint((across - ACROSS_MM[0]) / FINE_MM).astype(np.intp)
    inside = (row < len(nats)) & (column >= 0) & (column < len(ACROSS_MM))
    told = nats[np.minimum(row, len(nats) - 1), np.clip(column, 0, len(ACROSS_MM) - 1)]
    return np.asarray(np.where(inside, told, OUTSIDE).mean(axis=1))


def _in_image(corridor: Corridor, rows: FloatArray, across_mm: FloatArray) -> FloatArray:
    """Return the points of an image at rows and places of a corridor, (row, column) in mm, shape (N, 2)."""
    number = np.arange(len(corridor.rows_mm))
    middle, aside = (
        np.column_stack([np.interp(rows, number, table[:, axis]) for axis in (0, 1)])
        for table in (corridor.rows_mm, corridor.rows_across)
    )
    return np.asarray(middle + across_mm[:, None] * aside)


def _corridor_along(path_mm: FloatArray, anchors_mm: FloatArray) -> Corridor:
    """Return the corridor along a path whose corners are rounded."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    steps = EVERY * max(int(np.ceil(polyline_length(path_mm) / ROW_MM)), 4)
    points = equal_steps(path_mm, steps + 1)
    straight = np.linspace(0, 1, steps + 1)[:, None] * (points[-1] - points[0]) + points[0]
    # odd at both ends, so that they stay
    away = points - straight
    whole = np.concatenate([-away[:0:-1], away, -away[-2::-1]])
    rounded = straight + gaussian_filter1d(whole, ROUND_MM / FINE_MM, axis=0)[steps : 2 * steps + 1]
    return corridor_along(equal_steps(rounded, steps + 1), anchors_mm)
