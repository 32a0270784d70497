"""What is marked on two images of the same tooth, and what is known beforehand. Checks shapes, solves nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from radlength.errors import MarkError, ScaleError
from radlength.geometry import Point, as_points
from radlength.geometry.number import is_number
from radlength.geometry.path import FloatArray

ShiftDirection = Literal["left", "right", "mesial", "distal"]
"""Where the tube went for the second image: toward smaller or larger columns, or toward a side of the tooth."""

ImageSide = Literal["left", "right"]

MAX_SHIFT_DEG = 45.0


@dataclass(frozen=True, slots=True)
class View:
    """The marks on one of two images.

    Parameters
    ----------
    canals
        By canal: (row, column) points from the reference point to the radiographic apex, shape (N, 2), N >= 4.
    instruments
        By canal: points from the stop to the tip of the instrument that lies in it.
    marker_px
        Points of the marker or reference beside the tooth, shape (M, 2), same order on both images.
    pitch_mm
        Size of a pixel at the detector, (row, column), millimetres.
    shape_px
        (rows, columns) of the image; ``None`` where not known.
    """

    canals: Mapping[str, tuple[Point, ...]]
    instruments: Mapping[str, tuple[Point, ...]] = field(default_factory=dict)
    marker_px: tuple[Point, ...] = ()
    pitch_mm: tuple[float, float] = (0.025, 0.025)
    shape_px: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        for name in ("canals", "instruments"):
            checked = {key: as_points(path, subject=key) for key, path in getattr(self, name).items()}
            object.__setattr__(self, name, checked)
        object.__setattr__(self, "marker_px", _marker(self.marker_px))
        if not (len(self.pitch_mm) == 2 and all(is_number(p) and 0.005 <= p <= 0.5 for p in self.pitch_mm)):
            raise ScaleError(
                f"a pixel pitch of {self.pitch_mm} mm",
                "0.005 to 0.5 mm for rows and columns",
                "give the pitch at the detector",
                code="two-views-pitch",
            )


@dataclass(frozen=True, slots=True)
class KnownInstrument:
    """An instrument of known length in a canal, visible on both images.

    Parameters
    ----------
    canal
        Name of the canal it lies in.
    length_mm, limit_mm
        Length from the stop to the tip, and half-width of its rectangular limits, millimetres.
    """

    canal: str
    length_mm: float
    limit_mm: float = 0.5

    def __post_init__(self) -> None:
        if not (is_number(self.length_mm) and 5 <= self.length_mm <= 40):
            raise ScaleError(
                f"an instrument length of {self.length_mm!r} mm",
                "5 to 40 mm from the stop to the tip",
                code="two-views-instrument-length",
                subject=self.canal,
            )
        if not (is_number(self.limit_mm) and 0 <= self.limit_mm < self.length_mm / 2):
            raise ScaleError(
                f"a limit of {self.limit_mm!r} mm on {self.length_mm} mm",
                "0 mm up to less than half the length",
                code="two-views-instrument-limit",
                subject=self.canal,
            )


@dataclass(frozen=True, slots=True)
class TwoViewMarks:
    """Two images of the same tooth: a straight one, and one with the tube shifted horizontally.

    Parameters
    ----------
    straight, shifted
        The marks on each.
    shift
        Where the tube went for the second image. ``"left"`` and ``"right"`` are sides of the image as its
        columns run; ``"mesial"`` and ``"distal"`` need `mesial_side`.
    angle_deg
        Declared horizontal shift, a positive number; ``None`` where not known.
    u_angle_deg
        Standard uncertainty of `angle_deg`.
    instruments
        Instruments of known length.
    marker_mm
        Known shape of the marker, shape (M, 3), in the order of ``marker_px``; empty where the marks beside
        the tooth are only the same points on both images. x as columns run, y as rows run, z toward the tube
        when the marker is held as it stands on the image.
    mesial_side
        On which side of the image mesial is.
    """

    straight: View
    shifted: View
    shift: ShiftDirection
    angle_deg: float | None = None
    u_angle_deg: float = 5.0
    instruments: tuple[KnownInstrument, ...] = ()
    marker_mm: tuple[tuple[float, float, float], ...] = ()
    mesial_side: ImageSide | None = None

    def __post_init__(self) -> None:
        shape = _numbers(self.marker_mm, 3)
        if shape is None:
            raise ScaleError(
                "a marker shape with a point that is not a number, or not three of them",
                "finite (x, y, z) of every point, in millimetres",
                code="two-views-marker-shape",
            )
        object.__setattr__(self, "marker_mm", tuple(tuple(map(float, point)) for point in shape))
        self._check_names()
        self._check_marker()
        self._check_shift()

    @property
    def sign(self) -> float:
        """+1 where the tube went toward larger columns, -1 toward smaller."""
        side = self.shift
        if side in ("mesial", "distal"):
            mesial_right = self.mesial_side == "right"
            side = "right" if (side == "mesial") == mesial_right else "left"
        return 1.0 if side == "right" else -1.0

    def _check_names(self) -> None:
        first, second = set(self.straight.canals), set(self.shifted.canals)
        if not first or first != second:
            raise MarkError(
                f"canals {sorted(first)} on one image and {sorted(second)} on the other",
                "the same canals on both images",
                "mark every canal on both",
                code="two-views-canals",
            )
        for name in sorted(first):
            if min(len(self.straight.canals[name]), len(self.shifted.canals[name])) < 4:
                raise MarkError(
                    "a canal with fewer than four points on one image",
                    "four points or more, eight are better",
                    "click along the canal",
                    code="two-views-few-clicks",
                    subject=name,
                )
        if len({known.canal for known in self.instruments}) < len(self.instruments):
            raise MarkError(
                "two instruments of known length in one canal",
                "one in a canal: both would count, though they are marked once",
                "give each length once",
                code="two-views-instrument",
            )
        for known in self.instruments:
            views = (self.straight, self.shifted)
            if known.canal not in first or any(known.canal not in view.instruments for view in views):
                raise MarkError(
                    "an instrument of known length is not marked on both images",
                    "its path from stop to tip on both, in a marked canal",
                    "mark it on the other image",
                    code="two-views-instrument",
                    subject=known.canal,
                )

    def _check_marker(self) -> None:
        counts = {len(self.straight.marker_px), len(self.shifted.marker_px)}
        if len(self.marker_mm):
            counts.add(len(self.marker_mm))
        if len(counts) != 1:
            raise MarkError(
                f"{len(self.straight.marker_px)} and {len(self.shifted.marker_px)} marks beside the tooth"
                + (f" for a marker of {len(self.marker_mm)} points" if self.marker_mm else ""),
                "the same points in the same order on both images",
                "mark the missing points",
                code="two-views-marker-count",
            )
        if not (self.instruments or self.marker_mm):
            raise ScaleError(
                "nothing of known length on the two images",
                "an instrument of known length in a canal, or a marker of known shape",
                "give the length of the instrument",
                code="two-views-no-length",
            )

    def _check_shift(self) -> None:
        if self.shift not in ("left", "right", "mesial", "distal"):
            raise ScaleError(
                f"a tube shift to {self.shift!r}",
                "'left', 'right', 'mesial' or 'distal'",
                "say where the tube went; the images alone do not tell",
                code="two-views-shift",
            )
        if self.shift in ("mesial", "distal") and self.mesial_side not in ("left", "right"):
            raise ScaleError(
                f"a tube shift to {self.shift}, and it is not said where mesial is",
                "mesial_side 'left' or 'right'",
                code="two-views-mesial-side",
            )
        angle = self.angle_deg
        if angle is not None and not (is_number(angle) and 0 <= angle <= MAX_SHIFT_DEG):
            raise ScaleError(
                f"a tube shift of {angle!r}°",
                f"0 to {MAX_SHIFT_DEG:g}°; the direction is given apart",
                code="two-views-angle",
            )
        if not (is_number(self.u_angle_deg) and 0 < self.u_angle_deg <= 20):
            raise ScaleError(
                f"a tube shift known to {self.u_angle_deg!r}°", "above 0 up to 20°", code="two-views-angle"
            )


def _marker(points: ArrayLike) -> tuple[Point, ...]:
    array = _numbers(points, 2)
    if array is None:
        raise MarkError(
            "marks beside the tooth that are no points",
            "finite (row, column) pairs",
            "mark them again",
            code="two-views-marker-points",
        )
    return tuple((float(row), float(column)) for row, column in array)


def _numbers(points: ArrayLike, columns: int) -> FloatArray | None:
    """Return points as an array, shape (M, columns), empty where there are none; ``None`` where they are no points."""
    try:
        raw = np.asarray(points)
        array = np.asarray(raw, dtype=np.float64)
    except (TypeError, ValueError):
        return None
    if array.shape[:1] == (0,):
        return np.empty((0, columns))
    good = raw.dtype.kind in "iuf" and array.ndim == 2 and array.shape[1] == columns
    return array if good and np.isfinite(array).all() else None
