"""Charts of a class as drawings: errors against length, every learner, the parts, and the curve over the set."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from radlength.clean import counted
from radlength.exercise.class_agreement import ClassAgreement
from radlength.exercise.learner import Summary
from radlength.exercise.learning import Step
from radlength.exercise.score import PARTS
from radlength.report.charts import BAR, GRID, INK, OTHER
from radlength.report.drawing import Drawing

WIDE, HIGH, LEFT, BELOW, ABOVE = 320.0, 190.0, 30.0, 26.0, 12.0
MOST_POINTS, MOST_NAMES = 1500, 20
SMALL = 7.5


class _Plane:
    """A plot's area: data to places, and room at its right for the words of levels, lowest first."""

    def __init__(
        self, alt: str, x: tuple[float, float], y: tuple[float, float], *, beside: float = 6.0
    ) -> None:
        self.drawing = Drawing((0, 0, WIDE, HIGH), alt)
        self.x_ends, self.y_ends, self.beside, self.lowest = x, y, beside, HIGH

    def x(self, value: float) -> float:
        low, high = self.x_ends
        return LEFT + (WIDE - LEFT - self.beside) * (value - low) / max(high - low, 1e-9)

    def y(self, value: float) -> float:
        low, high = self.y_ends
        return HIGH - BELOW - (HIGH - BELOW - ABOVE) * (value - low) / max(high - low, 1e-9)

    def level(self, value: float, words: str, *, dash: tuple[float, float] | None = None) -> None:
        y = self.y(value)
        end = WIDE - self.beside
        self.drawing.line([(LEFT, y), (end, y)], BAR if words else GRID, 0.8 if words else 0.4, dash)
        if words:
            y = min(y + 2.5, self.lowest)
            self.lowest = y - SMALL - 1
            self.drawing.label((end + 3, y), words, SMALL, INK)

    def scale(self, unit: str, below: str) -> None:
        low, high = self.y_ends
        step = _step(high - low)
        for value in np.arange(np.ceil(low / step) * step, high + 1e-9, step):
            self.level(float(value), "")
            self.drawing.label((LEFT - 3, self.y(float(value)) + 2), f"{value:.4g}", SMALL, INK, anchor="end")
        self.drawing.label((2, 7), unit, SMALL, INK)
        self.drawing.label(((LEFT + WIDE - self.beside) / 2, HIGH - 3), below, SMALL, INK, anchor="middle")

    def ticks(self, values: Sequence[float]) -> None:
        for value in values:
            self.drawing.label((self.x(value), HIGH - BELOW + 9), f"{value:g}", SMALL, INK, anchor="middle")

    def point(self, x: float, y: float, size: float = 1.1) -> None:
        a, b = self.x(x), self.y(y)
        self.drawing.area([(a - size, b), (a, b - size), (a + size, b), (a, b + size)], OTHER)


def difference_chart(learners: Sequence[Summary], found: ClassAgreement, what: str) -> Drawing | None:
    """Return every error against the true length, with bias and limits of agreement; ``None`` without any."""
    points = np.array(
        [
            (r.true_mm, r.error_mm)
            for one in learners
            for r in one.results
            if r.error_mm is not None and r.true_mm is not None
        ]
    )
    if not len(points):
        return None
    # by lot: every sixth of sixteen a learner would leave out half of the exercises
    shown = points[np.random.default_rng(0).permutation(len(points))[:MOST_POINTS]]
    most = max(0.6, float(np.abs(points[:, 1]).max()) * 1.08)
    low, high = float(np.floor(points[:, 0].min())), float(np.ceil(points[:, 0].max()))
    many = counted(len(points), "measurement")
    alt = f"{what} of {many} against length, {len(shown)} of them drawn, with limits of agreement"
    plane = _Plane(alt, (low, high), (-most, most), beside=74.0)
    below = "true length, mm" if "truth" in what else "length by the teacher's marks, mm"
    plane.scale("mm", below if len(shown) == len(points) else f"{below}; {len(shown)} of {many} drawn")
    plane.ticks([float(v) for v in np.arange(low, high + 0.5)])
    for x, y in shown:
        plane.point(float(x), float(y))
    plane.level(0.0, "", dash=None)
    if found.bias and found.lower and found.upper:
        plane.level(found.lower.value, f"lower limit {found.lower.value:+z.2f}", dash=(4, 3))
        plane.level(found.bias.value, f"bias {found.bias.value:+z.2f}")
        plane.level(found.upper.value, f"upper limit {found.upper.value:+z.2f}", dash=(4, 3))
    return plane.drawing


