"""Whether marks lie where the canal and the instrument lie: their length alone does not tell.

A canal that is marked on another tooth, in a mirrored image or with row and column exchanged is as long as before.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from radlength.exercise.compose import TrueLine
from radlength.exercise.models import Answer, Task, Truth
from radlength.finding import Finding

FloatArray = NDArray[np.float64]

BESIDE_MM = 1.5
"""A mark farther beside the line than this lies elsewhere, millimetres in the tooth: three SDs of a beginner's apex
mark (0.5 mm), outside the root near its apex, and far less than from root to root. Common practice, no source."""
ELSEWHERE = "marked-elsewhere"


class Lines(Protocol):
    """An exercise with its answer and the lines of it, in units in which both directions count the same."""

    task: Task
    truth: Truth
    pitch: FloatArray
    canal: TrueLine
    reference: TrueLine | None


def marked_elsewhere(key: Lines, answer: Answer) -> Finding | None:
    """Return a finding where the last mark, or more than half of the marks, lie beside the line; else ``None``.

    The first of several marks is left out: where the crown is measured from is somebody's choice, another cusp too.

    Parameters
    ----------
    key
        The exercise and its answer. A teacher's marks may be off themselves: their spread widens the limit.
    answer
        The learner's marks, from either end.
    """
    marking = key.truth.marking
    limit_mm = float(np.hypot(BESIDE_MM, 1.96 * marking.apex_mm if marking is not None else 0.0))
    for what, line, path in (
        ("canal", key.canal, answer.canal_px),
        ("instrument", key.reference, answer.reference_px),
        ("apex", key.canal, (answer.apex_px,) if answer.apex_px is not None else None),
    ):
        if line is None or path is None:
            continue
        points = _from_the_crown(line, np.array(path) * key.pitch)
        beside_mm = np.abs(line.across(points[min(1, len(points) - 1) :])) * _mm_per_unit(key)
        if beside_mm[-1] > limit_mm or np.mean(beside_mm > limit_mm) > 0.5:
            return _finding(key, what, float(beside_mm.max()))
    return None


def _from_the_crown(line: TrueLine, path: FloatArray) -> FloatArray:
    """Return a path from its coronal end, as the scoring reads it."""
    first, last = line.feet(path[[0, -1]])
    return path[::-1] if first > last else path


def _mm_per_unit(key: Lines) -> float:
    line, known = key.reference, key.truth.reference_mm
    if line is None or known is None:
        return key.truth.mm_per_unit or 1.0
    return known / float(np.hypot(*np.diff(line.points, axis=0).T).sum())


def _finding(key: Lines, what: str, far_mm: float) -> Finding:
    where = f"up to {far_mm:.1f} mm beside canal {key.task.canal}"
    return Finding(
        ELSEWHERE,
        f"The {what} was marked {where}: its length tells nothing, and it counts as missed.",
        "Another canal or tooth, left for right, or column before row? Find the canal first, then mark along it.",
        "serious",
        key.task.id,
    )
