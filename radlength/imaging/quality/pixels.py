"""All measures that need no marks, in the order in which they are shown."""

from __future__ import annotations

from collections.abc import Iterator

from radlength.imaging.quality.blank import cone_cut
from radlength.imaging.quality.clipping import clipping
from radlength.imaging.quality.depth import bit_depth
from radlength.imaging.quality.edited import edit_history, pixel_aspect
from radlength.imaging.quality.measure import Measure
from radlength.imaging.quality.noise import noise
from radlength.imaging.quality.rescaled import jpeg_before, rescaled
from radlength.imaging.radiograph import Radiograph


def pixel_measures(radiograph: Radiograph) -> tuple[Measure, ...]:
    """Return every measure that needs no marks.

    Parameters
    ----------
    radiograph
        The image; stored values are measured, never those for the eye.

    Examples
    --------
    >>> import numpy as np
    >>> grey = np.random.default_rng(0).normal(900, 300, (200, 200)).clip(0, 4095).astype(np.uint16)
    >>> measures = pixel_measures(Radiograph.from_array(grey))
    >>> next(measure.verdict for measure in measures if measure.name == "clipped_dark")
    'good'
    """
    return tuple(each_pixel_measure(radiograph))


def each_pixel_measure(radiograph: Radiograph) -> Iterator[Measure]:
    """Yield what :func:`pixel_measures` returns, one measure at a time: they can be given up between two.

    Parameters
    ----------
    radiograph
        The image.
    """
    yield from clipping(radiograph)
    yield from bit_depth(radiograph)
    yield noise(radiograph)
    yield cone_cut(radiograph)
    yield rescaled(radiograph)
    yield jpeg_before(radiograph)
    yield edit_history(radiograph)
    yield pixel_aspect(radiograph)
