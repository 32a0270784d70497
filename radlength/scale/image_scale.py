"""Millimetres in the tooth for one pixel, for what is measured beside the canal itself."""

from __future__ import annotations

from radlength.imaging import Radiograph
from radlength.scale.certainty import scale_share
from radlength.scale.frame import Frame
from radlength.scale.model import scale_for
from radlength.scale.reference import Reference
from radlength.uncertainty.marking import Marking


def image_scale(
    reference: Reference | None,
    radiograph: Radiograph | None,
    *,
    canal_name: str,
    marking: Marking | None = None,
) -> tuple[tuple[float, float], float]:
    """Return millimetres for one pixel (down, across), and their standard uncertainty as a share.

    Parameters
    ----------
    reference
        What measures the canal; ``None`` for the header scale.
    radiograph
        The image, for the shape of its pixels and its header.
    canal_name
        The canal it is wanted for.
    marking
        Spread of the marks; the defaults of :class:`~radlength.uncertainty.Marking` otherwise.

    Raises
    ------
    ScaleError
        No scale of any kind.

    Examples
    --------
    >>> wire = Reference(path_px=[(0, 0), (1000, 0)], length_mm=20.0, limit_mm=0.0)
    >>> pixel_mm, u_share = image_scale(wire, None, canal_name="MB")
    >>> pixel_mm, round(u_share, 4)
    ((0.02, 0.02), 0.0122)
    """
    frame = Frame.of(radiograph)
    scale = scale_for(reference, radiograph, canal_name=canal_name)
    factor = scale.mm_per_unit
    return (factor * frame.row, factor * frame.column), scale_share(scale, marking or Marking())
