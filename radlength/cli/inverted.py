"""Images that store bone dark without a header that says so, as exported pictures may."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from radlength.errors import ImageError
from radlength.geometry import Assist
from radlength.imaging import Radiograph

WORDS = ", inverted image"
"""What follows the method of points that were found on an image somebody said is inverted."""


def as_inverted(radiograph: Radiograph) -> Radiograph:
    """Return a radiograph whose low values are bright, because somebody says so and the file does not.

    Raises
    ------
    ImageError
        The file says so itself: turned once more it would be taken for what it is not.

    Examples
    --------
    >>> import numpy as np
    >>> image = Radiograph.from_array(np.arange(12, dtype=np.uint8).reshape(3, 4))
    >>> as_inverted(image).facts.photometric
    'MONOCHROME1'
    """
    if radiograph.facts.photometric == "MONOCHROME1":
        raise ImageError(
            "the file itself says that bone is dark in it",
            remedy="leave --inverted out",
            code="inverted-twice",
            subject=radiograph.name,
        )
    return replace(radiograph, facts=replace(radiograph.facts, photometric="MONOCHROME1"))


def found_on_inverted(assists: Sequence[Assist]) -> tuple[Assist, ...]:
    """Return how points were found, with what was said of the image.

    Examples
    --------
    >>> found_on_inverted([Assist(1, 6, "canal trace", "10", 0.9)])[0].method
    'canal trace, inverted image'
    """
    return tuple(replace(assist, method=f"{assist.method}{WORDS}") for assist in assists)
