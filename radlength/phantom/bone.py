"""The bone round the teeth: crest, plates, and a fine net of trabeculae made from band-passed noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.tooth import Tooth

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

LIGAMENT_MM = 0.25
"""Width of the periodontal ligament space."""

THIN_MM = 0.5
"""Thickness of a trabecular sheet."""

LAMINA_MM = 0.35
"""Thickness of the lamina dura."""


@dataclass(frozen=True, slots=True, eq=False)
class Jaw:
    """The bone of a jaw over one grid.

    Parameters
    ----------
    crest_mm
        Height of the crest at every column, shape (1, M).
    sheets
        Density of trabecular bone on sheets through its depth, shape (K, N, M), mean near 1.
    near_mm, far_mm
        Depths of the inner faces of the plates toward the tube and toward the film.
    """

    crest_mm: Image
    sheets: Image
    near_mm: float
    far_mm: float


def jaw_of(
    teeth: tuple[Tooth, ...], y_mm: FloatArray, x_mm: FloatArray, rng: np.random.Generator, sheets: int = 6
) -> Jaw:
    """Return the jaw that holds some teeth.

    Parameters
    ----------
    teeth
        The teeth; the crest runs 1.3 mm below the line of their necks.
    y_mm, x_mm
        The grid.
    rng
        Source of the net.
    sheets
        Through how many sheets the beam passes.
    """
    places = [float(tooth.crown_x.mean()) for tooth in teeth]
    order = np.argsort(places)
    necks = np.interp(x_mm, np.array(places)[order], np.array([tooth.neck_mm for tooth in teeth])[order])
    between = np.min(
        [np.abs(x_mm - place) / float(t.crown_a.mean()) for place, t in zip(places, teeth, strict=True)],
        axis=0,
    )
    crest = necks + 1.5 - 0.7 * np.clip(between - 0.6, 0, 0.5)
    crest = crest + 0.12 * np.convolve(rng.standard_normal(len(x_mm)), np.hanning(25) / 5, mode="same")
    net = np.stack([_net(len(y_mm), len(x_mm), float(y_mm[1] - y_mm[0]), rng) for _ in range(sheets)])
    return Jaw(crest.astype(np.float32)[None, :], net, 4.6, -4.4)


def bone_density(jaw: Jaw, y_mm: Image, z_mm: float, root: Image, crown: Image) -> Image:
    """Return the share of compact bone on a slice.

    Parameters
    ----------
    jaw
        The jaw.
    y_mm
        Heights of the grid, shape (N, 1).
    z_mm
        Depth of the slice.
    root, crown
        Signed distances of the slice from all roots and all crowns, shape (N, M).
    """
    below = y_mm - jaw.crest_mm
    inside = soft_step(below, 0.25)
    widening = np.clip(0.55 + 0.05 * below, 0, 1)
    near, far = jaw.near_mm * widening, jaw.far_mm * widening
    outer = np.maximum(z_mm - near, far - z_mm)
    plate = soft_step(outer, 0.5) * soft_step(np.float32(1.0) - outer, 0.4)
    marrow = soft_step(-outer, 0.5)
    sheet = _sheet(jaw, z_mm)
    roof = soft_step(np.float32(0.5) - np.abs(below - 0.3), 0.5) * np.float32(0.45)
    density = plate * np.float32(0.85) + marrow * (sheet * np.float32(0.23) + roof)
    distance = np.minimum(root, crown)
    socket = soft_step(np.float32(LIGAMENT_MM) - distance, 0.12)
    lamina = soft_step(np.float32(LIGAMENT_MM + LAMINA_MM) - root, 0.2) * (1 - socket) * np.float32(0.95)
    density = np.maximum(density, lamina * marrow)
    return np.asarray(density * (1 - socket) * inside, dtype=np.float32)


def _sheet(jaw: Jaw, z_mm: float) -> Image:
    """Return the density of a slice about its mean: all of a sheet's contrast stands in its middle half millimetre.

    A sheet as thick as it stands for would smear when the beam comes from the side.
    """
    spacing = (jaw.near_mm - jaw.far_mm) / (len(jaw.sheets) - 1)
    at = (z_mm - jaw.far_mm) / spacing
    nearest = int(np.clip(round(at), 0, len(jaw.sheets) - 1))
    if abs(at - nearest) * spacing > THIN_MM / 2:
        return np.ones_like(jaw.sheets[0])
    return np.asarray(1 + np.float32(spacing / THIN_MM) * (jaw.sheets[nearest] - 1), dtype=np.float32)


def soft_step(distance: Image, width: float) -> Image:
    """Return 0 for negative, 1 for positive, with a ramp of `width` between."""
    return np.asarray(np.clip(distance * np.float32(1 / width) + np.float32(0.5), 0, 1), dtype=np.float32)


def band_noise(
    rows: int, columns: int, step_mm: float, scale_mm: float, rng: np.random.Generator, stretch: float = 1.0
) -> Image:
    """Return noise whose waves are about `scale_mm` long, mean 0 and SD 1.

    Parameters
    ----------
    rows, columns, step_mm
        The grid.
    scale_mm
        Wavelength in the middle of the band.
    rng
        Where the noise comes from.
    stretch
        How much longer the waves run along columns than along rows.
    """
    fy = np.fft.fftfreq(rows, step_mm)[:, None] * stretch
    fx = np.fft.rfftfreq(columns, step_mm)[None, :]
    wave = np.hypot(fy, fx) * scale_mm
    band = np.exp(-0.5 * ((wave - 1) / 0.35) ** 2)
    spectrum = np.fft.rfft2(rng.standard_normal((rows, columns))) * band
    noise = np.fft.irfft2(spectrum, s=(rows, columns))
    return np.asarray(noise / noise.std(), dtype=np.float32)


def _net(rows: int, columns: int, step_mm: float, rng: np.random.Generator) -> Image:
    fine = band_noise(rows, columns, step_mm, rng.uniform(1.1, 1.7), rng, 0.7)
    coarse = band_noise(rows, columns, step_mm, rng.uniform(2.2, 3.2), rng, 0.75)
    blobs = band_noise(rows, columns, step_mm, 1.9, rng, 0.8)
    walls = np.exp(-((coarse / np.float32(0.38)) ** 2)) + np.float32(0.8) * np.exp(
        -((fine / np.float32(0.5)) ** 2)
    )
    walls += np.float32(0.45) * np.clip(blobs, -1.2, 2.5) + np.float32(0.1)
    uneven = 1 + np.float32(0.3) * band_noise(rows, columns, step_mm, 8.0, rng)
    net = np.clip(walls, 0, None) * np.clip(uneven, 0.3, None)
    return np.asarray(net / net.mean(), dtype=np.float32)
