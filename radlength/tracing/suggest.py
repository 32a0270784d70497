"""Where the face of a stop and the end of a root may be: drawn as a hint, never a mark, never measured by itself.

On simulated images a hint for the stop lies no nearer than a click of SD 0.2 mm, one for the root a little nearer than
a click of SD 0.4 mm (the study of this project prints both): a person places both marks. Nothing here returns what a
record, a canal or a reference could take in: no path, no assist. The weights were chosen so that the confidence is
about the share within 0.3 mm (seeds below 10 000).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.clean import counted
from radlength.errors import MarkError
from radlength.geometry import points_outside
from radlength.geometry.path import check_path, points_along, polyline_length
from radlength.imaging import Radiograph
from radlength.tracing.anchors import pixel_mm
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import bright_grey
from radlength.tracing.objects import VERSION
from radlength.tracing.strip import inside, steps, strip_along

FloatArray = NDArray[np.float64]

STEP_MM = 0.04
REACH_MM = 1.2
"""How far from the place that is pointed at a hint may lie."""
STOP_BAND_MM = (0.7, 1.2)
"""Where beside the shaft a stop is seen: its radius is 1 to 2 mm (common practice, no source)."""
STOP_SD_MM, STOP_PART_MM, STOP_WEIGHT = 0.25, 0.5, 2.0
APEX_BAND_MM, APEX_SD_MM, APEX_WEIGHT = 0.5, 0.5, 1.5
GAP_MM = 0.2
"""SD of a Gaussian as wide as the dark line round a root, 0.2 to 0.4 mm across (common practice, no source)."""
EVEN = 0.5
"""Grey that changes by less does not change: what is left comes from the place between pixels."""
LONGEST_MM = 80.0


@dataclass(frozen=True, slots=True, eq=False)
class Suggestion:
    """A hint for the eye. It is no mark: a person looks and clicks.

    Parameters
    ----------
    what
        ``"stop face"`` or ``"root end"``.
    point_px
        (row, column) of the hint, shape (2,).
    spread_mm
        SD of the places that fit nearly as well, along the axis; not an uncertainty of the thing itself.
    confidence
        From 0 to 1: how much of what was looked at speaks for a place within 0.3 mm of it.
    reason
        What was seen, as one sentence that says it is only a suggestion.
    method, version
        How it was made.
    """

    what: str
    point_px: FloatArray
    spread_mm: float
    confidence: float
    reason: str
    method: str
    version: str = VERSION


def suggest_stop_face(
    radiograph: Radiograph,
    path_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> Suggestion | None:
    """Return where the lower face of an instrument's stop may be, or None where nothing speaks for any place.

    Parameters
    ----------
    radiograph
        The image.
    path_px
        (row, column) points along the instrument from near its stop to its tip, shape (N, 2), N >= 2.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"dark"`` where metal is dark though the file does not say so.

    Notes
    -----
    Grey beside the shaft, on both sides, over the place along it: one change at the same place on both, with levels and
    slopes of their own, near the first point (SD 0.25 mm). The hint is the mean of all places by how well they fit.

    Raises
    ------
    MarkError
        A path that cannot be measured or leaves the image.
    ImageError
        A stated size of a pixel that no detector has.
    """
    grey, side_mm, line = _looked_at(radiograph, path_px, stated_pixel_mm, polarity)
    way = _way(line)
    at = steps(-REACH_MM - 1.0, REACH_MM + 1.0, STEP_MM)
    points = line[0] + at[:, None] * way
    if not inside(points, (grey.shape[0], grey.shape[1]), side_mm)[np.abs(at) < 1.0].all():
        return None
    across = steps(-STOP_BAND_MM[1], STOP_BAND_MM[1], 0.05)
    strip = strip_along(grey, points, across, side_mm).astype(np.float64)
    bands = [strip[:, (across * side >= STOP_BAND_MM[0])].mean(axis=1) for side in (-1, 1)]
    if min(float(np.ptp(band)) for band in bands) < EVEN:
        return None
    places = steps(-REACH_MM, REACH_MM, STEP_MM)
    rest = np.array([[_broken(at, band, place) for band in bands] for place in places])
    log = -0.5 * STOP_WEIGHT * np.log(np.maximum(rest, 1e-3)).sum(axis=1)
    words = "Grey on both sides of the shaft changes here, as at the face of a stop. Only a suggestion: look and click."
    return _suggested(
        "stop face", line[0], way, places, log - 0.5 * (places / STOP_SD_MM) ** 2, side_mm, words
    )


def suggest_apex(
    radiograph: Radiograph,
    path_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> Suggestion | None:
    """Return where the root may end near the end of a path, or None where nothing speaks for any place.

    Parameters
    ----------
    radiograph
        The image.
    path_px
        (row, column) points along a canal, the last a click near the apex, shape (N, 2), N >= 2.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"dark"`` where metal is dark though the file does not say so.

    Notes
    -----
    Along the path's last direction, a dark line across it, as round a root, near the last point (SD 0.5 mm). The hint
    is the mean of all places by how dark they are.

    Raises
    ------
    MarkError
        A path that cannot be measured or leaves the image.
    ImageError
        A stated size of a pixel that no detector has.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    grey, side_mm, line = _looked_at(radiograph, path_px, stated_pixel_mm, polarity)
    way = -_way(line[::-1])
    at = steps(-REACH_MM - 1.0, REACH_MM + 1.0, STEP_MM)
    points = line[-1] + at[:, None] * way
    if not inside(points, (grey.shape[0], grey.shape[1]), side_mm)[np.abs(at) < 1.0].all():
        return None
    strip = strip_along(grey, points, steps(-APEX_BAND_MM, APEX_BAND_MM, 0.05), side_mm).astype(np.float64)
    profile = strip.mean(axis=1)
    if float(np.ptp(profile)) < EVEN:
        return None
    trough = gaussian_filter1d(profile, GAP_MM / STEP_MM, order=2, mode="nearest")
    usual = max(1.4826 * float(np.median(np.abs(trough))), 1e-9)
    use = np.abs(at) <= REACH_MM
    log = APEX_WEIGHT * np.clip(trough / usual, -3, 4) - 0.5 * (at / APEX_SD_MM) ** 2
    words = "A dark line crosses here, as round the end of a root. Only a suggestion: look and click."
    return _suggested("root end", line[-1], way, at[use], log[use], side_mm, words)


