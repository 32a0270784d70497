"""Modulation transfer from a slightly slanted straight edge, after the edge method of IEC 62220-1."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.clean import figures
from radlength.errors import ImageError
from radlength.geometry import check_path
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Grey, Radiograph

FloatArray = NDArray[np.float64]
SOURCE = "edge method of IEC 62220-1 (from memory); above 1 by more than 5 %: sharpened"
OVER_LIMIT = 1.05
_BINS = 4
"""Bins for one pixel."""
_NO_STEP = "there is no step of grey across it"
_LEAST_SLANT = np.sin(np.deg2rad(0.5))


@dataclass(frozen=True, slots=True, eq=False)
class EdgeTransfer:
    """The transfer that an edge shows.

    Parameters
    ----------
    per_px
        Spatial frequency in cycles a pixel, shape (K,), 0 to 0.5.
    transfer
        Modulation transfer, 1 at frequency 0, shape (K,).
    over
        Overshoot beside the edge as a share of the step.
    """

    per_px: FloatArray
    transfer: FloatArray
    over: float

    def at(self, per_px: float) -> float:
        """Return the transfer at a frequency in cycles a pixel."""
        return float(np.interp(per_px, self.per_px, self.transfer))

    def falls_to(self, level: float) -> float:
        """Return the first frequency, in cycles a pixel, at which the transfer is at or under a level."""
        under = np.flatnonzero(self.transfer <= level)
        if under.size == 0:
            return float(self.per_px[-1])
        after = int(under[0])
        if after == 0:
            return float(self.per_px[0])
        upper, lower = self.transfer[after - 1], self.transfer[after]
        part = float((upper - level) / (upper - lower))
        return float(self.per_px[after - 1] + part * (self.per_px[after] - self.per_px[after - 1]))


def edge_transfer(
    stored: Grey | NDArray[np.float32], edge_px: ArrayLike, *, half_px: float = 20.0
) -> EdgeTransfer:
    """Return the modulation transfer across a straight edge.

    Parameters
    ----------
    stored
        Values, proportional to exposure for a transfer in the sense of the standard, shape (rows, columns).
    edge_px
        Two (row, column) points on the edge, each within 3 px of it.
    half_px
        How far each side of the edge counts.

    Raises
    ------
    MarkError
        The two points are none.
    ImageError
        There is no edge, or it runs along the pixels so that nothing lies between them.

    Notes
    -----
    Pixels are binned by their distance from the edge at a quarter of a pixel; the derivative of the edge spread is
    the line spread, its Fourier transform the transfer. The loss by the difference of neighbouring bins and by the
    bins' own width is divided out.
    """
    ends = check_path(edge_px, subject="edge")
    distance, values, slant = _near(np.asarray(stored, dtype=np.float64), ends, half_px)
    if slant < _LEAST_SLANT:
        raise _no_edge("it runs along the rows or columns; it must be slanted by 0.5 to 45 degrees")
    centres, spread = _binned(distance, values, half_px)
    line = np.diff(spread)
    if abs(line.sum()) <= 4 * float(np.std(line)):
        raise _no_edge(_NO_STEP)
    transfer = np.abs(np.fft.rfft(line * _flat_top(len(line))))
    per_px = np.fft.rfftfreq(len(line), 1 / _BINS)
    lost = np.sinc(per_px / _BINS) ** 2
    kept = per_px <= 0.5
    scaled = transfer / transfer[0] / lost
    return EdgeTransfer(
        np.asarray(per_px[kept], np.float64),
        np.asarray(scaled[kept], np.float64),
        _overshoot(centres, spread),
    )


def _near(image: FloatArray, ends: FloatArray, half_px: float) -> tuple[FloatArray, FloatArray, float]:
    """Return distance from the edge and value of the pixels near it, and the sine of its slant, after one refit."""
    for _ in range(3):
        middle, along, length = _line(ends)
        distance, values, run = _strip(image, middle, along, length, half_px)
        ends = _refit(distance, values, run, middle, along, length)
    middle, along, length = _line(ends)
    distance, values, _ = _strip(image, middle, along, length, half_px)
    return distance, values, float(np.abs(along).min())


def _line(ends: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    way = ends[-1] - ends[0]
    length = float(np.hypot(*way))
    return ends.mean(axis=0), way / length, length


def _strip(
    image: FloatArray, middle: FloatArray, along: FloatArray, length: float, half_px: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    reach = np.abs(along) * length / 2 + half_px + 2
    low = np.maximum(np.floor(middle - reach).astype(int), 0)
    high = np.minimum(np.ceil(middle + reach).astype(int) + 1, image.shape)
    if (high <= low).any():
        raise _no_edge("it lies outside the image")
    rows, columns = np.mgrid[low[0] : high[0], low[1] : high[1]]
    row, column = rows - middle[0], columns - middle[1]
    run = row * along[0] + column * along[1]
    away = column * along[0] - row * along[1]
    kept = (np.abs(run) <= length / 2) & (np.abs(away) <= half_px)
    if kept.sum() < 400:
        raise _no_edge("too little of it lies inside the image")
    return away[kept], image[low[0] : high[0], low[1] : high[1]][kept], run[kept]


def _refit(
    distance: FloatArray,
    values: FloatArray,
    run: FloatArray,
    middle: FloatArray,
    along: FloatArray,
    length: float,
) -> FloatArray:
    """Return the ends of the edge moved onto the half height of the step, found in 12 stretches."""
    right, left = values[distance > max(distance.max(), 0) / 2], values[distance < min(distance.min(), 0) / 2]
    if not (len(right) and len(left)):
        raise _no_edge("one side of it lies outside the image")
    half = (np.median(right) + np.median(left)) / 2
    sign = np.sign(np.median(right) - half)
    if sign == 0:
        raise _no_edge(_NO_STEP)
    shares = np.linspace(-length / 2, length / 2, 13)
    places, shifts = [], []
    for start, stop in pairwise(shares):
        inside = (run >= start) & (run < stop)
        if inside.sum() < 20:
            continue
        bright = float(np.mean(sign * (values[inside] - half) > 0))
        size = float(np.ptp(distance[inside]))
        places.append((start + stop) / 2)
        shifts.append(distance[inside].max() - bright * size)
    if len(places) < 3:
        return np.stack([middle - along * length / 2, middle + along * length / 2])
    slope, offset = np.polyfit(places, shifts, 1)
    across = np.array([-along[1], along[0]])
    return np.stack(
        [middle + along * part + across * (offset + slope * part) for part in (-length / 2, length / 2)]
    )


def _binned(distance: FloatArray, values: FloatArray, half_px: float) -> tuple[FloatArray, FloatArray]:
    count = int(2 * half_px * _BINS)
    index = np.clip(((distance + half_px) * _BINS).astype(int), 0, count - 1)
    number = np.bincount(index, minlength=count)
    total = np.bincount(index, weights=values, minlength=count)
    centres = (np.arange(count) + 0.5) / _BINS - half_px
    filled = number > 0
    if filled.mean() < 0.9:
        raise _no_edge("too few pixels lie between the bins; mark a longer stretch")
    return centres, np.interp(centres, centres[filled], total[filled] / number[filled])


def _flat_top(count: int) -> FloatArray:
    """Return a window that is 1 over the inner 60 % and falls to 0 as a cosine: tails of noise go, the line stays."""
    away = np.abs(np.linspace(-1, 1, count))
    return np.asarray(0.5 * (1 + np.cos(np.pi * np.clip((away - 0.6) / 0.4, 0, 1))))


def _overshoot(centres: FloatArray, spread: FloatArray) -> float:
    """Return how far the spread goes beyond its own ends, as a share of the step, in means of one pixel."""
    smooth = np.convolve(spread, np.full(_BINS, 1 / _BINS), mode="valid")
    tail = max(len(spread) // 8, 4)
    first, last = float(spread[:tail].mean()), float(spread[-tail:].mean())
    low, high = min(first, last), max(first, last)
    step = high - low
    return max(float(smooth.max()) - high, low - float(smooth.min())) / step if step > 0 else 0.0


def _no_edge(how: str) -> ImageError:
    return ImageError(
        f"the edge cannot be measured: {how}",
        "a straight edge of at least 40 px, slightly slanted, with a plain ground on both sides",
        code="edge-unusable",
    )


def slanted_edge(
    radiograph: Radiograph, edge_px: ArrayLike, mm_per_px: float | None
) -> tuple[Measure, Measure]:
    """Return where the transfer of a marked edge falls to 10 %, and its greatest value."""
    try:
        found = edge_transfer(radiograph.stored, edge_px)
    except ImageError as exc:
        return (
            not_measured("edge_resolution", "lp/mm", f"{exc.wrong}.", SOURCE),
            not_measured("edge_over", "1", f"{exc.wrong}.", SOURCE),
        )
    most = float(found.transfer.max())
    tenth = found.falls_to(0.1)
    unit, value = ("cycles/px", tenth) if mm_per_px is None else ("lp/mm", tenth / mm_per_px)
    poor = mm_per_px is not None and value < 5.0
    return (
        Measure(
            "edge_resolution",
            value,
            unit,
            "doubt" if poor else "good",
            f"The transfer of the edge falls to 10 % at {figures(value)} {unit}; less than 5 lp/mm is a doubt.",
            SOURCE,
            "Look for motion, a bent receptor or a smoothing filter.",
        ),
        Measure(
            "edge_over",
            most,
            "1",
            "doubt" if most > OVER_LIMIT else "good",
            f"The transfer of the edge is at most {figures(most, 3)}; more than {OVER_LIMIT:g} says that the export "
            "was sharpened.",
            SOURCE,
            "Export the image without filters: sharpening moves and invents edges.",
        ),
    )
