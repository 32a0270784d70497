"""A straight bright line through a click: its axis, and how far it is seen both ways. Knows no wire and no bead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.strip import inside, sample, steps, strip_along, vertex

FloatArray = NDArray[np.float64]

ROW_MM, COLUMN_MM = 0.1, 0.04
SIGMAS_MM = (0.08, 0.12, 0.18, 0.27, 0.4)
"""Widths looked for, SD of a Gaussian: lines 0.25 to 1.2 mm thick."""
LOOK_MM, ASIDE_MM = 2.5, 0.6
"""Half length of the first look, and how far beside the click the line may run."""
TURN_DEG = 3.0
PART_ROWS = 5
FIT_MM = (4.0, 8.0, 16.0, 30.0)
"""Half lengths of the fits that follow, each over what was seen before and a little more."""
AROUND_MM = 2.0
STANDS_OUT = 4.0
"""A row is on the line where its answer is this many times what is usual beside it."""
HIDDEN_MM = 3.0
"""A line hidden for longer ends: a bead hides it for 1 mm, a bright crown or a filling for longer."""
DROP = 0.5
"""Where grey on the axis falls by this part of the line's height and the height too, nothing hides it: it ended."""
SHARP_ROWS = 10
"""Within so many rows grey falls at an end."""
CORE_MM, FLANK_MM = 0.08, (1.5, 2.5)
"""Half width of the middle of the line, and where beside it its surroundings are, in its own widths."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A straight line.

    Parameters
    ----------
    foot_mm
        Its (row, column) point next to the click.
    way
        Unit vector along it, shape (2,).
    first_mm, last_mm
        From where to where along it, from the foot, the line is seen.
    width_mm
        SD of the Gaussian across that answers best.
    seen
        Share of the rows between on which it stands out.
    off_mm
        Root mean square distance of the line's middle from the axis.
    """

    foot_mm: FloatArray
    way: FloatArray
    first_mm: float
    last_mm: float
    width_mm: float
    seen: float
    off_mm: float

    @property
    def across(self) -> FloatArray:
        """Unit vector across, a quarter turn from `way`."""
        return np.array([-self.way[1], self.way[0]])

    def at(self, along_mm: FloatArray) -> FloatArray:
        """Return (row, column) points at places along, shape (N, 2), millimetres."""
        return np.asarray(self.foot_mm + np.asarray(along_mm)[..., None] * self.way)


def line_through(grey: NDArray[np.generic], click_mm: FloatArray, side_mm: FloatArray) -> Line | None:
    """Return the straight bright line nearest a click, or None where nothing stands out there.

    Parameters
    ----------
    grey
        Grey values, the line bright, shape (rows, columns).
    click_mm
        (row, column) of the click.
    side_mm
        (row, column) size of a pixel.

    Notes
    -----
    Every direction in steps of 3 degrees; then straight lines fitted to the middle of the line in longer and longer
    strips, places far off counting less. At most 60 mm are looked at.
    """
    first = _first_look(grey, click_mm, side_mm)
    if first is None:
        return None
    foot, way, width = first
    line = Line(foot, way, -LOOK_MM, LOOK_MM, width, 0.0, 0.0)
    for reach in FIT_MM:
        longer = _refitted(grey, line, reach, side_mm)
        if longer is None:
            return None
        line = longer
    return line


