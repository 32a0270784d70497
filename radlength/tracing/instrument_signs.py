"""What a found instrument shows of its own quality, as numbers: nothing is judged here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.instrument_axis import ROW_MM, Axis
from radlength.tracing.narrows import narrows_mm
from radlength.tracing.second_line import second_mm
from radlength.tracing.strip import inside, steps, strip_along
from radlength.tracing.tip import End
from radlength.tracing.twins import twin_mm

FloatArray = NDArray[np.float64]

NEAR_TIP_MM = 4.0
SKIP_MM = 0.3
STEP_MM = 0.02
BESIDE_MM = (0.17, 0.8)
"""Where beside the line another one would make the tip doubtful."""
STRETCH_MM = (1.4, 0.2)
"""The part of the line before its tip where that is looked for."""
DARK_MM, DARK_WIDER = 0.9, 1.4
"""Where dark lines are looked for, and the width they are looked for with, in widths of the line."""
EVEN = 0.5
"""Grey across a line that changes by less does not change: what is left comes from the place between pixels."""


@dataclass(frozen=True, slots=True)
class InstrumentSigns:
    """Numbers about a found instrument.

    Parameters
    ----------
    strength
        How much the line stands out from what goes on around, in the last 4 mm before the tip.
    weakest
        The same where it stands out least, a tenth of the line less.
    gain
        How much likelier an edge at the tip is than a line that goes on, logarithm.
    step
        Height of the line that ends at the tip, as a share of its height before.
    moved_mm, start_miss_mm
        Distance of the clicks from the tip found and from the axis.
    beside
        Height of the strongest other line beside it near the tip, as a share of its own.
    beside_mm
        How far beside that one runs.
    darker
        Depth of the strongest dark line within 0.9 mm near the tip, as a share of its own height: on both sides of
        bright metal grey falls by about half as much, beside dark metal by more.
    thicker
        Width near the tip over width in the middle.
    saturated
        Share of the last millimetre that is at an end of the grey scale.
    flat
        Share of the line without any change of grey across it.
    outside
        Whether the tip is at the edge of the image.
    twin_mm
        How far beside the last millimetres another line runs that is hardly told from this one, 0 for none.
    narrows_mm
        By how much one side of the line comes nearer to its axis within the last millimetre.
    second_mm
        Along how much of its last millimetres another line of metal is seen within 1.5 mm.
    """

    strength: float
    weakest: float
    gain: float
    step: float
    moved_mm: float
    start_miss_mm: float
    beside: float
    beside_mm: float
    darker: float
    thicker: float
    saturated: float
    flat: float
    outside: bool
    twin_mm: float = 0.0
    narrows_mm: float = 0.0
    second_mm: float = 0.0


def instrument_signs(
    grey: NDArray[np.generic],
    axis: Axis,
    end: End,
    clicks_mm: tuple[FloatArray, FloatArray],
    side_mm: FloatArray,
    ends: tuple[float, float],
) -> InstrumentSigns:
    """Return the signs of an instrument.

    Parameters
    ----------
    grey
        Grey values, metal bright.
    axis, end
        What was found.
    clicks_mm
        (row, column) of the click at the stop and of that at the tip.
    side_mm
        (row, column) size of a pixel.
    ends
        Lowest and highest grey the image can store.
    """
    start, tip = clicks_mm
    stands = _before(axis, end)
    last = stands[-round(NEAR_TIP_MM / ROW_MM) :]
    margin = 0.3
    beside, beside_mm, darker = _beside(grey, end, side_mm)
    around = end.point_mm + margin * np.array([[1.0, 0], [-1, 0], [0, 1], [0, -1]])
    across = steps(-0.9, 0.9, STEP_MM)
    strip = strip_along(grey, end.axis_mm, across, side_mm)
    core = strip[-10:, np.abs(across) < 0.05]
    wide = strip_along(grey, axis.points_mm[:: max(len(axis.points_mm) // 60, 1)], across, side_mm)
    return InstrumentSigns(
        strength=float(np.median(last)),
        weakest=float(np.quantile(stands, 0.1)),
        gain=end.gain,
        step=end.step,
        moved_mm=float(np.hypot(*(end.point_mm - tip))),
        start_miss_mm=float(np.hypot(*(axis.points_mm - start).T).min()),
        beside=beside,
        beside_mm=beside_mm,
        darker=darker,
        thicker=_thicker(grey, axis, end, side_mm),
        saturated=float(np.mean((core <= ends[0]) | (core >= ends[1]))),
        flat=float(np.mean(np.ptp(wide, axis=1) < EVEN)),
        outside=not bool(inside(around, (grey.shape[0], grey.shape[1]), side_mm).all()),
        twin_mm=twin_mm(grey, end.axis_mm, side_mm),
        narrows_mm=narrows_mm(grey, end.axis_mm, side_mm),
        second_mm=second_mm(grey, axis.points_mm[: _until(axis, end)], side_mm),
    )


def _until(axis: Axis, end: End) -> int:
    """Return the number of rows of a line up to its end."""
    return int(np.hypot(*(axis.points_mm - end.point_mm).T).argmin()) + 1


def _before(axis: Axis, end: End) -> FloatArray:
    """Return how much the line stands out at its rows before the end, a little left out."""
    last = _until(axis, end) - 1 - round(SKIP_MM / ROW_MM)
    return axis.stands_out[: max(last, 1)]


def _profile(
    grey: NDArray[np.generic], line_mm: FloatArray, side_mm: FloatArray, sigma_mm: float
) -> FloatArray:
    """Return how much places across a line look like a bright line, mean along it; the middle one is the line."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    across = steps(-1.4, 1.4, STEP_MM)
    mean = strip_along(grey, line_mm, across, side_mm).mean(axis=0)
    return np.asarray(
        -gaussian_filter1d(mean.astype(np.float64), sigma_mm / STEP_MM, order=2, mode="nearest")
    )


