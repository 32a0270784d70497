"""A trace that follows while a click is dragged.

A trace costs the same whatever the size of the image, because only the corridor is looked at; so nothing of the
image is prepared or kept, the first trace on a fresh image is as quick as the hundredth, and a drag is a new trace.
Libraries and tables are loaded when a :class:`Tracer` is made, before the first click.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.tracing.evidence import Polarity
from radlength.tracing.filters import warm_up
from radlength.tracing.trace import Trace, trace_canal

FloatArray = NDArray[np.float64]


class Tracer:
    """Traces on one radiograph, for a window that asks again at every movement of the mouse.

    Parameters
    ----------
    radiograph
        The image.
    stated_pixel_mm
        Size of a pixel where the file states none.
    polarity
        What to look for; see :func:`radlength.tracing.trace_canal`.

    Examples
    --------
    >>> rows, columns = np.mgrid[:400, :120]
    >>> grey = 150 - 40 * np.exp(-0.5 * ((columns - 60) / 6.0) ** 2)
    >>> tracer = Tracer(Radiograph.from_array(grey.astype(np.uint8), row_mm=0.05, column_mm=0.05))
    >>> first = tracer.trace([(20, 60), (200, 63), (380, 60)])
    >>> moved = tracer.drag(1, (205, 58))
    >>> moved.anchors_px[1].tolist(), tracer.trace(moved.anchors_px) is moved
    ([205.0, 58.0], True)
    """

    def __init__(
        self, radiograph: Radiograph, *, stated_pixel_mm: float | None = None, polarity: Polarity = "auto"
    ) -> None:
        warm_up()
        self._radiograph = radiograph
        self._stated_pixel_mm = stated_pixel_mm
        self._polarity: Polarity = polarity
        self._last: Trace | None = None
        self._clicks: FloatArray | None = None

    @property
    def last(self) -> Trace | None:
        """The trace shown last, or ``None``."""
        return self._last

    def trace(self, anchors_px: ArrayLike) -> Trace:
        """Return the trace through clicks, (row, column) pixels, shape (N, 2); the last one where they are the same.

        Raises
        ------
        MarkError, ImageError
            See :func:`radlength.tracing.trace_canal`. The trace shown last stays.
        """
        clicks = np.array(anchors_px, dtype=np.float64)
        if self._last is None or self._clicks is None or not np.array_equal(clicks, self._clicks):
            self._last = trace_canal(
                self._radiograph, clicks, stated_pixel_mm=self._stated_pixel_mm, polarity=self._polarity
            )
            self._clicks = clicks
        return self._last

    def drag(self, which: int, to_px: ArrayLike) -> Trace:
        """Return the trace with one click of the last one moved.

        Parameters
        ----------
        which
            Number of the click, from 0.
        to_px
            (row, column) where it is now.

        Raises
        ------
        MarkError
            Nothing was traced yet, there is no such click, or no canal can run through the clicks now.
        """
        if self._clicks is None or not 0 <= which < len(self._clicks):
            raise MarkError(
                f"a drag of click {which}",
                f"a click of the last trace, 0 to {0 if self._clicks is None else len(self._clicks) - 1}",
                "trace first",
                code="trace-drag",
                subject=self._radiograph.name,
            )
        clicks = self._clicks.copy()
        clicks[which] = to_px
        return self.trace(clicks)