def _looked_at(
    radiograph: Radiograph, path_px: ArrayLike, stated_mm: float | None, polarity: Polarity
) -> tuple[NDArray[np.generic], FloatArray, FloatArray]:
    """Return grey values with metal bright, the size of a pixel, and the path in millimetres."""
    points = check_path(path_px, subject=radiograph.name)
    side_mm, _ = pixel_mm(radiograph, stated_mm)
    outside = points_outside(points, radiograph.shape)
    length = float(np.hypot(*np.diff(points * side_mm, axis=0).T).sum())
    if outside or length > LONGEST_MM:
        raise MarkError(
            f"a path of {length:.1f} mm with {counted(outside, 'point')} outside the image",
            f"a path on the image, at most {LONGEST_MM:g} mm long",
            "mark the instrument or the canal first",
            code="suggest-path",
            subject=radiograph.name,
        )
    dark = polarity == "dark" or (polarity == "auto" and radiograph.facts.photometric == "MONOCHROME1")
    return bright_grey(radiograph, dark=dark), side_mm, points * side_mm


def _way(line: FloatArray) -> FloatArray:
    """Return the unit direction of a line over its first millimetre."""
    way = points_along(line, np.array([min(1.0, polyline_length(line))]))[0] - line[0]
    return np.asarray(way / max(float(np.hypot(*way)), 1e-9))


def _broken(at: FloatArray, band: FloatArray, place: float) -> float:
    """Return squares about a line before a place and another one after it, as a part of those about one line."""
    before = (at >= place - STOP_PART_MM) & (at < place)
    after = (at >= place) & (at < place + STOP_PART_MM)
    parts = _about_line(at[before], band[before]) + _about_line(at[after], band[after])
    near = before | after
    return parts / max(_about_line(at[near], band[near]), 1e-9)


def _about_line(x: FloatArray, y: FloatArray) -> float:
    away = x - x.mean()
    slope = float(away @ y) / max(float(away @ away), 1e-12)
    return float(((y - y.mean() - slope * away) ** 2).sum())


def _suggested(
    what: str,
    origin: FloatArray,
    way: FloatArray,
    places: FloatArray,
    log: FloatArray,
    side_mm: FloatArray,
    words: str,
) -> Suggestion:
    share = np.exp(log - log.max())
    share /= share.sum()
    best = float(share @ places)
    near = np.abs(places - best) <= 0.3
    spread = float(np.sqrt(share @ (places - best) ** 2))
    point = (origin + best * way) / side_mm
    return Suggestion(what, point, spread, float(share[near].sum()), words, f"{what} hint")
