"""An image whose file does not say that its greys are stored the other way round, as a trace must take it."""

from __future__ import annotations

from dataclasses import replace

from radlength.geometry import CARRIED, Assist
from radlength.imaging import Radiograph

WORDS = ", inverted image"
"""What follows the method of points that were found on an image somebody said is inverted."""


def as_traced(radiograph: Radiograph, *, inverted: bool) -> Radiograph:
    """Return the image as traces look at it: where somebody says so, bone is dark in it.

    No stored value is changed, so that pixels and their hash stay those of the file.

    Parameters
    ----------
    radiograph
        The image.
    inverted
        Whether its greys are stored the other way round, although its file says or lets one think they are not.
    """
    if not inverted:
        return radiograph
    return replace(radiograph, facts=replace(radiograph.facts, photometric="MONOCHROME1"))


def found_on_inverted(assists: tuple[Assist, ...]) -> tuple[Assist, ...]:
    """Return how points were found, with what was said of the image; those of another image stay.

    Examples
    --------
    >>> found_on_inverted((Assist(1, 6, "canal trace", "10", 0.9),))[0].method
    'canal trace, inverted image'
    """
    return tuple(
        one if one.method == CARRIED else replace(one, method=f"{one.method}{WORDS}") for one in assists
    )
