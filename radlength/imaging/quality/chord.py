"""Blur from a round tapered wire: its profile is that of a chord through a disc, blurred."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.imaging.quality.across import Across, in_segments

FloatArray = NDArray[np.float64]
_SEGMENTS = 8
_FLANK_PX = 8.5
"""Ground taken in on each side of the wire."""


@dataclass(frozen=True, slots=True)
class ChordFit:
    """A wire as it was fitted.

    Parameters
    ----------
    blur_px
        SD of the Gaussian blur.
    u_blur_px
        Standard uncertainty of it, from the scatter about the fit alone.
    radius_px, taper
        Radius at the first profile, and what it loses for each pixel along.
    residual
        RMS distance from the fit as a share of the amplitude.
    amplitude
        Height of the profile over its ground, in stored values, median of the stretches.
    """

    blur_px: float
    u_blur_px: float
    radius_px: float
    taper: float
    residual: float
    amplitude: float


def blurred_chord(offsets: FloatArray, radius: float, blur: float, strength: float = 0.0) -> FloatArray:
    """Return the profile of a round wire under a Gaussian blur, shape of `offsets`.

    Parameters
    ----------
    offsets
        Distance from the axis in pixels, evenly spaced.
    radius, blur
        Radius of the wire and SD of the blur in pixels.
    strength
        Attenuation along the full diameter: 0 for a film that answers to the chord itself, else the profile is
        the negative logarithm of the blurred transmission.

    Notes
    -----
    Chord 2 sqrt(r^2 - t^2), as a share of the diameter (plane geometry); transmission exp(-strength * chord),
    blurred before the logarithm, as blur happens before grey is made (Beer-Lambert law).
    """
    step = 0.1
    reach = float(np.abs(offsets).max()) + 4 * blur + 1
    fine = np.arange(-reach, reach + step / 2, step)
    chord = np.sqrt(np.clip(1 - (fine / max(radius, 1e-3)) ** 2, 0, None))
    passed = np.exp(-strength * chord) if strength > 1e-3 else chord
    half = max(int(np.ceil(4 * blur / step)), 1)
    kernel = np.exp(-0.5 * (np.arange(-half, half + 1) * step / max(blur, 1e-3)) ** 2)
    seen = np.convolve(passed, kernel / kernel.sum(), mode="same")
    if strength > 1e-3:
        seen = -np.log(np.clip(seen, 1e-6, 1.0)) / strength
    return np.interp(offsets, fine, seen)


def fit_chord(profiles: Across, *, ground: int = 1) -> ChordFit | None:
    """Return the wire that fits the profiles best, with one blur and a radius that changes along it.

    Parameters
    ----------
    profiles
        Profiles across the wire.
    ground
        Degree of the ground in each stretch: 1 for a wire over bone, 2 for one in a canal, whose darkness lies
        beside it.

    Notes
    -----
    Height and ground are free in each stretch; blur, radius, taper and strength of attenuation are common.
    """
    from scipy.optimize import least_squares

    means, along = in_segments(profiles, _SEGMENTS)
    offsets = profiles.offsets_px
    powers = np.vander(offsets, ground + 1, increasing=True)
    share = (along - along[0]) / max(float(np.ptp(along)), 1.0)

    def solved(parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        blur, first, last, strength = parameters
        away, heights = [], []
        for mean, place in zip(means, share, strict=True):
            radius = first + (last - first) * place
            near = np.abs(offsets) <= radius + _FLANK_PX
            shape = blurred_chord(offsets, radius, blur, strength)
            left = np.column_stack([shape, powers])[near]
            found = np.linalg.lstsq(left, mean[near], rcond=None)[0]
            weight = np.zeros_like(offsets)
            weight[near] = mean[near] - left @ found
            away.append(weight)
            heights.append(found[0])
        return np.concatenate(away), np.asarray(heights)

    start_radius = _half_width(means[0], offsets), _half_width(means[-1], offsets)
    scale = max(float(np.ptp(means)), 1e-9)
    try:
        fit = least_squares(
            lambda parameters: solved(parameters)[0] / scale,
            [1.2, *start_radius, 0.7],
            bounds=([0.2, 0.5, 0.5, 0.0], [8.0, 20.0, 20.0, 6.0]),
            x_scale=[1.0, 3.0, 3.0, 1.0],
            max_nfev=40,
        )
    except (ValueError, np.linalg.LinAlgError):
        return None
    away, heights = solved(fit.x)
    amplitude = float(np.median(heights))
    if amplitude <= 0:
        return None
    return ChordFit(
        blur_px=float(fit.x[0]),
        u_blur_px=_uncertainty(fit.jac, fit.fun),
        radius_px=float(fit.x[1]),
        taper=float((fit.x[1] - fit.x[2]) / max(float(np.ptp(along)), 1.0)),
        residual=float(np.sqrt(np.mean(away**2))) / amplitude,
        amplitude=amplitude,
    )


def _half_width(mean: FloatArray, offsets: FloatArray) -> float:
    lifted = mean - np.median(mean)
    above = np.abs(offsets[lifted > 0.5 * lifted.max()])
    return float(np.clip(np.median(above) * 2 if above.size else 4.0, 1.0, 15.0))


def _uncertainty(jacobian: FloatArray, away: FloatArray) -> float:
    """Return the standard uncertainty of the blur; samples half a pixel apart count as half a sample each."""
    free = max(np.count_nonzero(away) / 2 - 4 - 3 * _SEGMENTS, 1)
    try:
        inverse = np.linalg.inv(jacobian.T @ jacobian)
    except np.linalg.LinAlgError:
        return float("inf")
    return float(np.sqrt(2 * inverse[0, 0] * (away @ away) / 2 / free))
