"""The clicks a trace runs between: whether they can be used, and what a pixel of the image measures."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.clean import counted
from radlength.errors import ImageError, MarkError
from radlength.finding import Finding
from radlength.geometry import crosses_itself, points_outside
from radlength.geometry.path import check_path, cumulative_length, polyline_length
from radlength.imaging import Radiograph
from radlength.imaging.pitch import refuse_pitch
from radlength.tracing.distance import distance

FloatArray = NDArray[np.float64]

MAX_ANCHORS = 8
APART_MM = 0.3
"""Two clicks nearer than this say nothing about the direction of a canal."""
LONGEST_MM = 80.0
"""No canal is as long; a longer path means a wrong pixel size, and would take unbounded work."""
SHORTEST_MM = 1.5
LONG_SIDE_MM = 35.0
"""Long side of an image whose file states no pixel pitch: intra-oral films have 35 to 41 (ISO 3665, from memory)."""
LONG_PATH_MM = 24.0
"""Longer than most canals on a detector: where the long side of an image says more, it was cut out of a larger one."""
ASSUMED = "trace-pixel-assumed"
"""Code of the finding that says so."""
LEAST_MM, MOST_MM = 0.01, 0.2
"""Pixels of a detector, and of a picture that was made smaller (common practice, no source)."""


def pixel_mm(
    radiograph: Radiograph, stated_mm: float | None, path_px: ArrayLike | None = None
) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Return the (row, column) size of a pixel in millimetres, shape (2,), and what is to be said about it.

    Parameters
    ----------
    radiograph
        The image; where its file states a size, that one is taken.
    stated_mm
        Size of a pixel where the file states none, or ``None`` to assume one.
    path_px
        Clicks along a whole canal, (row, column) pixels, shape (N, 2): what is assumed makes it no longer than 24 mm.

    Notes
    -----
    The size only tells how wide a canal is likely to be: a trace is in pixels and its length is measured by a
    reference. Thirty percent do not matter to it, but to what is questioned. Where no size is stated, the whole image
    is taken to be as long as those of intra-oral detectors are.

    Raises
    ------
    ImageError
        A stated size that no intra-oral detector has.
    MarkError
        A path that is none.
    """
    if stated_mm is not None:
        refuse_pitch(stated_mm, stated_mm, refusal=ImageError, subject=radiograph.name)
    scale = radiograph.scale
    if scale.row_mm is None or scale.column_mm is None:
        if stated_mm is not None:
            return np.array([stated_mm, stated_mm]), ()
        return _assumed(np.ones(2), radiograph, path_px)
    sides = np.array([scale.row_mm, scale.column_mm], dtype=np.float64)
    if scale.meaning != "none":
        return sides, (_coarse(sides.max()),) if sides.max() > MOST_MM else ()
    sides /= float(np.sqrt(sides.prod()))
    return (sides * stated_mm, ()) if stated_mm else _assumed(sides, radiograph, path_px)


def _assumed(
    sides: FloatArray, radiograph: Radiograph, path_px: ArrayLike | None
) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Return a likely size of a pixel whose sides are as `sides` to each other."""
    likely, whole = float(LONG_SIDE_MM / (sides * radiograph.shape).max()), f"image were {LONG_SIDE_MM:g}"
    if path_px is not None:
        long_mm = likely * polyline_length(check_path(path_px, subject=radiograph.name) * sides)
        if LONG_PATH_MM < long_mm <= LONGEST_MM:
            likely, whole = likely * LONG_PATH_MM / long_mm, f"path were {LONG_PATH_MM:g}"
    size = float(np.clip(likely, LEAST_MM, MOST_MM))
    said = Finding(
        ASSUMED,
        f"The file states no size of a pixel; {size:.2g} mm was taken, as if the {whole} mm long.",
        "State the pixel pitch of the detector if what was found looks too wide or too narrow.",
        "note",
    )
    return sides * size, (said, _coarse(None)) if likely > MOST_MM else (said,)


def _coarse(size_mm: float | None) -> Finding:
    """Return the doubt about pixels that show neither a canal nor a tip; ``None`` where nobody states their size."""
    pixels = "So few pixels" if size_mm is None else f"Pixels of {size_mm:.2g} mm"
    return Finding(
        "trace-pixel-coarse",
        f"{pixels}, as of a preview picture, are wider than a canal.",
        "Open the image as the detector stored it.",
    )


def assumed_mm(side_mm: FloatArray, said: tuple[Finding, ...]) -> float | None:
    """Return the side of a pixel where it was only assumed, ``None`` where it is known.

    Parameters
    ----------
    side_mm, said
        What :func:`pixel_mm` told.
    """
    assumed = any(one.code == ASSUMED for one in said)
    return float(np.sqrt(side_mm.prod())) if assumed else None


def check_anchors(
    anchors_px: ArrayLike, radiograph: Radiograph, side_mm: FloatArray, *, assumed_mm: float | None = None
) -> FloatArray:
    """Return the clicks in millimetres, shape (N, 2), or say why no canal can run through them.

    Parameters
    ----------
    anchors_px
        (row, column) pixels, shape (N, 2), in order along the canal.
    radiograph
        The image they are on.
    side_mm
        (row, column) size of a pixel.
    assumed_mm
        Side of a pixel where it was only assumed: a refusal then speaks of pixels.

    Raises
    ------
    MarkError
        Not two to eight points, a point outside the image, points on top of one another, a path too short, too
        long, or one that crosses itself.
    """
    points = check_path(anchors_px, subject=radiograph.name)
    if len(points) > MAX_ANCHORS:
        raise _refusal(radiograph, f"{len(points)} clicks", f"2 to {MAX_ANCHORS} clicks", "trace-anchors")
    outside = points_outside(points, radiograph.shape)
    if outside:
        rows, columns = radiograph.shape
        allowed = f"clicks on the image, {rows} rows and {columns} columns"
        raise _refusal(radiograph, f"{counted(outside, 'click')} outside the image", allowed, "trace-outside")
    points_mm = points * side_mm
    along = cumulative_length(points_mm)
    if np.diff(along).min() < APART_MM:
        allowed = f"clicks at least {distance(APART_MM, assumed_mm=assumed_mm)} apart along the canal"
        raise _refusal(radiograph, "two clicks on top of one another", allowed, "trace-anchors-together")
    if not SHORTEST_MM <= along[-1] <= LONGEST_MM:
        raise _wrong_length(radiograph, float(along[-1]), side_mm, assumed_mm)
    if crosses_itself(points_mm):
        raise _refusal(
            radiograph, "clicks on a path that crosses itself", "clicks in order", "trace-crossing"
        )
    return np.asarray(points_mm)


def _wrong_length(
    radiograph: Radiograph, length_mm: float, side_mm: FloatArray, assumed: float | None
) -> MarkError:
    allowed = f"{SHORTEST_MM:g} to {LONGEST_MM:g} mm, at {side_mm[0]:.3g} mm a pixel"
    if assumed is not None:
        least, most = SHORTEST_MM / assumed, LONGEST_MM / assumed
        allowed = f"{least:.0f} to {most:.0f} pixels, as {assumed:.2g} mm was taken for one"
    here = distance(length_mm, assumed_mm=assumed)
    return _refusal(radiograph, f"a path of {here}", allowed, "trace-length")


def _refusal(radiograph: Radiograph, wrong: str, allowed: str, code: str) -> MarkError:
    remedy = "click again in order from the reference point to the apex"
    return MarkError(wrong, allowed, remedy, code=code, subject=radiograph.name)