def learner_chart(learners: Sequence[Summary]) -> Drawing | None:
    """Return every learner's mean error with one SD to both sides, in order of the mean."""
    told = sorted((one for one in learners if one.bias_mm is not None), key=lambda one: one.bias_mm or 0.0)
    if not told:
        return None
    means = np.array([one.bias_mm for one in told], dtype=float)
    sds = np.array([one.sd_mm or 0.0 for one in told])
    most = max(0.6, float((np.abs(means) + sds).max()) * 1.05)
    plane = _Plane(
        f"Mean error and SD of each of {counted(len(told), 'learner')}, in order of the mean",
        (-0.5, len(told) - 0.5),
        (-most, most),
    )
    plane.scale("mm", "learners, in order of their mean: mean with one SD to both sides")
    width = min(2.0, 0.5 * (WIDE - LEFT) / len(told))
    for at, (mean, sd) in enumerate(zip(means, sds, strict=True)):
        x = plane.x(at)
        plane.drawing.line([(x, plane.y(mean - sd)), (x, plane.y(mean + sd))], BAR, 0.4 * width)
        plane.point(at, float(mean), max(0.6, 0.6 * width))
    return plane.drawing


def parts_chart(found: ClassAgreement) -> Drawing | None:
    """Return bars of the mean size of every part of the error."""
    parts = [(part, found.parts_mm[part]) for part in PARTS if part in found.parts_mm]
    if not parts:
        return None
    told = ", ".join(f"{part} {size:.2f} mm" for part, size in parts)
    drawing = Drawing((0, 0, WIDE, 20.0 * len(parts) + 16), f"Mean size of each part of the error: {told}")
    most = max(size for _, size in parts) or 1.0
    for row, (part, size) in enumerate(parts):
        top = 10 + 20.0 * row
        drawing.label((0, top + 9), part, 8, INK)
        end = 80 + (WIDE - 130) * size / most
        drawing.area([(80, top), (end, top), (end, top + 12), (80, top + 12)], BAR)
        drawing.label((end + 4, top + 9), f"{size:.2f} mm", 8, INK)
    return drawing


def curve_chart(curve: Sequence[Step]) -> Drawing | None:
    """Return the quartiles of what marks added, exercise by exercise."""
    if len(curve) < 2:
        return None
    most = max(0.2, max(step.high for step in curve) * 1.1)
    plane = _Plane(
        "Median and quartiles of what the marks added, for each measured exercise in order",
        (0.5, len(curve) + 0.5),
        (0.0, most),
    )
    plane.scale("mm", "exercises in order: median and quartiles of what the marks added")
    every = -(-len(curve) // MOST_NAMES)
    for step in curve:
        x = plane.x(step.order)
        plane.drawing.line([(x, plane.y(step.low)), (x, plane.y(step.high))], BAR, 1.6)
        plane.point(step.order, step.middle, 2.2)
        if (step.order - 1) % every == 0:
            plane.drawing.label((x, HIGH - BELOW + 9), step.task, SMALL, INK, anchor="middle")
    return plane.drawing


def _step(span: float) -> float:
    raw = span / 6
    power = 10 ** np.floor(np.log10(raw))
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= raw))
