"""Clipping: pixels that lie at an end of what the file can hold, where edges are lost and move."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.clean import figures
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import FileFacts, Grey, Radiograph

LIMIT_PERCENT = 5.0
"""Of the whole image at one end (common practice, no source)."""
NEAR_LIMIT_PERCENT = 1.0
"""Of the disc around the apex at either end (common practice, no source)."""
SOURCE = (
    "saturation moves root edges (study of CCD, film and phosphor, Dentomaxillofac Radiol); "
    "limit: common practice, no source"
)
_PILE = 4.0
_LEAST = 0.002


def clipped_values(stored: Grey, facts: FileFacts) -> tuple[int | None, int | None]:
    """Return the lowest and the highest stored value where pixels pile up there, else ``None``.

    Parameters
    ----------
    stored
        Stored values, shape (rows, columns).
    facts
        For the bits a sample has.

    Notes
    -----
    An end counts as clipped where it is the end of the file's range or where at least 0.2 % of all pixels lie on
    it and four times more than on each of the next codes in use: a tone curve may end short of the range.
    """
    counts = np.bincount(stored.ravel(), minlength=2)
    used = np.flatnonzero(counts)
    if len(used) < 8:
        return None, None
    full = (1 << facts.bits) - 1 if 0 < facts.bits <= 16 else int(np.iinfo(stored.dtype).max)
    low = used[0] if _piled(counts[used[:8]], counts.sum()) or used[0] == 0 else None
    high = used[-1] if _piled(counts[used[:-9:-1]], counts.sum()) or used[-1] >= full else None
    return (None if low is None else int(low)), (None if high is None else int(high))


def _piled(counts: NDArray[np.int64], total: int) -> bool:
    return bool(counts[0] >= _LEAST * total and counts[0] >= _PILE * counts[1:].max())


def clipping(radiograph: Radiograph) -> tuple[Measure, Measure]:
    """Return the share of pixels at the dark and at the bright end, as bone and metal are seen bright."""
    stored = radiograph.stored
    low, high = clipped_values(stored, radiograph.facts)
    if radiograph.facts.photometric == "MONOCHROME1":
        low, high = high, low
    return _end("clipped_dark", "dark", low, stored), _end("clipped_bright", "bright", high, stored)


def _end(name: str, word: str, value: int | None, stored: Grey) -> Measure:
    share = 0.0 if value is None else 100.0 * float(np.mean(stored == value))
    return Measure(
        name,
        share,
        "%",
        "doubt" if share > LIMIT_PERCENT else "good",
        f"{figures(share)} % of the pixels are at the {word} end; more than {LIMIT_PERCENT:g} % is a doubt.",
        SOURCE,
        "Check that nothing to be marked lies there; export without cut-off, or expose anew where justified.",
    )


def clipping_near(
    radiograph: Radiograph,
    point_px: tuple[float, float],
    radius_px: float,
    *,
    name: str = "clipped_near_apex",
) -> Measure:
    """Return the share of clipped pixels in a disc.

    Parameters
    ----------
    radiograph
        The image.
    point_px
        (row, column) of the middle, the apex.
    radius_px
        Radius of the disc in pixels.
    name
        Of the measure.
    """
    stored = radiograph.stored
    disc = disc_values(stored, point_px, radius_px)
    if disc.size < 50:
        return not_measured(name, "%", "The apex lies outside the image or too little is around it.", SOURCE)
    low, high = clipped_values(stored, radiograph.facts)
    ends = [value for value in (low, high) if value is not None]
    share = 100.0 * float(np.isin(disc, ends).mean())
    return Measure(
        name,
        share,
        "%",
        "doubt" if share > NEAR_LIMIT_PERCENT else "good",
        f"{figures(share)} % of the pixels around the apex are clipped; more than {NEAR_LIMIT_PERCENT:g} % is a doubt.",
        SOURCE,
        "The apex may lie elsewhere than it seems: export without cut-off and mark it again.",
        "serious",
    )


def disc_values(stored: Grey, point_px: tuple[float, float], radius_px: float) -> Grey:
    """Return the values inside a disc, shape (N,); what lies outside the image is left out."""
    row, column = point_px
    top, left = max(int(row - radius_px), 0), max(int(column - radius_px), 0)
    window = stored[top : max(int(row + radius_px) + 2, 0), left : max(int(column + radius_px) + 2, 0)]
    rows, columns = np.indices(window.shape)
    inside = np.hypot(rows + top - row, columns + left - column) <= radius_px
    found: Grey = window[inside]
    return found
