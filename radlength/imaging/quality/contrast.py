"""Contrast of an instrument's tip against what lies beside it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from radlength.clean import figures
from radlength.imaging.quality.across import across
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Radiograph

LEAST = 3.0
SOURCE = "contrast to noise; least of 3 to 5 after Rose 1948, J Opt Soc Am 38:196-208 (from memory)"
_RUN_PX = 34
_TIP_PX = 4
"""The rounded end itself is left out."""


def tip_contrast(radiograph: Radiograph, path_px: ArrayLike) -> Measure:
    """Return the contrast to noise ratio of the last stretch of an instrument.

    Parameters
    ----------
    radiograph
        The image.
    path_px
        (row, column) points from the stop to the tip, shape (N, 2).

    Notes
    -----
    Height of the median profile at its middle over the ground beside it, divided by the SD of the ground with its
    slope taken away: bone structure counts as noise, as it does for the eye.
    """
    points = np.asarray(path_px, dtype=np.float64)
    run = int(np.hypot(*np.diff(points, axis=0).T).sum())
    keep = slice(max(run - _RUN_PX, 0), max(run - _TIP_PX, 0))
    profiles = across(radiograph.stored, points, half_px=16.0, wander_px=4.0, keep=keep)
    if profiles is None:
        return not_measured("tip_contrast", "1", "The tip is too near the edge of the image.", SOURCE)
    offsets = profiles.offsets_px
    ground = np.abs(offsets) >= 8
    left = np.column_stack([np.ones(int(ground.sum())), offsets[ground]])
    values = profiles.grey[:, ground].T
    away = values - left @ np.linalg.lstsq(left, values, rcond=None)[0]
    spread = float(away.std())
    middle = np.median(profiles.grey, axis=0)
    height = float(middle[np.abs(offsets) <= 1.5].mean() - middle[ground].mean())
    ratio = height / spread if spread > 0 else 0.0
    return Measure(
        "tip_contrast",
        ratio,
        "1",
        "doubt" if ratio < LEAST else "good",
        f"The last stretch of the instrument stands {figures(ratio)} times the noise over its ground; less than "
        f"{LEAST:g} is a doubt.",
        SOURCE,
        "The tip may reach further than is seen: use a thicker instrument where one fits, and widen the marks' limits.",
        "serious",
    )
