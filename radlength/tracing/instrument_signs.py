"""What a found instrument shows of its own quality, as numbers: nothing is judged here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.bent_end import goes_on_aside
from radlength.tracing.instrument_axis import ROW_MM, Axis
from radlength.tracing.narrows import narrows_mm
from radlength.tracing.second_line import second_mm
from radlength.tracing.strip import inside, steps, strip_along
from radlength.tracing.tip import End

FloatArray = NDArray[np.float64]

NEAR_TIP_MM = 4.0
SKIP_MM = 0.3
STEP_MM = 0.02
STRETCH_MM = (1.4, 0.2)
"""The part of the line before its tip where dark lines are looked for."""
DARK_MM, DARK_WIDER = 0.9, 1.4
"""Where beside it, and the width they are looked for with, in widths of the line."""
DARK = 0.2
"""A dark line is darker than what is usual by this part of the height of the bright one: a gap between two is not."""
ACROSS_MM = steps(-1.4, 1.4, STEP_MM)
EVEN = 0.5
"""Grey across a line that changes by less does not change: what is left comes from the place between pixels."""
BESIDE_MM = (0.4, 1.4)
"""How far beside a line it is looked for white that is not the line's."""
BACK_MM, BEYOND_MM = 1.5, 1.0
"""And how far before its tip and past it."""
NEARLY = 0.01
"""Part of the grey scale at its white end that is white too: JPEG leaves no area quite even."""


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
    darker
        Depth of the strongest dark line within 0.9 mm near the tip, as a share of its own height: on both sides of
        bright metal grey falls by about half as much, beside dark metal by more; 0 for a gap between bright lines.
    thicker
        Width near the tip over width in the middle.
    saturated
        Share of the last millimetre that is at an end of the grey scale.
    flat
        Share of the line without any change of grey across it.
    outside
        Whether the tip is at the edge of the image.
    narrows_mm
        By how much one side of the line comes nearer to its axis within the last millimetre.
    second_mm
        Along how much of its last millimetres another line of metal is seen within 1.5 mm.
    meant
        Probability that this tip is the one meant, of those seen near the click.
    better
        How much more of the image two lines explain than one does, a ratio.
    white_beside
        Share of what lies beside the line near its tip, and past it, that is white.
    aside
        Height of a line that goes on at an angle from the tip found, as a share of its own.
    """

    strength: float
    weakest: float
    gain: float
    step: float
    moved_mm: float
    start_miss_mm: float
    darker: float
    thicker: float
    saturated: float
    flat: float
    outside: bool
    narrows_mm: float = 0.0
    second_mm: float = 0.0
    meant: float = 1.0
    better: float = 1.0
    white_beside: float = 0.0
    aside: float = 0.0


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
    stands = _before(axis, end, _white_rows(grey, axis, side_mm, ends))
    last = stands[-round(NEAR_TIP_MM / ROW_MM) :]
    margin = 0.3
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
        darker=_darker(grey, end, side_mm),
        thicker=_thicker(grey, axis, end, side_mm),
        saturated=float(np.mean((core <= ends[0]) | (core >= ends[1]))),
        flat=float(np.mean(np.ptp(wide, axis=1) < EVEN)),
        outside=not bool(inside(around, (grey.shape[0], grey.shape[1]), side_mm).all()),
        narrows_mm=narrows_mm(grey, end.axis_mm, side_mm),
        second_mm=second_mm(grey, axis.points_mm[: _until(axis, end)], side_mm),
        white_beside=_white_beside(grey, end, side_mm, ends),
        aside=goes_on_aside(grey, end, side_mm),
    )


def _until(axis: Axis, end: End) -> int:
    """Return the number of rows of a line up to its end."""
    return int(np.hypot(*(axis.points_mm - end.point_mm).T).argmin()) + 1


def _before(axis: Axis, end: End, white: NDArray[np.bool_]) -> FloatArray:
    """Return how much the line stands out at its rows before the end, a little left out.

    How much metal that is white stands out from enamel that is nearly so cannot be seen: as much as usual.
    """
    last = max(_until(axis, end) - 1 - round(SKIP_MM / ROW_MM), 1)
    stands = axis.stands_out[:last]
    return np.where(white[:last], np.maximum(stands, np.median(stands)), stands)


def _white_rows(
    grey: NDArray[np.generic], axis: Axis, side_mm: FloatArray, ends: tuple[float, float]
) -> NDArray[np.bool_]:
    """Return the rows where a line is white."""
    core = strip_along(grey, axis.points_mm, np.array([-0.05, 0.0, 0.05]), side_mm)
    return np.asarray(core.mean(axis=1) >= _white(ends))


def _white(ends: tuple[float, float]) -> float:
    return ends[1] - NEARLY * (ends[1] - ends[0])


def _across(grey: NDArray[np.generic], line_mm: FloatArray, side_mm: FloatArray) -> FloatArray:
    """Return grey across a line, mean along it; the middle one is the line."""
    return np.asarray(strip_along(grey, line_mm, ACROSS_MM, side_mm).mean(axis=0), dtype=np.float64)


def _like_a_line(across: FloatArray, sigma_mm: float) -> FloatArray:
    """Return how much places across a line look like a bright line of a width."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    return np.asarray(-gaussian_filter1d(across, sigma_mm / STEP_MM, order=2, mode="nearest"))


