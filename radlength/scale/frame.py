"""From pixels to units in which both directions count the same."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from radlength.geometry import check_path
from radlength.geometry.path import FloatArray
from radlength.imaging import Radiograph


@dataclass(frozen=True, slots=True)
class Frame:
    """Size of a pixel, in millimetres where it is known, else in pixels.

    Parameters
    ----------
    row, column
        Size of one pixel down and across.
    unit
        ``"mm"`` at the place the header speaks of, or ``"px"``.
    """

    row: float = 1.0
    column: float = 1.0
    unit: str = "px"

    @classmethod
    def of(cls, radiograph: Radiograph | None) -> Frame:
        """Return the frame of a radiograph; square pixels where nothing is known."""
        if radiograph is None or radiograph.scale.row_mm is None or radiograph.scale.column_mm is None:
            return cls()
        return cls(radiograph.scale.row_mm, radiograph.scale.column_mm, "mm")

    def to_units(self, path_px: ArrayLike) -> FloatArray:
        """Return (row, column) pixels as units of the frame, shape (N, 2)."""
        return np.asarray(check_path(path_px) * (self.row, self.column))
