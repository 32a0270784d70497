"""Which way the grey of an image runs, and where it is white."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from radlength.imaging import Radiograph


def bright_grey(radiograph: Radiograph, *, dark: bool) -> NDArray[np.generic]:
    """Return the stored grey values with metal bright.

    Parameters
    ----------
    radiograph
        The image.
    dark
        Whether metal is dark in it.

    Examples
    --------
    >>> image = Radiograph.from_array(np.array([[0, 255]], dtype=np.uint8))
    >>> bright_grey(image, dark=True).tolist()
    [[255, 0]]
    """
    if not dark:
        return radiograph.stored
    top = np.array(grey_ends(radiograph)[1]).astype(radiograph.stored.dtype)
    return np.asarray(np.subtract(top, radiograph.stored))


@lru_cache(maxsize=1)
def grey_ends(radiograph: Radiograph) -> tuple[float, float]:
    """Return black and white: the ends of the fewest bits, eight at least, that hold every grey of an image.

    What a file could store tells nothing of white: pictures of twelve bits come in files of sixteen.

    Examples
    --------
    >>> grey_ends(Radiograph.from_array(np.array([[90, 4095]], dtype=np.uint16)))
    (0.0, 4095.0)
    """
    bits = max(int(radiograph.stored.max()).bit_length(), 8)
    return 0.0, float((1 << bits) - 1)
