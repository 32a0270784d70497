"""The ellipse of a round shadow, to a fraction of a pixel, from a circle that is nearly it. Knows no ball."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.scale.ball import Ellipse, fit_ellipse
from radlength.tracing.ball_edges import rays
from radlength.tracing.strip import inside, sample, steps

FloatArray = NDArray[np.float64]

NEAR_MM, NEAR_SHARE = 0.3, 0.35
"""How far from the circle the rim is looked for, and at most what part of the radius; later a third of that."""
LEVEL = 0.28
"""Part of the step, over what lies outside, at which half of the rays pass on a logarithmic image."""
INSIDE_MM, INSIDE_SHARE, OUTSIDE_MM = 0.3, 0.5, (0.15, 0.35)
"""Where on a ray, from the rim, the inside and what lies outside are seen."""
EVEN, CLEAN_SHARE = 0.12, 0.4
"""On the rays an ellipse is fitted to, what lies outside differs by less than this part of the step, where that leaves
enough of them."""
SHOWN_MM = 0.1
"""A rim this near the ellipse is on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Shadow:
    """A round shadow.

    Parameters
    ----------
    ellipse
        Its rim in millimetres, x as columns run.
    share
        Share of the rays on which the rim is seen, on the image and on the ellipse.
    off_mm
        Root mean square distance of that rim from the ellipse.
    contrast
        Median step over the rim, in units of the noise along it.
    white
        Share of what lies just outside that is as bright as the image can store.
    """

    ellipse: Ellipse
    share: float
    off_mm: float
    contrast: float
    white: float

    @property
    def centre_mm(self) -> FloatArray:
        """(row, column) of its middle, shape (2,)."""
        return np.array(self.ellipse.centre[::-1])

    @property
    def radius_mm(self) -> float:
        """Mean of its semi-axes."""
        return (self.ellipse.major + self.ellipse.minor) / 2

    @property
    def u_mm(self) -> float:
        """Standard uncertainty of its middle, a coordinate: a quarter of the rays taken to be independent."""
        return float(np.hypot(self.off_mm / np.sqrt(max(self.share * len(rays()) / 4, 1)), 0.001))


def round_shadow(
    grey: NDArray[np.generic], centre_mm: FloatArray, radius_mm: float, side_mm: FloatArray, top: float
) -> Shadow:
    """Return the round shadow next to a circle.

    Parameters
    ----------
    grey
        Grey values, the shadow bright, shape (rows, columns).
    centre_mm, radius_mm
        The circle, (row, column).
    side_mm
        (row, column) size of a pixel.
    top
        Brightest grey the image can store.

    Raises
    ------
    MarkError
        No ellipse there.
    """
    centre, radius = centre_mm, radius_mm
    near = min(NEAR_MM, NEAR_SHARE * radius)
    for reach in (near, near / 3, near / 3):
        rim, clean = _rim(grey, centre, radius, reach, side_mm)
        ellipse, good = _ellipse(rim, clean if clean.mean() >= CLEAN_SHARE else np.isfinite(rim[:, 0]))
        centre, radius = np.array(ellipse.centre[::-1]), (ellipse.major + ellipse.minor) / 2
    good &= inside(rim, (grey.shape[0], grey.shape[1]), side_mm)
    off = float(np.sqrt(np.mean(_misses(rim[good], ellipse) ** 2))) if good.any() else np.inf
    return Shadow(ellipse, float(good.mean()), off, *_beside(grey, centre, radius, side_mm, top))


def outline(ellipse: Ellipse, count: int = 16) -> FloatArray:
    """Return (row, column) points of an ellipse at equal turns, shape (count, 2).

    Examples
    --------
    >>> outline(Ellipse((5.0, 3.0), 2.0, 1.0, 0.0), 4).round(6).tolist()
    [[3.0, 7.0], [4.0, 5.0], [3.0, 3.0], [2.0, 5.0]]
    """
    turn = np.arange(count) * (2 * np.pi / count)
    angle = np.radians(ellipse.angle_deg)
    x, y = ellipse.major * np.cos(turn), ellipse.minor * np.sin(turn)
    columns = ellipse.centre[0] + x * np.cos(angle) - y * np.sin(angle)
    return np.column_stack([ellipse.centre[1] + x * np.sin(angle) + y * np.cos(angle), columns])


