"""The likely courses of a canal through a corridor: forward and backward over place and slope, no random draws.

State: place across the corridor (61 of 0.05 mm) and slope (9). A canal is smooth, so its slope changes little from
step to step; clicks pull, evidence pulls, both ends are held. Forward-backward recursion of a hidden Markov chain
(Rabiner 1989, Proceedings of the IEEE 77(2), eq. 19 to 27). The work grows with the length of the path alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.corridor import ACROSS_MM, FINE_MM, ROW_MM, Corridor

FloatArray = NDArray[np.float64]

NODE = 3
"""Rows of evidence from one node of the chain to the next: 0.45 mm."""
SLOPES = np.arange(-4, 5)
"""Slopes, in steps of 0.05 mm across for 0.45 mm along: up to 24 degrees against the curve through the clicks."""
UNIT = FINE_MM / (ROW_MM * NODE)
"""One of them, as a slope."""
EVIDENCE = 0.23
"""Nats of evidence of weight 1 in one row: rows of 0.15 mm are far from independent."""
CLICK_MM = 0.11
"""SD of a click between the ends."""
STRAY_CLICK = 0.003
BEND = (0.052, 0.14, 0.02)
"""SD of the change of slope at a node, that of a sudden one, and how often that happens."""
FIRST_SLOPE = 0.30
SAG = (0.025, 2.0)
"""A canal leaves the curve through two clicks that are d apart by about this times d squared (an arc's sagitta)."""
LEAST_SAG_MM = 0.12
STRAY = 0.02
SAG_LENGTH_MM = 6.0
"""Length along which a canal keeps to one side of the curve."""
_OUTSIDE = -8.0


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """The chain of a search.

    Parameters
    ----------
    links
        Likelihood of each link from a node to the next, shape (nodes - 1, slopes, 61).
    forward, backward
        Likelihood of each state from what lies before it, and from its own link on, shape (nodes, slopes, 61).
    sums
        What the states before it gave each node before they were made to add to 1, shape (nodes - 1,).
    highest
        Logarithm of what the links were divided by, shape (nodes - 1,).
    nats
        What speaks for every place of every row, shape (rows, 61).
    """

    links: FloatArray
    forward: FloatArray
    backward: FloatArray
    sums: FloatArray
    highest: FloatArray
    nats: FloatArray

    @property
    def reached(self) -> FloatArray:
        """Logarithm of what speaks for all courses up to each node together, shape (nodes,)."""
        return np.concatenate([[0.0], np.cumsum(np.log(self.sums) + self.highest)])

    def course_to(self, node: int, slope: int, place: int) -> FloatArray:
        """Return the likeliest course to a state: place across at every node up to it, mm, shape (node + 1,).

        Parameters
        ----------
        node, slope, place
            The state, by numbers.
        """
        course = _course(self.forward[: node + 1], self.links[:node], place, slope)
        return np.asarray(ACROSS_MM[course])

    def kept(self, near: NDArray[np.bool_], first: int) -> float:
        """Return the probability that the canal runs through some places only, from a node to the last.

        Parameters
        ----------
        near
            Which places, shape (nodes, 61).
        first
            The node.

        Notes
        -----
        The forward recursion with nothing outside the places, over the same with everything.
        """
        state, links = self.forward[first], self.links[first:] * near[first:-1, None]
        bend, source = _bend(), _moved()[0]
        padded = np.zeros(state.size + 1)
        for link, total in zip(links, self.sums[first:], strict=True):
            padded[:-1] = (state * link).ravel()
            state = bend @ padded[source] / total
        every = float((self.forward[-1] * self.backward[-1]).sum())
        return min(float((state * self.backward[-1]).sum()) / every, 1.0) if every > 0 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Courses:
    """Where a canal is likely to run.

    Parameters
    ----------
    share
        Probability of every place across at every node, shape (nodes, 61), rows adding to 1.
    course_mm
        One connected likely course: place across at every node, shape (nodes,).
    rows
        Row of the evidence of every node, shape (nodes,).
    chain
        What they were read from.
    """

    share: FloatArray
    course_mm: FloatArray
    rows: NDArray[np.intp]
    chain: Chain = field(repr=False)

    def within(self, across_mm: FloatArray, limit_mm: float, start: float) -> float:
        """Return the probability that the canal runs near a line all along, from one place on.

        Parameters
        ----------
        across_mm
            Place of the line across the corridor at every row of the evidence, shape (rows,).
        limit_mm
            How near.
        start
            From where on, as a part of the path.
        """
        near = np.abs(ACROSS_MM - across_mm[self.rows][:, None]) <= limit_mm + 1e-9
        return self.chain.kept(near, int(len(near) * start))


def likely_courses(weight: FloatArray, corridor: Corridor) -> Courses:
    """Return where a canal is likely to run, given evidence of shape (rows, 61)."""
    nats = EVIDENCE * weight + _pull(corridor)
    links, highest = _links(nats)
    (forward, sums), backward = _forward(links), _backward(links)
    share = forward[:-1] * backward[:-1]
    places = share.sum(axis=1)
    end = np.zeros((1, len(ACROSS_MM)))
    end[0, len(ACROSS_MM) // 2] = 1.0
    places = np.concatenate([places / places.sum(axis=1, keepdims=True), end])
    rows = _rows(len(places), len(weight))
    chain = Chain(links, forward, backward, sums, highest, nats)
    return Courses(places, ACROSS_MM[_course(forward, links)], rows, chain)


def likely_course(weight: FloatArray, corridor: Corridor) -> FloatArray:
    """Return the one connected likely course alone: place across at every row of the evidence, mm, shape (rows,)."""
    links, _ = _links(EVIDENCE * weight + _pull(corridor))
    course = ACROSS_MM[_course(_forward(links)[0], links)]
    return np.interp(np.arange(len(weight)), _rows(len(course), len(weight)), course)


def _rows(nodes: int, rows: int) -> NDArray[np.intp]:
    """Return the row of the evidence of every node; the last one's is its end."""
    at = np.minimum(np.arange(nodes) * NODE, rows - 1)
    at[-1] = rows - 1
    return at


def _pull(corridor: Corridor) -> FloatArray:
    """Return what is known before looking, nats, shape (rows, 61): near the curve, and near the clicks."""
    at, side, _ = corridor.offsets()
    sag = _sag_mm(at)[:, None]
    pull = np.log(np.exp(-0.5 * (ACROSS_MM / sag) ** 2) + STRAY) * (ROW_MM / SAG_LENGTH_MM)
    for row, place in zip(at[1:-1], side[1:-1], strict=True):
        pull[row] += np.log(np.exp(-0.5 * ((ACROSS_MM - place) / CLICK_MM) ** 2) + STRAY_CLICK)
    return np.asarray(pull)


def _sag_mm(at: NDArray[np.intp]) -> FloatArray:
    """Return how far canals leave the curve through clicks, at every row, mm, given the rows of the clicks."""
    gaps = np.diff(at)
    sag = np.repeat(np.maximum(SAG[0] * (gaps * ROW_MM) ** SAG[1], LEAST_SAG_MM), gaps)
    return np.asarray(np.append(sag, sag[-1]))


def _links(nats: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the likelihood of each link from a node to the next over the highest of all, and the logarithm of that.

    Their shapes are (links, slopes, 61) and (links,).
    """
    count, places = (len(nats) - 1) // NODE, len(ACROSS_MM)
    margin = int(SLOPES[-1]) + 1
    padded = np.pad(nats, ((0, 0), (margin, margin)), constant_values=_OUTSIDE)
    total = np.zeros((len(SLOPES), count, places))
    for step in range(NODE):
        rows = padded[step : step + count * NODE : NODE]
        between = [rows[:, :-1] + part / NODE * np.diff(rows, axis=1) for part in range(NODE)]
        for which, slope in enumerate(SLOPES):
            shift, part = divmod(int(slope) * step, NODE)
            total[which] += between[part][:, margin + shift : margin + shift + places]
    highest = total.max(axis=(0, 2))
    total -= highest[:, None]
    return np.ascontiguousarray((np.exp(total) + 1e-9).transpose(1, 0, 2)), highest


def _forward(links: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the states, and what each added to before it was made to add to 1."""
    states, sums = np.zeros((len(links) + 1, *links.shape[1:])), np.ones(len(links))
    states[0, :, links.shape[2] // 2] = _first_slope()
    bend, source = _bend(), _moved()[0]
    padded = np.zeros(links[0].size + 1)
    for i, link in enumerate(links):
        padded[:-1] = (states[i] * link).ravel()
        new = bend @ padded[source]
        sums[i] = new.sum()
        states[i + 1] = new / sums[i]
    return states, sums


def _backward(links: FloatArray) -> FloatArray:
    states = np.zeros((len(links) + 1, *links.shape[1:]))
    states[-1, :, links.shape[2] // 2] = _first_slope()
    bend, target = _bend(), _moved()[1]
    padded = np.zeros(links[0].size + 1)
    for i in range(len(links) - 1, -1, -1):
        ahead = states[i + 1] if i == len(links) - 1 else bend @ states[i + 1]
        padded[:-1] = ahead.ravel()
        new = padded[target] * links[i]
        states[i] = new / new.sum()
    return states


def _course(
    forward: FloatArray, links: FloatArray, end: int = len(ACROSS_MM) // 2, slope: int | None = None
) -> NDArray[np.intp]:
    """Return a connected course: back from the end, at each node the likeliest way to have come."""
    bend, source = _bend(), _moved()[0]
    nodes, places = len(forward), links.shape[2]
    course = np.full(nodes, end, dtype=np.intp)
    ended = np.zeros((nodes - 1, links[0].size + 1))
    ended[:, :-1] = (forward[:-1] * links).reshape(nodes - 1, -1)
    for i in range(nodes - 2, -1, -1):
        come = ended[i, source[:, course[i + 1]]]
        slope = int((come if slope is None else come * bend[slope]).argmax())
        course[i] = min(max(course[i + 1] - int(SLOPES[slope]), 0), places - 1)
    course[0] = places // 2
    return course


@cache
def _bend() -> FloatArray:
    """Symmetric share of slope changes, shape (slopes, slopes)."""
    usual, sudden, often = BEND
    change = np.subtract.outer(SLOPES, SLOPES) * UNIT
    return np.asarray((1 - often) * _bell(change, usual) + often * _bell(change, sudden))


def _bell(change: FloatArray, sd: float) -> FloatArray:
    whole = np.exp(-0.5 * (np.arange(-30, 31) * UNIT / sd) ** 2).sum()
    return np.asarray(np.exp(-0.5 * (change / sd) ** 2) / whole)


@cache
def _first_slope() -> FloatArray:
    return np.asarray(np.exp(-0.5 * (SLOPES * UNIT / FIRST_SLOPE) ** 2))


@cache
def _moved() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return from where, and to where, each state moves, as places in a flat array; past its end is nothing."""
    places, slopes = np.arange(len(ACROSS_MM))[None], np.arange(len(SLOPES))[:, None]
    nothing = len(SLOPES) * len(ACROSS_MM)

    def flat(place: NDArray[np.intp]) -> NDArray[np.intp]:
        inside = (place >= 0) & (place < len(ACROSS_MM))
        return np.where(inside, slopes * len(ACROSS_MM) + place, nothing)

    return flat(places - SLOPES[:, None]), flat(places + SLOPES[:, None])
