"""Sharpness from the edges of a wire or instrument, and whether an export sharpened them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.clean import figures
from radlength.imaging.quality.across import Across, across, in_segments
from radlength.imaging.quality.chord import ChordFit, fit_chord
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Radiograph

LEAST_LP_MM = 5.0
"""Older digital detectors resolve 7 lp/mm (White and Pharoah, 5th edition, as quoted); less than 5 is a doubt
(common practice, no source)."""
HALO_LIMIT = {True: 0.08, False: 0.02}
"""Dark rim beside a bright wire as a share of its height, in a canal and beside a tooth (own measurements on
simulated images: at most 0.067 and -0.015 where not sharpened)."""
SOURCE = "chord of a round wire under a Gaussian blur; 7 lp/mm of older digital detectors: White and Pharoah, as quoted"
HALO_SOURCE = (
    "overshoot beside an edge, as an unsharp mask makes it; limit: own measurements on simulated images"
)
_WORST_RESIDUAL = 0.12
_TENTH = math.sqrt(math.log(10) / 2) / math.pi
"""Frequency times SD at which a Gaussian's modulation transfer is 10 %: exp(-2 pi^2 s^2 f^2) = 0.1."""


def wire_profiles(radiograph: Radiograph, path_px: ArrayLike) -> Across | None:
    """Return profiles across a wire or instrument, its two ends left out."""
    points = np.asarray(path_px, dtype=np.float64)
    run = int(np.hypot(*np.diff(points, axis=0).T).sum())
    return across(radiograph.stored, points, keep=slice(int(0.12 * run), int(0.95 * run)))


def sharpness(
    radiograph: Radiograph, path_px: ArrayLike, mm_per_px: float | None, *, in_canal: bool
) -> tuple[Measure, Measure]:
    """Return the resolution that the edges of a wire show, and the dark rim beside them.

    Parameters
    ----------
    radiograph
        The image.
    path_px
        (row, column) points along a round wire or instrument, shape (N, 2).
    mm_per_px
        Millimetres in the tooth for a pixel, ``None`` where there is no scale.
    in_canal
        Whether it lies in a canal, whose darkness beside it counts as ground.
    """
    profiles = wire_profiles(radiograph, path_px)
    if profiles is None:
        why = "Too little of the instrument lies well inside the image."
        return (
            not_measured("sharpness", "lp/mm", why, SOURCE),
            not_measured("sharpened", "1", why, HALO_SOURCE),
        )
    fit = fit_chord(profiles, ground=2 if in_canal else 1)
    if fit is None or fit.residual > _WORST_RESIDUAL:
        why = "The marked thing does not look like a round wire."
        return (
            not_measured("sharpness", "lp/mm", why, SOURCE),
            not_measured("sharpened", "1", why, HALO_SOURCE),
        )
    return _sharpness(fit, mm_per_px), _sharpened(profiles, fit, HALO_LIMIT[in_canal])


def _sharpness(fit: ChordFit, mm_per_px: float | None) -> Measure:
    if mm_per_px is None:
        why = f"The blur has an SD of {figures(fit.blur_px)} px, but there is no scale to say it in millimetres."
        return not_measured("sharpness", "lp/mm", why, SOURCE)
    blur_mm = fit.blur_px * mm_per_px
    limit = min(_TENTH / blur_mm, 0.5 / mm_per_px)
    return Measure(
        "sharpness",
        limit,
        "lp/mm",
        "doubt" if limit < LEAST_LP_MM else "good",
        f"The edges of the instrument show about {figures(limit)} lp/mm (blur SD {blur_mm:.3f} mm, "
        f"{figures(fit.blur_px)} px); less than {LEAST_LP_MM:g} is a doubt.",
        SOURCE,
        "Fine tips end before they seem to: allow for it in the marks, and look for motion or a bent receptor.",
    )


def halo(profiles: Across, fit: ChordFit) -> float:
    """Return how much darker the rim beside a wire is than its ground, as a share of the wire's height.

    The least of all stretches but the lowest quarter counts: sharpening darkens every rim, a canal only some.
    """
    means, along = in_segments(profiles, 8)
    found = []
    for mean, place in zip(means, along, strict=True):
        radius = max(fit.radius_px - fit.taper * (place - along[0]), 0.5)
        found.append(_rim(mean, profiles.offsets_px, radius + 2 * max(fit.blur_px, 0.7)))
    return float(np.quantile(found, 0.25))


def _rim(mean: NDArray[np.float64], offsets: NDArray[np.float64], start: float) -> float:
    far = np.abs(offsets)
    rim = (far >= start) & (far < start + 2.5)
    ground = (far >= start + 3.5) & (far < start + 7)
    inside = far < max(start - 4, 1)
    level = float(mean[ground].mean())
    height = float(mean[inside].max()) - level
    return (level - float(mean[rim].mean())) / height if height > 0 else 0.0


def _sharpened(profiles: Across, fit: ChordFit, limit: float) -> Measure:
    rim = halo(profiles, fit)
    return Measure(
        "sharpened",
        rim,
        "1",
        "doubt" if rim > limit else "good",
        f"The rim beside the instrument is darker than its ground by {figures(100 * rim)} % of the instrument's "
        f"height; more than {100 * limit:g} % says that the export was sharpened.",
        HALO_SOURCE,
        "Export the image without filters: sharpening moves and invents edges.",
    )