def _beside(grey: NDArray[np.generic], end: End, side_mm: FloatArray) -> tuple[float, float, float]:
    """Return height and distance of the strongest other bright line, and depth of the strongest dark one."""
    count = len(end.axis_mm)
    first, last = (max(count - 1 - round(part / ROW_MM), 0) for part in STRETCH_MM)
    if last - first < 2:
        return 0.0, 0.0, 0.0
    answer = _profile(grey, end.axis_mm[first : last + 1], side_mm, min(end.width_mm, 0.09))
    middle = len(answer) // 2
    tops = np.flatnonzero((answer[1:-1] > answer[:-2]) & (answer[1:-1] >= answer[2:])) + 1
    away = np.abs(tops - middle) * STEP_MM
    other = tops[(away >= max(BESIDE_MM[0], 1.2 * end.width_mm)) & (away <= BESIDE_MM[1])]
    own = max(float(answer[middle - 4 : middle + 5].max()), 1e-9)
    darker = _darker(grey, end.axis_mm[first : last + 1], side_mm, DARK_WIDER * end.width_mm)
    if not other.size or answer[other].max() <= 0:
        return 0.0, 0.0, darker
    strongest = other[answer[other].argmax()]
    return float(answer[strongest] / own), float(abs(strongest - middle) * STEP_MM), darker


def _darker(grey: NDArray[np.generic], line: FloatArray, side_mm: FloatArray, sigma_mm: float) -> float:
    """Return the depth of the strongest dark line near a bright one, as a share of its height."""
    answer = _profile(grey, line, side_mm, sigma_mm)
    middle = len(answer) // 2
    near = np.abs(np.arange(len(answer)) - middle) * STEP_MM <= DARK_MM
    return float(-answer[near].min() / max(float(answer[middle - 4 : middle + 5].max()), 1e-9))


def _thicker(grey: NDArray[np.generic], axis: Axis, end: End, side_mm: FloatArray) -> float:
    """Return the width before the tip over the width in the middle of the line, by what answers best."""
    middle = len(axis.points_mm) // 2
    parts = (end.axis_mm[-15:-3], axis.points_mm[max(middle - 8, 0) : middle + 8])
    widths = []
    for part in parts:
        if len(part) < 3:
            return 1.0
        sigmas = np.array([0.06, 0.08, 0.11, 0.15, 0.2, 0.27, 0.36])
        answers = [_profile(grey, part, side_mm, sigma)[65:76].max() * sigma**1.5 for sigma in sigmas]
        widths.append(float(sigmas[int(np.argmax(answers))]))
    return widths[0] / widths[1]
