"""What answers to a line of a given width across a straightened strip, as tables made once.

A dark line of width about 2 sigma answers most to the second derivative of a Gaussian of that sigma (Lindeberg
1998, feature detection with automatic scale selection: a ridge at the scale of its own width).
"""

from __future__ import annotations

from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from radlength.geometry.parts import parts
from radlength.tracing.corridor import ACROSS_MM, EVERY, FINE_MM, ROW_MM, WIDE_ACROSS_MM
from radlength.tracing.order import median

Table = NDArray[np.float32]
FloatArray = NDArray[np.float64]

SIGMAS_MM = (0.10, 0.15, 0.22, 0.33, 0.50)
"""Half widths of canals looked for: a file of 0.2 mm to an open canal of 1 mm."""
REFERENCE = 2
"""The sigma, 0.22 mm, whose answers say how much goes on around."""
ALONG_MM = 0.3
"""SD of smoothing along the corridor."""
LONG = SIGMAS_MM[1:4]
"""Sigmas at which a long line is looked for."""
LINE_ALONG_MM = 0.9
"""SD of smoothing along it where a long line is looked for."""
AROUND_MM = 2.0
"""Half width of what is looked at to say how much goes on around."""
STEP_MM = 0.45
"""Sigma of what answers where one side is brighter than the other: the edge of a root."""
EDGE_ACROSS_MM, EDGE_ALONG_MM = 0.2, 0.25
_AROUND = np.abs(WIDE_ACROSS_MM) <= AROUND_MM + 1e-9
_ONE = np.ones(1, dtype=np.float32)
_MARGIN = (len(WIDE_ACROSS_MM) - len(ACROSS_MM)) // 2
_WITHIN = slice(_MARGIN, _MARGIN + len(ACROSS_MM))


class Answers:
    """How much a strip looks like a dark line at every place. Rows every 0.15 mm along, columns 0.05 mm across.

    Each of them is worked out when it is first asked for.

    Parameters
    ----------
    strip
        The strip, shape (3 k + 1, 121), grey values.
    """

    def __init__(self, strip: Table) -> None:
        self._strip = strip

    @cached_property
    def short(self) -> Table:
        """Rows of the strip smoothed along, shape (rows, 121), grey values."""
        return smooth_along(self._strip, ALONG_MM)[::EVERY]

    @cached_property
    def lines(self) -> Table:
        """Answers by sigma, shape (5, rows, 61), grey values: positive for a dark line, 1 for one of depth 1."""
        narrow = [
            self._reference if sigma == SIGMAS_MM[REFERENCE] else _answer(self.short, sigma)
            for sigma in SIGMAS_MM[:-1]
        ]
        widest = _product(self.short, _widest_table())
        return np.stack([*(line[:, _WITHIN] for line in narrow), widest])

    @property
    def around(self) -> Table:
        """Answer at 0.22 mm in a wider strip, shape (rows, 81)."""
        return self._reference[:, _AROUND]

    @property
    def long_lines(self) -> Table:
        """Answers at 0.15, 0.22 and 0.33 mm, smoothed more along, shape (3, rows, 61)."""
        return np.stack([line[:, _WITHIN] for line in self._long_lines])

    @property
    def long_around(self) -> Table:
        """As `around`, smoothed more along."""
        return self._long_lines[LONG.index(SIGMAS_MM[REFERENCE])][:, _AROUND]

    @cached_property
    def step(self) -> Table:
        """How much brighter one side is than the other, grey values, shape (rows, 61), without sign."""
        return np.abs(_product(self.short, _step_table()))

    @cached_property
    def slope(self) -> Table:
        """Size of the change along the corridor, grey values a millimetre, shape (rows, 61)."""
        import cv2  # noqa: PLC0415

        taps = (_taps(EDGE_ACROSS_MM), _taps(EDGE_ALONG_MM))
        along, across = EDGE_ALONG_MM / FINE_MM, EDGE_ACROSS_MM / FINE_MM
        edge = cv2.GaussianBlur(self._strip[:, _WITHIN], taps, across, sigmaY=along, borderType=1)
        rows = np.arange(0, len(edge), EVERY)
        before, after = np.maximum(rows - 1, 0), np.minimum(rows + 1, len(edge) - 1)
        run_mm = (FINE_MM * (after - before)).astype(np.float32)
        return np.asarray(np.abs(edge[after] - edge[before]) / run_mm[:, None])

    @cached_property
    def _reference(self) -> Table:
        return _answer(self.short, SIGMAS_MM[REFERENCE])

    @cached_property
    def _long_lines(self) -> list[Table]:
        long = _smoothed(self.short, (LINE_ALONG_MM**2 - ALONG_MM**2) ** 0.5, ROW_MM)
        return [_answer(long, sigma) for sigma in LONG]


