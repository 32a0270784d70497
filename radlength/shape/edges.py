"""Marked edges of a root beside a canal: on which side each lies, and how far it is from an outline."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.geometry import Curve, check_path

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a root.

    Parameters
    ----------
    name
        As the user calls it.
    points_mm
        The marked polyline, (row, column) millimetres, shape (N, 2).
    side
        1 or -1: which way across the canal it lies.
    """

    name: str
    points_mm: FloatArray
    side: int

    def beyond(self, centre: FloatArray, outward: FloatArray, rim: FloatArray) -> float:
        """Return the shortest distance from a rim to the edge, negative where the rim passes it.

        Parameters
        ----------
        centre, outward
            A place on the canal and the unit vector across it towards the edge, millimetres.
        rim
            The outline there.

        Returns
        -------
        float
            Not a number where the line across meets no marked edge.
        """
        reach = self._met(centre, outward)
        if reach is None:
            return float("nan")
        away = float(np.linalg.norm(rim - centre))
        distance = nearest(rim, self.points_mm)
        return distance if reach >= away else -distance

    def _met(self, centre: FloatArray, outward: FloatArray) -> float | None:
        """Return how far along the line across the edge is first met."""
        a, b = self.points_mm[:-1] - centre, self.points_mm[1:] - centre
        ahead = np.array([[outward[0], outward[1]], [-outward[1], outward[0]]])
        (xa, ya), (xb, yb) = (ahead @ a.T), (ahead @ b.T)
        crosses = (ya <= 0) != (yb <= 0)
        if not crosses.any():
            return None
        xa, xb, ya, yb = xa[crosses], xb[crosses], ya[crosses], yb[crosses]
        met = xa + (xb - xa) * ya / (ya - yb)
        met = met[met > 0]
        return float(met.min()) if len(met) else None


def nearest(point: FloatArray, line: FloatArray) -> float:
    """Return the shortest distance from a point to a polyline, in their unit.

    Examples
    --------
    >>> nearest(np.array([0.0, 0.0]), np.array([[3.0, -4.0], [3.0, 4.0]]))
    3.0
    """
    return float(np.hypot(*(foot_on(point, line) - point)))


def foot_on(point: FloatArray, line: FloatArray) -> FloatArray:
    """Return the place of a polyline nearest to a point, shape (2,)."""
    start, step = line[:-1], np.diff(line, axis=0)
    share = np.einsum("ni,ni->n", point - start, step) / np.maximum(np.einsum("ni,ni->n", step, step), 1e-12)
    feet = start + np.clip(share, 0, 1)[:, None] * step
    return np.asarray(feet[int(np.argmin(np.hypot(*(feet - point).T)))])


def edges_of(
    edges_px: Mapping[str, ArrayLike], curve: Curve, mm: FloatArray, *, subject: str
) -> tuple[Edge, ...]:
    """Return the edges with their sides.

    Parameters
    ----------
    edges_px
        By name, (row, column) pixels.
    curve
        The canal in millimetres, from the crown to the apex.
    mm
        Millimetres for one pixel, (down, across).
    subject
        The canal, for refusals.

    Raises
    ------
    MarkError
        More than two edges, two on one side, one that crosses the canal, or a root that widens towards the apex: a
        path that runs the wrong way.
    """
    if len(edges_px) > 2:
        raise MarkError(
            f"{len(edges_px)} edges of one root",
            "two: one on each side of the canal",
            code="edges-many",
            subject=subject,
        )
    edges = tuple(_edge(name, path, curve, mm, subject) for name, path in edges_px.items())
    if len(edges) == 2 and edges[0].side == edges[1].side:
        raise MarkError(
            f"the edges {edges[0].name} and {edges[1].name} lie on the same side of the canal",
            "one edge on each side",
            "check which edge is which, and the path of the canal",
            code="edges-one-side",
            subject=subject,
        )
    if len(edges) == 2:
        _check_way(edges, curve, subject)
    return edges


def _edge(name: str, path_px: ArrayLike, curve: Curve, mm: FloatArray, subject: str) -> Edge:
    points = check_path(path_px, subject=f"{subject}, {name} edge") * mm
    along = curve.resample(200)
    ahead = np.gradient(along, axis=0)
    sides = []
    for point in points:
        at = int(np.argmin(np.hypot(*(along - point).T)))
        if 0 < at < len(along) - 1:
            away = point - along[at]
            sides.append(np.sign(-ahead[at, 1] * away[0] + ahead[at, 0] * away[1]))
    if not sides:
        raise MarkError(
            f"the {name} edge lies beside no part of the canal",
            "points along the root, beside the canal",
            code="edge-elsewhere",
            subject=subject,
        )
    if abs(np.sum(sides)) < len(sides):
        raise MarkError(
            f"the {name} edge crosses the canal",
            "an edge on one side of the canal",
            "mark the other edge by itself; stop at the apex",
            code="edge-crosses",
            subject=subject,
        )
    return Edge(name, points, int(sides[0]))


def _check_way(edges: tuple[Edge, ...], curve: Curve, subject: str) -> None:
    """Refuse a path on which the root is at least a quarter wider at its end than at its middle."""
    ends = [curve.point_at(curve.length * share) for share in (0.15, 0.45, 0.85)]
    first, middle, last = (sum(nearest(place, edge.points_mm) for edge in edges) for place in ends)
    covered = all(nearest(ends[0], edge.points_mm) < 6 for edge in edges)
    if covered and last > 1.25 * min(first, middle) and last > first:
        raise MarkError(
            f"the root is wider at the end of the path ({last:.1f} mm) than towards its start",
            "a path from the reference point on the crown to the apex",
            "the path runs the wrong way: mark it from the crown",
            code="path-reversed",
            subject=subject,
        )
