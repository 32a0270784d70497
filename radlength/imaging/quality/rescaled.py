"""Signs that an image was rescaled, or was a JPEG before: periodic traces in neighbouring differences."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.clean import figures
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Grey, Radiograph

RESAMPLED_LIMIT = 12.0
"""Height of a spectral line over the median of the spectrum; twice that where JPEG blocks add their own."""
GRID_LIMIT = 1.25
"""Steps across block borders over all other steps."""
SOURCE = "Gallagher 2005, Proc Can Conf Comput Robot Vis (from memory); limit: own measurements"
GRID_SOURCE = (
    "blocking artefact after Fan and de Queiroz 2003, IEEE Trans Image Process 12:230-235 (from memory)"
)
_BLOCK = 8
_LEAST = 128

Values = NDArray[np.float32]


def resampling_line(stored: Grey) -> tuple[float, float]:
    """Return the strongest spectral line of the second difference, and its period in pixels.

    Parameters
    ----------
    stored
        Stored values, shape (rows, columns), both at least 128.

    Returns
    -------
    height, period
        The larger of down and across. Lines at multiples of 1/8 are left out: JPEG blocks make them.

    Notes
    -----
    Interpolated pixels lie nearer to the mean of their neighbours than kept ones, so the mean size of the second
    difference goes up and down with the period of the interpolation.
    """
    image = stored.astype(np.float32)
    across = np.abs(image[:, 2:] - 2 * image[:, 1:-1] + image[:, :-2])
    down = np.abs(image[2:] - 2 * image[1:-1] + image[:-2])
    return max(_line(_robust_mean(across, 0)), _line(_robust_mean(down, 1)))


def _robust_mean(steps: Values, axis: int) -> NDArray[np.float64]:
    """Return the mean along an axis with large steps (edges) cut to four times the mean."""
    return np.asarray(np.minimum(steps, 4 * steps.mean()).mean(axis=axis), dtype=np.float64)


def _line(profile: NDArray[np.float64]) -> tuple[float, float]:
    smooth = np.convolve(np.pad(profile, 8, mode="edge"), np.full(17, 1 / 17), mode="valid")
    flat = profile / np.maximum(smooth, 1e-9) - 1
    size = np.abs(np.fft.rfft(flat * np.hanning(len(flat))))
    rate = np.arange(len(size)) / len(flat)
    eighths = np.abs(rate * _BLOCK - np.round(rate * _BLOCK)) * len(flat) / _BLOCK < 6
    usable = (rate > 0.08) & ~eighths
    if not usable.any():
        return 0.0, 0.0
    floor = float(np.median(size[usable]))
    best = int(np.argmax(np.where(usable, size, 0)))
    if floor <= 0 or best == 0:
        return 0.0, 0.0
    return float(size[best]) / floor, float(1 / rate[best])


def rescaled(radiograph: Radiograph) -> Measure:
    """Return whether the pixels bear the trace of a change of size.

    A turn, halving and doubling leave none that is found.
    """
    if min(radiograph.shape) < _LEAST:
        return not_measured("rescaled", "1", f"Fewer than {_LEAST} rows or columns.", SOURCE)
    blocks = block_grid(radiograph.stored)[0] > GRID_LIMIT
    limit = RESAMPLED_LIMIT * (2 if blocks else 1)
    height, period = resampling_line(radiograph.stored)
    doubt = height > limit
    words = f"A periodic trace of {figures(period, 3)} px" if doubt else "The strongest periodic trace"
    return Measure(
        "rescaled",
        height,
        "1",
        "doubt" if doubt else "good",
        f"{words} stands {figures(height)} times above the rest of the spectrum; more than {limit:g} says that "
        "the image was changed in size after it was taken.",
        SOURCE,
        "Use the image in its stored size; a header or stated pixel size no longer holds.",
    )


def block_grid(stored: Grey) -> tuple[float, tuple[int, int]]:
    """Return how much larger steps are across a grid of eight pixels, and where it starts (down, across).

    The lesser of the two directions counts, so that one regular edge does not make a grid. (0, 0) is a grid that
    starts with the image, as a JPEG that was never cropped has it.
    """
    image = stored.astype(np.float32)
    found = []
    for steps, axis in ((image[1:] - image[:-1], 1), (image[:, 1:] - image[:, :-1], 0)):
        size = np.abs(steps)
        profile = np.minimum(size, 4 * size.mean() + 1e-6).mean(axis=axis)
        means = np.array([float(np.median(profile[phase::_BLOCK])) for phase in range(_BLOCK)])
        best = int(np.argmax(means))
        rest = float(np.median(np.delete(means, best)))
        found.append((float(means[best]) / rest if rest > 0 else 0.0, (best + 1) % _BLOCK))
    return min(found[0][0], found[1][0]), (found[0][1], found[1][1])


def jpeg_before(radiograph: Radiograph) -> Measure:
    """Return whether a lossless file was a JPEG before, or a JPEG was cropped and stored again."""
    if min(radiograph.shape) < _LEAST:
        return not_measured("jpeg_before", "1", f"Fewer than {_LEAST} rows or columns.", GRID_SOURCE)
    strength, start = block_grid(radiograph.stored)
    is_jpeg = radiograph.facts.lossy
    if is_jpeg and radiograph.facts.orientation != 1:
        return not_measured("jpeg_before", "1", "The file was turned after it was compressed.", GRID_SOURCE)
    doubt = strength > GRID_LIMIT and not (is_jpeg and start == (0, 0))
    where = f"shifted by {start} px: a JPEG was cropped and stored again" if is_jpeg else "in a lossless file"
    words = f"A grid of JPEG blocks is seen ({strength:.2f}), {where}." if doubt else ""
    return Measure(
        "jpeg_before",
        strength,
        "1",
        "doubt" if doubt else "good",
        words or f"No trace of an earlier JPEG: {strength:.2f}, more than {GRID_LIMIT:g} is a doubt.",
        GRID_SOURCE,
        "Use the first file, as it was exported from where it was taken.",
        "note",
    )