def _first_look(
    grey: NDArray[np.generic], click: FloatArray, side_mm: FloatArray
) -> tuple[FloatArray, FloatArray, float] | None:
    """Return point, direction and width of the line that stands out most near a click."""
    across = steps(-ASIDE_MM - AROUND_MM, ASIDE_MM + AROUND_MM, COLUMN_MM)
    along = steps(-LOOK_MM, LOOK_MM, ROW_MM)
    turns = np.radians(np.arange(0.0, 180.0, TURN_DEG))
    ways = np.column_stack([np.sin(turns), np.cos(turns)])
    sides = np.column_stack([-ways[:, 1], ways[:, 0]])
    lines = click + along[:, None] * ways[:, None]
    places = lines[:, :, None] + across[:, None] * sides[:, None, None]
    strips = sample(grey, places.reshape(-1, len(across), 2), side_mm).reshape(len(turns), len(along), -1)
    parts = strips[:, : len(along) // PART_ROWS * PART_ROWS]
    parts = parts.reshape(len(turns), -1, PART_ROWS, len(across)).mean(axis=2)
    near = np.abs(across) <= ASIDE_MM
    best = (0.0, click, ways[0], SIGMAS_MM[0])
    for sigma in SIGMAS_MM:
        answer = bright_lines(parts.reshape(-1, len(across)), sigma).reshape(parts.shape)[..., near]
        cap = np.maximum(np.median(answer.max(axis=2), axis=1), 1e-9)
        total = np.minimum(answer, cap[:, None, None]).mean(axis=1)
        turn, top = np.unravel_index(int(total.argmax()), total.shape)
        if total[turn, top] > best[0]:
            shift = float(across[near][top])
            best = (float(total[turn, top]), click + shift * sides[turn], ways[turn], sigma)
    return best[1:] if best[0] > 0 else None


def bright_lines(strip: NDArray[np.floating], sigma_mm: float, column_mm: float = COLUMN_MM) -> FloatArray:
    """Return how much every place across looks like a bright line of a width, in units of its height."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    turned = np.asarray(strip, dtype=np.float64)
    size = sigma_mm / column_mm
    return np.asarray(-gaussian_filter1d(turned, size, axis=1, order=2, mode="nearest") * size**1.75)


def _refitted(grey: NDArray[np.generic], line: Line, reach: float, side_mm: FloatArray) -> Line | None:
    """Return the line fitted to what of it is seen within a reach."""
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    along = steps(max(-reach, line.first_mm - 8), min(reach, line.last_mm + 8), ROW_MM)
    points = line.at(along)
    along = along[inside(points, (grey.shape[0], grey.shape[1]), side_mm)]
    if len(along) < 10:
        return None
    across = steps(-AROUND_MM, AROUND_MM, COLUMN_MM)
    strip = gaussian_filter1d(strip_along(grey, line.at(along), across, side_mm), 1.0, axis=0, mode="nearest")
    answer = bright_lines(strip, line.width_mm)
    near = np.abs(across) <= 0.3
    top = np.clip(answer[:, near].argmax(axis=1) + int(near.argmax()), 1, len(across) - 2)
    rows = np.arange(len(top))
    left, middle, right = (answer[rows, top + move] for move in (-1, 0, 1))
    place = across[top] + vertex(left, middle, right) * COLUMN_MM
    beside = np.abs(across) > 3.5 * line.width_mm
    usual = 1.4826 * np.median(np.abs(answer[:, beside]), axis=1)
    on = middle > STANDS_OUT * np.maximum(usual, 0.3 * max(float(np.median(usual)), 1e-6))
    first, last = _extent(on, *heights_of(strip, across, line.width_mm), int(np.abs(along).argmin()))
    use = on & (rows >= first) & (rows <= last)
    if use.sum() < 8:
        return None
    factors, off = _robust_line(along[use], place[use])
    foot = line.foot_mm + factors[0] * line.across
    way = line.way + factors[1] * line.across
    way /= np.hypot(*way)
    strong = [float(np.median(bright_lines(strip[use], one)[:, near].max(axis=1))) for one in SIGMAS_MM]
    return Line(
        foot_mm=foot,
        way=way,
        first_mm=float(along[first]),
        last_mm=float(along[last]),
        width_mm=SIGMAS_MM[int(np.argmax(strong))],
        seen=float(on[first : last + 1].mean()),
        off_mm=off,
    )


def heights_of(
    strip: NDArray[np.floating], across: FloatArray, width: float
) -> tuple[FloatArray, FloatArray]:
    """Return grey on the axis of every row, and how far it stands over what lies beside."""
    away = np.abs(across)
    core = strip[:, away <= CORE_MM].mean(axis=1)
    flank = strip[:, (away >= FLANK_MM[0] * width + 0.1) & (away <= FLANK_MM[1] * width + 0.2)].mean(axis=1)
    return np.asarray(core, dtype=np.float64), np.asarray(core - flank, dtype=np.float64)


def _extent(on: NDArray[np.bool_], core: FloatArray, height: FloatArray, start: int) -> tuple[int, int]:
    """Return the first and last row on the line, from a start outward; hidden rows may be as bright as it only.

    What is usual is told from the rows just passed: at a single one a bead may be clicked, or the line hidden. What
    falls little by little has not ended.
    """
    gap = round(HIDDEN_MM / ROW_MM)
    near = [row for row in range(max(start - gap, 0), min(start + gap + 1, len(on))) if on[row]]
    ends = []
    for way in (-1, 1):
        passed = near[::way]
        last = row = start
        while 0 <= row < len(on) and abs(row - last) <= gap:
            bright, high = _middle(core, passed[-gap:]), max(_middle(height, passed[-gap:]), 0.0)
            before = max(core[at] for at in range(start, row + way, way)[-SHARP_ROWS:])
            if core[row] < min(bright, before) - DROP * high and height[row] < DROP * high:
                break
            if on[row]:
                passed.append(row)
                last = row
            row += way
        ends.append(last)
    return ends[0], ends[1]


def _middle(values: FloatArray, rows: list[int]) -> float:
    """Return the middle one of the values at rows, minus infinity where there are none."""
    middle = len(rows) // 2
    return float(np.partition(values[rows], middle)[middle]) if rows else -np.inf


def _robust_line(along: FloatArray, place: FloatArray) -> tuple[FloatArray, float]:
    powers = np.column_stack([np.ones_like(along), along])
    weight = np.ones_like(along)
    factors = np.zeros(2)
    for _ in range(8):
        root = np.sqrt(weight)
        factors = np.linalg.lstsq(powers * root[:, None], place * root, rcond=None)[0]
        off = np.abs(place - powers @ factors)
        weight = 1 / (1 + (off / max(2 * float(np.median(off)), 0.01)) ** 2) ** 2
    return factors, float(np.sqrt((weight * off**2).sum() / weight.sum()))
