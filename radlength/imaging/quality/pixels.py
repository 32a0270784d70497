"""All measures that need no marks, in the order in which they are shown."""

from __future__ import annotations

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
    return (
        *clipping(radiograph),
        *bit_depth(radiograph),
        noise(radiograph),
        cone_cut(radiograph),
        rescaled(radiograph),
        jpeg_before(radiograph),
        edit_history(radiograph),
        pixel_aspect(radiograph),
    )
