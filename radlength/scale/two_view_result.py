"""What two views tell about a canal: length along its curve in space, side, bend along the beam."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from radlength.finding import Finding
from radlength.geometry.curve import NODES, WEIGHTS
from radlength.geometry.path import FloatArray
from radlength.quantity import Quantity
from radlength.scale.two_view_geometry import term_slopes, terms
from radlength.scale.two_view_problem import PER_CANAL, arcs, beams
from radlength.scale.two_view_side import Side
from radlength.scale.two_view_solve import Solution
from radlength.uncertainty.budget import Z95

SHAPE_U_MM = 0.01
"""What a polynomial of degree 4 misses of a canal, standard uncertainty."""

END_U_DEG = 3.0
"""What a polynomial of degree 4 misses of the direction of a canal's end, standard uncertainty."""

TwoViewMethod = Literal["marker", "declared"]
_APICAL = np.linspace(0.5, 1.0, 6)
_CORONAL = np.linspace(0.0, 0.5, 6)
_SLOPES = term_slopes(np.concatenate([_CORONAL, [1.0]]))


@dataclass(frozen=True, slots=True)
class CanalInSpace:
    """One canal as two views show it.

    Parameters
    ----------
    name
        Name of the canal.
    length
        Along the curve in space, from the reference point to the marked apex.
    side
        Toward the tube (``"buccal"``) or away from it (``"lingual"``), against the other canals, or against the
        marks beside the tooth where there is one canal; ``None`` where there is nothing to compare with.
    depth_mm, u_depth_mm
        How far its apical half lies nearer to the tube, and standard uncertainty; 0 and 0 without a comparison.
    bend_along_beam_deg, u_bend_deg
        Turn of its end along the beam of the straight view, positive toward the tube.
    """

    name: str
    length: Quantity
    side: Side | None
    depth_mm: float
    u_depth_mm: float
    bend_along_beam_deg: float
    u_bend_deg: float

    def as_dict(self) -> dict[str, Any]:
        """Return the canal as plain data."""
        return {
            "canal": self.name,
            "length": self.length.as_dict(),
            "side": self.side,
            "depth_mm": self.depth_mm,
            "u_depth_mm": self.u_depth_mm,
            "bend_along_beam_deg": self.bend_along_beam_deg,
            "u_bend_deg": self.u_bend_deg,
        }


@dataclass(frozen=True, slots=True)
class TwoViewResult:
    """Every canal in space, and how far to trust it.

    Parameters
    ----------
    canals
        In the order they were given.
    method
        ``"marker"``: the tube was found from a marker that is not flat. ``"declared"``: it was taken from the
        declared angle.
    shift_deg, u_shift_deg
        Horizontal angle between the two views as seen from the tooth, positive toward larger columns.
    chi_square, freedom
        Weighted squares the marks leave, and how many are expected.
    findings
        Doubts, worst first.
    """

    canals: tuple[CanalInSpace, ...]
    method: TwoViewMethod
    shift_deg: float
    u_shift_deg: float
    chi_square: float
    freedom: float
    findings: tuple[Finding, ...]

    def canal(self, name: str) -> CanalInSpace:
        """Return a canal by its name."""
        return next(canal for canal in self.canals if canal.name == name)

    def as_dict(self) -> dict[str, Any]:
        """Return the result as plain data."""
        return {
            "canals": [canal.as_dict() for canal in self.canals],
            "method": self.method,
            "shift_deg": self.shift_deg,
            "u_shift_deg": self.u_shift_deg,
            "chi_square": self.chi_square,
            "freedom": self.freedom,
            "findings": [finding.as_dict() for finding in self.findings],
        }


def canals_in_space(solution: Solution, covariance: FloatArray, names: list[str]) -> tuple[CanalInSpace, ...]:
    """Return every canal of a solution with its uncertainties.

    Parameters
    ----------
    solution
        The best minimum.
    covariance
        Of its parameters.
    names
        Names of the canals in order.
    """
    return tuple(_canal(solution, covariance, index, name) for index, name in enumerate(names))


def shift_uncertainty_deg(solution: Solution, covariance: FloatArray) -> float:
    """Return the standard uncertainty of the angle between the views, degrees."""
    row = solution.jacobian[-2] * solution.problem.u_angle_rad
    return math.degrees(math.sqrt(float(row @ covariance @ row)))


