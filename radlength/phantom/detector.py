"""From what passes the tooth to stored grey values: unsharpness, scatter, quanta, tone, bits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.errors import PhantomError

MOST_SHARPEN = 5.0
Image = NDArray[np.float32]
Stored = NDArray[np.uint8] | NDArray[np.uint16]


@dataclass(frozen=True, slots=True)
class Detector:
    """What the detector and the export do to an image.

    Parameters
    ----------
    focal_spot_mm
        Size of the focal spot.
    mtf_sigma_mm
        SD of the detector's own blur, a Gaussian.
    quanta
        Quanta a pixel of 0.025 mm gets in the open beam; 0 for an image without noise.
    scatter
        Scattered share of the open beam, spread smoothly.
    bits
        8, 12 or 16.
    gamma
        Exponent of the tone curve; 1 leaves grey proportional to the logarithm of exposure.
    sharpen
        Strength of an unsharp mask in the export; 0 for none.
    inverted
        Whether bone is stored dark (MONOCHROME1).
    """

    focal_spot_mm: float = 0.7
    mtf_sigma_mm: float = 0.03
    quanta: float = 3000.0
    scatter: float = 0.06
    bits: int = 8
    gamma: float = 1.0
    sharpen: float = 0.0
    inverted: bool = False

    def __post_init__(self) -> None:
        if self.bits not in (8, 12, 16):
            raise PhantomError(f"{self.bits} bits a pixel", "8, 12 or 16", code="phantom-bits")
        for name in ("focal_spot_mm", "mtf_sigma_mm", "quanta", "scatter", "sharpen"):
            if not 0 <= getattr(self, name) < 1e9:
                raise PhantomError(f"a {name} of {getattr(self, name)}", "0 or more", code="phantom-detector")
        if self.sharpen > MOST_SHARPEN:
            raise PhantomError(
                f"sharpening by {self.sharpen:g}", f"0 to {MOST_SHARPEN:g}", code="phantom-detector"
            )
        if not 0.2 <= self.gamma <= 5:
            raise PhantomError(f"a gamma of {self.gamma}", "0.2 to 5", code="phantom-detector")


def exposed(
    passed: Image, detector: Detector, unsharpness_mm: float, pitch_mm: float, rng: np.random.Generator
) -> Image:
    """Return the exposure of every pixel, share of the open beam: blurred, with scatter and quantum noise.

    Parameters
    ----------
    passed
        Share of the beam that passes, shape of the image.
    detector
        What the detector does.
    unsharpness_mm
        Geometric unsharpness at the tooth's depth, the width of the focal spot's penumbra.
    pitch_mm
        Pixel pitch.
    rng
        Where the quanta come from.

    Notes
    -----
    A uniform penumbra of width U has SD U / sqrt(12) (JCGM 100:2008, 4.3.7). Quanta are Poisson, drawn as
    normal.
    """
    import cv2  # noqa: PLC0415

    sigma = float(np.hypot(unsharpness_mm / np.sqrt(12), detector.mtf_sigma_mm)) / pitch_mm
    image = cv2.GaussianBlur(passed, (0, 0), sigma) if sigma > 0.05 else passed.copy()
    if detector.scatter:
        small = cv2.resize(image, None, fx=1 / 16, fy=1 / 16, interpolation=cv2.INTER_AREA)
        spread = cv2.GaussianBlur(small, (0, 0), 6.0 / (16 * pitch_mm), borderType=cv2.BORDER_REPLICATE)
        image += np.float32(detector.scatter) * cv2.resize(spread, image.shape[::-1])
    if detector.quanta:
        quanta = np.float32(detector.quanta * (pitch_mm / 0.025) ** 2)
        noise = rng.standard_normal(image.shape, dtype=np.float32)
        image += np.sqrt(np.maximum(image, 0) / quanta) * noise
    return np.asarray(np.maximum(image, np.float32(1e-4)), dtype=np.float32)


def toned(exposure: Image, detector: Detector, open_log: float = 0.05, full_log: float = 2.6) -> Image:
    """Return grey from 0 (black) to 1 (white): the negative logarithm of exposure, through the tone curve.

    Parameters
    ----------
    exposure
        Share of the open beam.
    detector
        Its gamma and sharpening.
    open_log, full_log
        Negative natural logarithm of exposure that becomes black and white.
    """
    import cv2  # noqa: PLC0415

    grey = (-np.log(exposure) - np.float32(open_log)) * np.float32(1 / (full_log - open_log))
    grey = np.clip(grey, 0, None)
    knee = np.float32(0.75)
    grey = np.where(grey > knee, knee + (1 - knee) * np.tanh((grey - knee) / (1 - knee)), grey)
    if detector.sharpen:
        soft = cv2.GaussianBlur(grey, (0, 0), 3.0)
        grey = grey + np.float32(detector.sharpen) * (grey - soft)
    grey = np.clip(grey, 0, 1)
    return np.asarray(
        grey if detector.gamma == 1 else grey ** np.float32(1 / detector.gamma), dtype=np.float32
    )


def stored(grey: Image, detector: Detector) -> Stored:
    """Return the integers a file stores, uint8 for 8 bits and uint16 for more."""
    top = (1 << detector.bits) - 1
    values = (1 - grey if detector.inverted else grey) * np.float32(top)
    whole = np.rint(values)
    return np.asarray(whole, dtype=np.uint8) if detector.bits == 8 else np.asarray(whole, dtype=np.uint16)
