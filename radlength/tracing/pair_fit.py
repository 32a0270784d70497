"""One line of metal or two, fitted to a strip as a whole: whether there are two, and where each of them ends.

Where shadows lie on one another, no height along a line shows both ends; all of the strip together does. The best of
many rough places is taken and made better by damped least squares (Levenberg 1944).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.pair import Pair
from radlength.tracing.pair_model import (
    LEAST,
    OWN,
    SHARED,
    Parts,
    Patch,
    explained,
    limits,
    moves,
    usual,
)

FloatArray = NDArray[np.float64]

HALVES_MM, BESIDES_MM = (0.045, 0.07, 0.1, 0.14, 0.19), (0.0, 0.1, -0.1)
"""Half widths tried for one line, and places beside where it is thought to end: a white thick one has two edges."""
THINNER = 0.75
"""Half width tried for two, as a part of that of one."""
ASIDE_MM = (0.05, 0.1, 0.16)
"""How far to each side of one line two may end,"""
FARTHER = (1.0, 2.0, -1.0, 0.2)
"""how far apart they are 2 mm before, as a part of that,"""
LONGER_MM = (0.2, -0.2, 0.45, -0.45, 0.0)
"""and how much farther than one line the first ends; the second ends before by as much, or where one line does."""
SEEN_MM = ((0.25, -0.25), (-0.25, 0.25), (0.0, 0.0), (0.5, 0.0), (0.0, 0.5))
"""Ends tried for two lines that are seen apart."""
LEAST_HALF_MM = 0.035
REST = (0.015, 0.06, 0.5)
KEPT, ROUNDS, FEWER = 3, 15, 4
PROMISING = 8.0
"""Two lines are fitted to the end where after a few rounds they are this much likelier than one."""
FIRM = 0.2, 4.0
"""Weight of what is usual, over the mean square: before anything is fitted, and after."""
MOST_MOVE = 0.25
CLOSE = 0.002
GAINS = 1e-4
"""A fit is done where nothing moves more, or its squares gain less."""
DARK = 9.0
"""Price of lines that are dark."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Lines fitted to a patch.

    Parameters
    ----------
    found
        Parameters, see :mod:`radlength.tracing.pair_model`.
    cost
        Squares that stay, with what is unusual.
    parts
        What is explained.
    """

    found: FloatArray
    cost: float
    parts: Parts

    @property
    def courses(self) -> FloatArray:
        """Place across, slope, bend and end of every line, shape (lines, 4)."""
        return self.found[:-SHARED].reshape(-1, OWN)

    @property
    def half_mm(self) -> float:
        """Half width of the lines at their end."""
        return float(self.found[-SHARED])


def fit_one(patch: Patch, end_mm: float, place_mm: float) -> Fit:
    """Return the line that fits a patch best.

    Parameters
    ----------
    patch
        The patch.
    end_mm, place_mm
        Where it is thought to end, along and across.
    """
    firm = FIRM[0] * float(patch.grey @ patch.grey) / patch.grey.size
    tries = [[place_mm + aside, 0, 0, end_mm, half, *REST] for half in HALVES_MM for aside in BESIDES_MM]
    best = _better(patch, _likeliest(patch, tries, firm)[0], firm, ROUNDS)
    firm = firmness(patch, best)
    return _better(patch, _tried(patch, best.found, firm), firm, FEWER)


def fit_two(patch: Patch, one: Fit, seen: Pair, at: FloatArray) -> Fit:
    """Return the two lines that fit a patch best.

    Parameters
    ----------
    patch
        The patch.
    one
        The line that fits it best.
    seen, at
        Two lines seen apart, if they are, at these places along.
    """
    firm = firmness(patch, one)
    tries = _likeliest(patch, [*_beside(one), *_apart(seen, one, at)], firm)
    best = min((_better(patch, each, firm, FEWER) for each in tries), key=lambda each: each.cost)
    return _better(patch, best, firm, ROUNDS) if gain(patch, one, best) > PROMISING else best


def gain(patch: Patch, one: Fit, two: Fit) -> float:
    """Return how much likelier two lines are than one, logarithm."""
    alone, both = (max(float(each.parts.squares), 1e-12) for each in (one, two))
    return 0.5 * patch.independent * float(np.log(alone / both))


def u_ends_mm(patch: Patch, two: Fit) -> FloatArray:
    """Return the standard uncertainties of the ends of fitted lines, shape (lines,)."""
    moved = moves(patch, two.found, two.parts)
    _, spread = usual(two.found)
    noise = two.parts.squares / max(patch.independent, 1.0)
    known = np.linalg.pinv(moved @ moved.T / noise + np.diag(spread**2))
    return np.sqrt(np.maximum(np.diag(known)[OWN - 1 : -SHARED : OWN], 0.0))


def firmness(patch: Patch, fit: Fit) -> float:
    """Return the weight of what is usual beside what a fit leaves."""
    return FIRM[1] * float(fit.parts.squares) / patch.grey.size


def _beside(one: Fit) -> list[list[float]]:
    """Return rough places of two lines beside one, which may lie on one another, cross, or end apart."""
    place, slope, bend, end = one.courses[0]
    half = max(THINNER * one.half_mm, LEAST_HALF_MM)
    found = []
    for aside in ASIDE_MM:
        for far in FARTHER:
            turn = aside * (1 - far) / 2
            for longer in LONGER_MM:
                other = end - longer if abs(longer) < LONGER_MM[2] else end
                first = (place + aside - turn * end, slope + turn, bend, end + longer)
                second = (place - aside + turn * end, slope - turn, bend, other)
                found.append([*first, *second, half, *REST])
    return found


def _apart(seen: Pair, one: Fit, at: FloatArray) -> list[list[float]]:
    """Return rough places of two lines that are seen apart."""
    if len(seen.courses) < 2:
        return []
    end = float(one.courses[0, 3])
    use = (at > end - 2.0) & (at < end + 0.2)
    ways = [np.polyfit(at[use], course.across_mm[use], 2)[::-1] for course in seen.courses]
    half = float(np.interp(end - 0.7, at, seen.half_mm))
    return [[*ways[0], end + first, *ways[1], end + second, half, *REST] for first, second in SEEN_MM]


def _likeliest(patch: Patch, tries: Sequence[Sequence[float]], firm: float) -> list[Fit]:
    """Return the best of rough places, as they are, the likeliest first."""
    places = np.array(tries)
    places = np.clip(places, *limits(places))
    costs = _cost(explained(patch, places), places, firm)
    return [_tried(patch, places[each], firm) for each in costs.argsort(kind="stable")[:KEPT]]


def _tried(patch: Patch, found: FloatArray, firm: float) -> Fit:
    parts = explained(patch, found)
    return Fit(found, float(_cost(parts, found, firm)), parts)


def _cost(parts: Parts, found: FloatArray, firm: float) -> FloatArray:
    """Return the squares that stay, with what is unusual and the price of lines that are dark."""
    away, _ = usual(found)
    squares = parts.squares * np.where(parts.factors[..., 0] <= 0, DARK, 1.0)
    return np.asarray(squares + firm * (away**2).sum(axis=-1))


def _better(patch: Patch, fit: Fit, firm: float, rounds: int) -> Fit:
    """Return a fit made better by damped least squares."""
    damp = 1e-2
    for _ in range(rounds):
        moved = moves(patch, fit.found, fit.parts)
        away, spread = usual(fit.found)
        product = moved @ moved.T + np.diag(firm * spread**2)
        right = moved @ fit.parts.rest - firm * spread * away
        better = _step(patch, fit, (product, right), damp, firm)
        if better is None:
            break
        damp, after = better
        done = np.abs(after.found - fit.found).max() < CLOSE or fit.cost - after.cost < GAINS * fit.cost
        fit = after
        if done:
            break
    return fit


def _step(
    patch: Patch, fit: Fit, normal: tuple[FloatArray, FloatArray], damp: float, firm: float
) -> tuple[float, Fit] | None:
    """Return the next damping and a fit with a lower cost, or nothing."""
    product, right = normal
    diagonal = np.diag(product)
    floor = 1e-12 * float(diagonal.sum()) + LEAST
    for _ in range(4):
        step = np.linalg.solve(product + np.diag(damp * diagonal + floor), right)
        found = np.clip(fit.found + np.clip(step, -MOST_MOVE, MOST_MOVE), *limits(fit.found))
        after = _tried(patch, found, firm)
        if after.cost < fit.cost:
            return max(damp / 6, 1e-5), after
        damp *= 6
    return None