def _canal(solution: Solution, covariance: FloatArray, index: int, name: str) -> CanalInSpace:
    at = _place(solution, index)
    curve = solution.problem.curves(solution.p)[index]
    block = covariance[at, at]
    depth, u_depth = _depth(solution, covariance, index)
    bend, u_bend = _bend(curve, block, _beam(solution))
    side: Side | None = None
    if u_depth > 0:
        side = "undecided" if abs(depth) < 2 * u_depth else "buccal" if depth > 0 else "lingual"
    return CanalInSpace(name, _length(curve, block), side, depth, u_depth, bend, u_bend)


def _length(curve: FloatArray, block: FloatArray) -> Quantity:
    """Return the length with its first-order uncertainty, widened by what noise may add to a curve's length.

    Noise across a curve makes it longer by half the trace of the length's second derivative times the
    covariance; what counts as likely straightens it. Which of the two is left is not known, so a third of
    the first counts as a further standard uncertainty.
    """
    lengths, gradients, _ = arcs(curve[None], np.ones(1))
    length, g = float(lengths[0]), gradients.ravel()
    guard = _noise_excess(curve, block) / 3
    u = math.sqrt(float(g @ block @ g) + SHAPE_U_MM**2 + guard**2)
    return Quantity(length, u, length - Z95 * u, length + Z95 * u)


def _noise_excess(curve: FloatArray, block: FloatArray) -> float:
    slopes = term_slopes(NODES)
    velocity = slopes @ curve
    speed = np.linalg.norm(velocity, axis=1)
    unit = velocity / speed[:, None]
    blocks = (slopes @ block.reshape(len(curve), -1)).reshape(-1, 3, len(curve), 3)
    spread = np.einsum("nilj,nl->nij", blocks, slopes)
    across = np.trace(spread, axis1=1, axis2=2) - np.einsum("ni,nij,nj->n", unit, spread, unit)
    return float(0.5 * WEIGHTS @ (across / speed))


def _beam(solution: Solution) -> FloatArray:
    way = beams(solution.p)[0]
    return np.asarray(way / np.linalg.norm(way))


def _bend(curve: FloatArray, block: FloatArray, beam: FloatArray) -> tuple[float, float]:
    velocity = _SLOPES @ curve
    speed = np.linalg.norm(velocity, axis=1)
    sine = np.clip(velocity @ beam / speed, -0.999, 0.999)
    angles = np.arcsin(sine)
    by_velocity = (beam - (velocity / speed[:, None]) * sine[:, None]) / (speed * np.sqrt(1 - sine**2))[
        :, None
    ]
    weights = np.append(np.full(len(_CORONAL), -1 / len(_CORONAL)), 1.0)
    gradient = ((_SLOPES * weights[:, None]).T @ by_velocity).ravel()
    u = math.sqrt(max(float(gradient @ block @ gradient), 0.0))
    return math.degrees(float(weights @ angles)), math.hypot(math.degrees(u), END_U_DEG)


def depth_between(
    solution: Solution, covariance: FloatArray, index: int, others: Sequence[int]
) -> tuple[float, float]:
    """Return how much nearer to the tube a canal's apical half is than that of others, and its uncertainty."""
    half = np.outer(terms(_APICAL).mean(axis=0), _beam(solution)).ravel()
    row = np.zeros(solution.problem.size)
    row[_place(solution, index)] = half
    for other in others:
        row[_place(solution, other)] -= half / len(others)
    return float(row @ solution.p), math.sqrt(float(row @ covariance @ row))


def _depth(solution: Solution, covariance: FloatArray, index: int) -> tuple[float, float]:
    """Return how much nearer to the tube the apical half of a canal is than what it is compared with."""
    problem, beam = solution.problem, _beam(solution)
    count = problem.beside_xy.shape[1]
    others = [other for other in range(problem.canals) if other != index]
    if others:
        return depth_between(solution, covariance, index, others)
    if not count:
        return 0.0, 0.0
    row = np.zeros(problem.size)
    half = np.outer(terms(_APICAL).mean(axis=0), beam).ravel()
    row[_place(solution, index)] = half
    depth = float(half @ problem.curves(solution.p)[index].ravel())
    depth -= float(problem.beside_points(solution.p).mean(axis=0) @ beam)
    if problem.shape is None:
        row[12 : 12 + 3 * count] = -np.tile(beam, count) / count
    else:
        row[15:18] = -beam
    return depth, math.sqrt(float(row @ covariance @ row))


def _place(solution: Solution, index: int) -> slice:
    start = solution.problem.canal_at + PER_CANAL * index
    return slice(start, start + PER_CANAL)
