"""Bit depth really used: codes that never occur, and eight bits in a file of sixteen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.clean import counted, figures
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Radiograph

LEAST_BITS = 6.5
"""Fewer are a doubt (common practice, no source)."""
MISSING_LIMIT_PERCENT = 10.0
"""Missing codes where neighbours are well filled (common practice, no source)."""
SOURCE = "counting of stored values; limits: common practice, no source"
_EXPECTED = 12.0
"""A code whose eight neighbours hold this many pixels each is empty by chance less than once in 10^5 (Poisson)."""


def bit_depth(radiograph: Radiograph) -> tuple[Measure, Measure]:
    """Return how many bits the values really use, and the share of missing codes."""
    counts = np.bincount(radiograph.stored.ravel())
    return _bits(counts, radiograph.stored.dtype.itemsize * 8), _missing(counts)


def _bits(counts: NDArray[np.int64], container: int) -> Measure:
    levels = int(np.count_nonzero(counts))
    bits = float(np.log2(levels))
    packed = container == 16 and levels <= 256
    words = f"{counted(levels, 'different value')} {'is' if levels == 1 else 'are'} used, {bits:.1f} bits"
    if packed:
        words += ", in a file of 16 bits: it was made from eight"
    else:
        words += f"; fewer than {LEAST_BITS} bits are a doubt"
    return Measure(
        "bits_used",
        bits,
        "bit",
        "doubt" if packed or bits < LEAST_BITS else "good",
        f"{words}.",
        SOURCE,
        "Export the image with the depth it was stored in.",
    )


def _missing(counts: NDArray[np.int64]) -> Measure:
    share, tried = missing_codes(counts)
    if tried < 16:
        return not_measured("missing_codes", "%", "Too few well filled codes to tell.", SOURCE)
    return Measure(
        "missing_codes",
        share,
        "%",
        "doubt" if share > MISSING_LIMIT_PERCENT else "good",
        f"{figures(share)} % of the codes never occur where their neighbours do; more than {MISSING_LIMIT_PERCENT:g} % "
        "says that grey was stretched after it was stored.",
        SOURCE,
        "Export the image without window, contrast or tone changes.",
    )


def missing_codes(counts: NDArray[np.int64]) -> tuple[float, int]:
    """Return the percentage of codes that are empty among well filled neighbours, and how many were tried.

    Parameters
    ----------
    counts
        Histogram of the stored values, shape (K,).

    Examples
    --------
    >>> missing_codes(np.tile([90, 0], 40))
    (50.0, 72)
    """
    if len(counts) < 17:
        return 0.0, 0
    summed = np.concatenate([[0], np.cumsum(counts)])
    around = (summed[9:] - summed[:-9] - counts[4:-4]) / 8
    tried = around >= _EXPECTED
    number = int(tried.sum())
    empty = int(np.count_nonzero(counts[4:-4][tried] == 0))
    return (100.0 * empty / number if number else 0.0), number
