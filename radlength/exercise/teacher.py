"""A teacher's marks in place of truth: the length they give, and how far they may be off themselves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from radlength.exercise.models import Truth
from radlength.geometry import fit_curve
from radlength.length.marks import mark_lines
from radlength.scale import Reference, Scale
from radlength.uncertainty import Marking

if TYPE_CHECKING:
    from radlength.geometry import Curve


def teacher_u_mm(truth: Truth) -> float:
    """Return the standard uncertainty that a teacher's marks give the length, millimetres.

    Scale, geometry and shape of the curve are the same for teacher and learner and do not enter a difference.
    """
    pitch = np.array(truth.pitch_mm)
    canal = _few(np.array(truth.canal_px) * pitch)
    if truth.reference_px is not None and truth.reference_mm is not None:
        curve = _few(np.array(truth.reference_px) * pitch)
        scale = Scale(
            truth.reference_mm / curve.length,
            "in_canal",
            0.0,
            "",
            Reference(path_px=truth.reference_px, length_mm=truth.reference_mm),
            curve,
        )
    else:
        scale = Scale(truth.mm_per_unit or 1.0, "detector", 0.0, "")
    return math.sqrt(sum(line.u_mm**2 for line in mark_lines(canal, scale, truth.marking or Marking())))


def _few(points: np.ndarray) -> Curve:
    """Return the curve through at most eight of close points, as a person would have clicked them."""
    if len(points) <= 8:
        return fit_curve(points)
    return fit_curve(points[np.linspace(0, len(points) - 1, 8).round().astype(int)])
