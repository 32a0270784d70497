"""Whether marks lie where the canal and the instrument lie: their length alone does not tell.

A canal that is marked on another tooth, in a mirrored image or with row and column exchanged is as long as before. So
is one whose marks all slipped along the tooth.
"""

from __future__ import annotations

from collections.abc import Iterator
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
ALONG_MM = 1.0
"""Two ends farther off than this along the tooth hide errors from the length where these cancel: two SDs of a
beginner's apex mark, twice the usual band. Common practice, no source."""
ELSEWHERE = "marked-elsewhere"
SHIFTED = "marked-shifted"
_ENDS = {"instrument": ("stop", "tip"), "canal": ("reference point", "apex")}
_LONGER = {"stop": 1, "tip": -1, "reference point": -1, "apex": 1}
"""Whether an end that is marked too far apically makes the measured length longer or shorter."""


class Lines(Protocol):
    """An exercise with its answer and the lines of it, in units in which both directions count the same."""

    task: Task
    truth: Truth
    pitch: FloatArray
    canal: TrueLine
    reference: TrueLine | None

    @property
    def mm_per_unit(self) -> float:
        """Millimetres in the tooth a unit."""


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
    limit_mm = _widened(BESIDE_MM, key)
    for what, line, points in _marked(key, answer):
        beside_mm = np.abs(line.across(points[min(1, len(points) - 1) :])) * key.mm_per_unit
        if beside_mm[-1] > limit_mm or np.mean(beside_mm > limit_mm) > 0.5:
            return _finding(key, what, float(beside_mm.max()))
    return None


def _marked(key: Lines, answer: Answer) -> Iterator[tuple[str, TrueLine, FloatArray]]:
    """Yield what was marked, its true line, and its marks from the crown on, shape (N, 2), in units."""
    for what, line, path in (
        ("canal", key.canal, answer.canal_px),
        ("instrument", key.reference, answer.reference_px),
        ("apex", key.canal, (answer.apex_px,) if answer.apex_px is not None else None),
    ):
        if line is not None and path is not None:
            yield what, line, _from_the_crown(line, np.array(path) * key.pitch)


def _from_the_crown(line: TrueLine, path: FloatArray) -> FloatArray:
    """Return a path from its coronal end, as the scoring reads it."""
    first, last = line.feet(path[[0, -1]])
    return path[::-1] if first > last else path


def marked_shifted(key: Lines, answer: Answer) -> Finding | None:
    """Return a finding where ends are off along the tooth and their errors cancel in the length; else ``None``.

    So they do where all marks slipped together, where tip and apex are both taken too short, and wherever else one end
    makes the length longer by as much as another makes it shorter.

    Parameters
    ----------
    key
        The exercise and its answer. A teacher's marks may be off themselves: their spread widens the limit.
    answer
        The learner's marks, from either end.
    """
    limit_mm = _widened(ALONG_MM, key)
    off_mm = {end: mm for end, mm in _off_along_mm(key, answer).items() if abs(mm) > limit_mm}
    if len({_LONGER[end] * mm > 0 for end, mm in off_mm.items()}) < 2:
        return None
    told = (f"{end} {abs(mm):.1f} mm {'apically' if mm > 0 else 'coronally'}" for end, mm in off_mm.items())
    return Finding(
        SHIFTED,
        f"Marked off along the tooth: {', '.join(told)}. Such errors cancel in the length, so it counts as outside the "
        "band.",
        "A length is right only where both its ends are: look at each end by itself.",
        "question",
        key.task.id,
    )


def _off_along_mm(key: Lines, answer: Answer) -> dict[str, float]:
    """Return how far apically each marked end lies of the true one, millimetres in the tooth."""
    marked = {what: (line, points) for what, line, points in _marked(key, answer)}
    off_mm: dict[str, float] = {}
    for what, (first, last) in _ENDS.items():
        if what in marked:
            line, points = marked[what]
            off_mm[first] = float(line.off(points[:1], 0)[0, 0]) * key.mm_per_unit
            off_mm[last] = float(line.off(points[-1:], -1)[0, 0]) * key.mm_per_unit
    return off_mm


def _widened(limit_mm: float, key: Lines) -> float:
    """Return a limit that allows for a teacher's own spread, millimetres."""
    marking = key.truth.marking
    return float(np.hypot(limit_mm, 1.96 * marking.apex_mm if marking is not None else 0.0))


def _finding(key: Lines, what: str, far_mm: float) -> Finding:
    where = f"up to {far_mm:.1f} mm beside canal {key.task.canal}"
    return Finding(
        ELSEWHERE,
        f"The {what} was marked {where}: its length tells nothing, and it counts as missed.",
        "Another canal or tooth, left for right, column before row, or millimetres? Find the canal first, then mark "
        "along it.",
        "serious",
        key.task.id,
    )