def _answer(rows: Table, sigma: float) -> Table:
    """Return what answers to a line of that sigma, true where all the line is inside: the wide sigma's never is."""
    import cv2  # noqa: PLC0415

    return np.asarray(cv2.sepFilter2D(rows, -1, _kernel(sigma), _ONE), dtype=np.float32)


def _product(rows: Table, table: Table) -> Table:
    """Return rows @ table, in parts too small for a library to share among threads, which costs more than it saves."""
    return np.concatenate([rows[part] @ table for part in parts(len(rows), table.size)])


def warm_up() -> None:
    """Load what the first trace would otherwise wait for: libraries and tables, some tenths of a second once."""
    import scipy.linalg  # noqa: PLC0415
    import scipy.ndimage  # noqa: F401, PLC0415

    found = Answers(np.zeros((4 * EVERY + 1, len(WIDE_ACROSS_MM)), dtype=np.float32))
    _ = found.lines, found.long_lines, found.step, found.slope


def smooth_along(strip: Table, sigma_mm: float) -> Table:
    """Return a strip smoothed along, `sigma_mm` the SD."""
    return _smoothed(strip, sigma_mm, FINE_MM)


def _smoothed(rows: Table, sigma_mm: float, step_mm: float) -> Table:
    """Return rows at equal steps smoothed over them."""
    import cv2  # noqa: PLC0415

    smooth = cv2.GaussianBlur(
        rows, (1, _taps(sigma_mm, step_mm)), 1.0, sigmaY=sigma_mm / step_mm, borderType=1
    )
    return np.asarray(smooth, dtype=np.float32)


def noise_sd(grey: Table, axis: int) -> float:
    """Return the SD of white noise, from second differences along an axis: theirs is sqrt(6) of it.

    Immerkaer 1996, Computer Vision and Image Understanding 64, 300, uses the like in two dimensions.
    """
    return median(np.abs(np.diff(grey, n=2, axis=axis))) / (0.6745 * 6**0.5)


def _taps(sigma_mm: float, step_mm: float = FINE_MM) -> int:
    return 2 * round(3 * sigma_mm / step_mm) + 1


@cache
def _kernel(sigma: float) -> Table:
    reach = round(4 * sigma / FINE_MM)
    middle = len(WIDE_ACROSS_MM) // 2
    return _line(sigma, 0.0)[middle - reach : middle + reach + 1].astype(np.float32)


@cache
def _widest_table() -> Table:
    """From strip to answers at the widest sigma, whose lines reach over the edge of a strip."""
    columns = [_line(SIGMAS_MM[-1], centre) for centre in ACROSS_MM]
    return np.ascontiguousarray(np.asarray(columns, dtype=np.float32).T)


@cache
def _step_table() -> Table:
    columns = [_step(centre) for centre in ACROSS_MM]
    return np.ascontiguousarray(np.asarray(columns, dtype=np.float32).T)


def _step(centre: float) -> FloatArray:
    """Weights that answer 1 to an edge of height 1 and 0 to anything the same on both sides."""
    x = WIDE_ACROSS_MM - centre
    weights = x * np.exp(-0.5 * (x / STEP_MM) ** 2)
    return np.asarray(weights / weights[x > 0].sum())


def _line(sigma: float, centre: float) -> FloatArray:
    """Weights blind to a constant and to a slope, that answer 1 to a dark line of depth 1 and this sigma."""
    x = WIDE_ACROSS_MM - centre
    bell = np.exp(-0.5 * (x / sigma) ** 2)
    weights = ((x / sigma) ** 2 - 1) * bell * (np.abs(x) < 4 * sigma)
    plain, ours = np.stack([np.ones_like(x), x], axis=1), np.stack([bell, bell * x], axis=1)
    weights = weights - ours @ np.linalg.solve(plain.T @ ours, plain.T @ weights)
    return np.asarray(weights / -(weights @ bell))
