"""An image whose file does not say that its greys are stored the other way round, as a trace must take it."""

from __future__ import annotations

from dataclasses import replace

from radlength.imaging import Radiograph


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