def _darker(grey: NDArray[np.generic], end: End, side_mm: FloatArray) -> float:
    """Return the depth of the strongest dark line near a bright one, as a share of its height; 0 for a short line."""
    count = len(end.axis_mm)
    first, last = (max(count - 1 - round(part / ROW_MM), 0) for part in STRETCH_MM)
    if last - first < 2:
        return 0.0
    mean = _across(grey, end.axis_mm[first : last + 1], side_mm)
    answer = _like_a_line(mean, DARK_WIDER * end.width_mm)
    middle = len(answer) // 2
    near = np.abs(np.arange(len(answer)) - middle) * STEP_MM <= DARK_MM
    darkest = int(np.where(near, answer, np.inf).argmin())
    usual = float(np.median(mean))
    if usual - mean[darkest] < DARK * (mean[middle] - usual):
        return 0.0
    return float(-answer[darkest] / max(float(answer[middle - 4 : middle + 5].max()), 1e-9))


def _white_beside(
    grey: NDArray[np.generic], end: End, side_mm: FloatArray, ends: tuple[float, float]
) -> float:
    """Return the share of white in what lies beside a line near its tip, and past it."""
    near, far = BESIDE_MM
    before = end.axis_mm[-round(BACK_MM / ROW_MM) - 1 :]
    past = end.point_mm + steps(ROW_MM, BEYOND_MM, ROW_MM)[:, None] * end.along
    beside = ACROSS_MM[np.abs(ACROSS_MM) >= near]
    places = [
        strip_along(grey, before, beside, side_mm),
        strip_along(grey, past, steps(-far, far, STEP_MM), side_mm),
    ]
    return float(np.mean(np.concatenate([one.ravel() for one in places]) >= _white(ends)))


def _thicker(grey: NDArray[np.generic], axis: Axis, end: End, side_mm: FloatArray) -> float:
    """Return the width before the tip over the width in the middle of the line, by what answers best."""
    middle = len(axis.points_mm) // 2
    parts = (end.axis_mm[-15:-3], axis.points_mm[max(middle - 8, 0) : middle + 8])
    widths = []
    for part in parts:
        if len(part) < 3:
            return 1.0
        sigmas = np.array([0.06, 0.08, 0.11, 0.15, 0.2, 0.27, 0.36])
        mean = _across(grey, part, side_mm)
        answers = [_like_a_line(mean, sigma)[65:76].max() * sigma**1.5 for sigma in sigmas]
        widths.append(float(sigmas[int(np.argmax(answers))]))
    return widths[0] / widths[1]
