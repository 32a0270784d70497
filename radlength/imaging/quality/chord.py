"""Blur from a round tapered wire: its profile is that of a chord through a disc, blurred."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.imaging.quality.across import Across, in_segments

FloatArray = NDArray[np.float64]
_SEGMENTS = 8
_WELL = 0.012
"""RMS of a fit, over the range of the profiles, that needs no second start."""
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
    fine, mixing = _mixing(offsets, blur)
    return np.asarray(_seen(np.array([radius]), fine, mixing, strength)[0])


def _mixing(offsets: FloatArray, blur: float) -> tuple[FloatArray, FloatArray]:
    """Return fine places, shape (F,), and the Gaussian weights that blur them onto the offsets, shape (K, F)."""
    step = 0.2
    reach = float(np.abs(offsets).max()) + 4 * blur + 1
    fine = np.arange(-reach, reach + step / 2, step)
    weights = np.exp(-0.5 * ((offsets[:, None] - fine) / max(blur, 0.15)) ** 2)
    return fine, weights / weights.sum(axis=1, keepdims=True)


def _seen(radii: FloatArray, fine: FloatArray, mixing: FloatArray, strength: float) -> FloatArray:
    """Return blurred profiles of wires of several radii, shape (len(radii), K).

    Every fine place takes the mean chord of its cell: the chord at its middle would jump as a radius grows past it.
    """
    half, radius = (fine[1] - fine[0]) / 2, np.maximum(radii, 1e-3)[:, None]
    chord = (_chord_sum(fine + half, radius) - _chord_sum(fine - half, radius)) / (2 * half)
    if strength <= 1e-3:
        return np.asarray(chord @ mixing.T)
    passed = np.exp(-strength * chord) @ mixing.T
    return np.asarray(-np.log(np.clip(passed, 1e-6, 1.0)) / strength)


def _chord_sum(places: FloatArray, radius: FloatArray) -> FloatArray:
    """Return the integral of the chord, as a share of the diameter, from the axis to places (a half disc's area)."""
    share = np.clip(places / radius, -1, 1)
    return np.asarray(radius / 2 * (share * np.sqrt(1 - share**2) + np.arcsin(share)))


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
    wires = _Wires(means, profiles.offsets_px, along, ground)
    widths = _half_width(means[0], wires.offsets), _half_width(means[-1], wires.offsets)
    fits = []
    for blur in (1.2, 3.0):
        try:
            fits.append(
                least_squares(
                    lambda given: wires.solved(given)[0].ravel() / wires.scale,
                    [blur, *widths, 0.7],
                    bounds=([0.2, 0.5, 0.5, 0.0], [8.0, 20.0, 20.0, 6.0]),
                    x_scale=[1.0, 3.0, 3.0, 1.0],
                    max_nfev=25,
                    ftol=1e-5,
                    xtol=1e-4,
                )
            )
        except (ValueError, np.linalg.LinAlgError):
            continue
        if np.sqrt(np.mean(fits[-1].fun ** 2)) < _WELL:
            break
    if not fits:
        return None
    fit = min(fits, key=lambda item: float(item.cost))
    away, heights = wires.solved(fit.x)
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


class _Wires:
    """The profiles of all stretches, and the heights and grounds that fit them best for a blur and two radii."""

    def __init__(self, means: FloatArray, offsets: FloatArray, along: FloatArray, ground: int) -> None:
        self.means, self.offsets = means, offsets
        self.share = (along - along[0]) / max(float(np.ptp(along)), 1.0)
        self.powers = np.vander(offsets / offsets.max(), ground + 1, increasing=True)
        self.scale = max(float(np.ptp(means)), 1e-9)
        self._mixed: tuple[float, FloatArray, FloatArray] | None = None

    def solved(self, given: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what is left of every profile, shape (S, K), 0 far from the wire, and the heights, shape (S,)."""
        blur, first, last, strength = given
        radii = first + (last - first) * self.share
        if self._mixed is None or self._mixed[0] != blur:
            self._mixed = (blur, *_mixing(self.offsets, blur))
        _, fine, mixing = self._mixed
        shape = _seen(radii, fine, mixing, strength)
        near = np.abs(self.offsets) <= radii[:, None] + _FLANK_PX
        ground = np.broadcast_to(self.powers, (len(radii), *self.powers.shape))
        left = np.concatenate([shape[..., None], ground], axis=2) * near[..., None]
        right = self.means * near
        turned = left.transpose(0, 2, 1)
        found = np.linalg.solve(turned @ left, (turned @ right[..., None]))
        return right - (left @ found)[..., 0], found[:, 0, 0]


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
