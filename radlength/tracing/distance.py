"""A distance on an image in words: in millimetres where somebody states the size of a pixel, in pixels otherwise."""

from __future__ import annotations

WHOLE = 9.95
"""From so many on pixels are told without a decimal."""


def distance(length_mm: float, digits: int = 1, *, assumed_mm: float | None = None) -> str:
    """Return a distance in words.

    Parameters
    ----------
    length_mm
        The distance in millimetres, of the file or of the size that was assumed for a pixel.
    digits
        Decimals of millimetres.
    assumed_mm
        Side of a pixel in millimetres where it was only assumed; ``None`` where it is known.

    Examples
    --------
    >>> distance(0.41), distance(0.41, assumed_mm=0.03), distance(0.24, assumed_mm=0.1)
    ('0.4 mm', '14 pixels', '2.4 pixels')
    """
    if assumed_mm is None:
        return f"{length_mm:.{digits}f} mm"
    count = length_mm / assumed_mm
    return f"{count:.{0 if count >= WHOLE else 1}f} pixels"