def _rim(
    grey: NDArray[np.generic], centre: FloatArray, radius: float, near: float, side_mm: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the rim on each ray near a circle, shape (RAYS, 2), NaN where it is not seen, and the clean rays.

    Grey is a logarithm of exposure on most images, so that the rim, where half of the rays pass, stands over what lies
    outside by the same grey whatever that is: a fixed part of the largest steps.
    """
    from scipy.ndimage import gaussian_filter1d  # noqa: PLC0415

    step = float(side_mm.min()) / 2
    within_mm = min(INSIDE_MM, INSIDE_SHARE * radius)
    at = steps(-near - within_mm, near + OUTSIDE_MM[1], step)
    ways = rays()
    profiles = sample(grey, centre + (radius + at)[:, None] * ways[:, None], side_mm).astype(np.float64)
    profiles = gaussian_filter1d(profiles, 1.0, axis=1, mode="nearest")
    steep = np.where(np.abs(at) <= near, -np.gradient(profiles, axis=1), -np.inf)
    rough = at[steep.argmax(axis=1)]
    within = np.take_along_axis(profiles, _index(at, rough - within_mm)[:, None], axis=1)[:, 0]
    window = _index(at, rough + OUTSIDE_MM[0])[:, None] + np.arange(round(np.ptp(OUTSIDE_MM) / step))
    beyond = np.take_along_axis(profiles, np.minimum(window, len(at) - 1), axis=1)
    beside, uneven = np.median(beyond, axis=1), np.ptp(beyond, axis=1)
    high = float(np.quantile(within - beside, 0.75))
    level = beside + LEVEL * high
    place, crossed = _crossing(profiles, at, level, rough + OUTSIDE_MM[0])
    seen = crossed & (within > level) & (np.abs(place) <= near)
    clean = (beside < np.quantile(beside, 0.25) + EVEN * high) & (uneven < EVEN * high)
    return np.asarray(centre + np.where(seen, radius + place, np.nan)[:, None] * ways), clean & seen


def _crossing(
    profiles: FloatArray, at: FloatArray, level: FloatArray, until: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the last place before `until` where each profile falls through its level, and whether there is one."""
    over = (profiles > level[:, None]) & (at <= until[:, None])
    crossed = over.any(axis=1)
    last = np.where(crossed, len(at) - 1 - over[:, ::-1].argmax(axis=1), 0)
    last = np.minimum(last, len(at) - 2)
    rows = np.arange(len(last))
    first, second = profiles[rows, last], profiles[rows, last + 1]
    share = np.clip((first - level) / np.maximum(first - second, 1e-9), 0, 1)
    return at[last] + (at[1] - at[0]) * share, np.asarray(crossed)


def _index(at: FloatArray, place: FloatArray) -> NDArray[np.intp]:
    whole = np.rint((place - at[0]) / (at[1] - at[0]))
    return np.asarray(np.clip(whole, 0, len(at) - 1), dtype=np.intp)


def _ellipse(rim: FloatArray, used: NDArray[np.bool_]) -> tuple[Ellipse, NDArray[np.bool_]]:
    """Return the ellipse through the used places of a rim, far ones left out, and which of all lie on it."""
    good = used
    for _ in range(4):
        ellipse = fit_ellipse(rim[good][:, ::-1])
        off = np.abs(_misses(rim, ellipse))
        good = used & (off < max(3 * 1.4826 * float(np.median(off[good])), 0.012))
    return ellipse, np.isfinite(rim[:, 0]) & (off < SHOWN_MM)


def _misses(rim: FloatArray, ellipse: Ellipse) -> FloatArray:
    """Return how far outside an ellipse points lie, along the ray from its centre; infinite where there is none."""
    away = rim[:, ::-1] - ellipse.centre
    turn = np.arctan2(away[:, 1], away[:, 0]) - np.radians(ellipse.angle_deg)
    radius = 1 / np.hypot(np.cos(turn) / ellipse.major, np.sin(turn) / ellipse.minor)
    return np.asarray(np.nan_to_num(np.hypot(*away.T) - radius, nan=np.inf))


def _beside(
    grey: NDArray[np.generic], centre: FloatArray, radius: float, side_mm: FloatArray, top: float
) -> tuple[float, float]:
    """Return the median step of grey over the rim in units of the noise along it, and the white share outside."""
    ways = rays()
    within, beyond = (
        sample(grey, (centre + (radius + move) * ways)[None], side_mm)[0].astype(np.float64)
        for move in (-0.15, 0.15)
    )
    noise = max(float(np.median(np.abs(np.diff(ring)))) for ring in (within, beyond))
    return float(np.median(within - beyond) / max(1.05 * noise, 1.0)), float((beyond >= top).mean())
