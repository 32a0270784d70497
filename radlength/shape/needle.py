"""How deep a needle goes into a prepared canal before it binds."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.errors import TradeError
from radlength.shape.prepared import PreparedCanal
from radlength.trade.needles import NEEDLE_NOTE, Needle

_STEPS = 80


@dataclass(frozen=True, slots=True)
class NeedleDepth:
    """Where a needle binds in a round, straight, ideal canal.

    Parameters
    ----------
    needle
        The needle.
    short_mm
        How far short of the end of the working length, in millimetres; 0 where it reaches the end.
    low_mm, high_mm
        The same for the thinnest and the thickest needle of its limits.
    note
        Why it is not to be relied on.
    """

    needle: Needle
    short_mm: float
    low_mm: float
    high_mm: float
    note: str = NEEDLE_NOTE

    @property
    def reaches_end(self) -> bool:
        """Whether it reaches the end of the working length: it binds nowhere on the way."""
        return self.short_mm == 0


def needle_depth(canal: PreparedCanal, needle: Needle, length_mm: float) -> NeedleDepth:
    """Return where a needle binds.

    Parameters
    ----------
    canal
        The prepared canal.
    needle
        The needle.
    length_mm
        From the end of the working length to where the canal opens, in millimetres.

    Raises
    ------
    TradeError
        The needle is thicker than the opening of the canal.

    Notes
    -----
    In a canal of tip d and taper t a needle of diameter n binds (n - d) / t short of the end.

    Examples
    --------
    >>> from radlength.shape.prepared import Pass
    >>> from radlength.trade import Instrument
    >>> canal = PreparedCanal((Pass(Instrument(25, 0.02)),))
    >>> round(needle_depth(canal, Needle(0.31, 0.31, 0.31), 16).short_mm, 3)
    3.0
    """
    depths = [_short(canal, d, length_mm) for d in (needle.diameter_mm, needle.low_mm, needle.high_mm)]
    if depths[0] is None:
        raise TradeError(
            f"a needle of {needle.label} is thicker than the canal at its opening,"
            f" {canal.diameter_mm(length_mm):.2f} mm",
            "a needle that enters the canal",
            "choose a thinner needle",
            code="needle-wide",
        )
    high = depths[2] if depths[2] is not None else length_mm
    return NeedleDepth(needle, depths[0], depths[1] or 0.0, high)


def _short(canal: PreparedCanal, diameter_mm: float, length_mm: float) -> float | None:
    """Return the deepest place from the opening on at which the canal is still wide enough, by bisection."""
    tolerance = 1e-9
    steps = 400
    places = [length_mm * (1 - k / steps) for k in range(steps + 1)]
    wide = None
    for place in places:
        if canal.diameter_mm(place) < diameter_mm - tolerance:
            break
        wide = place
    if wide is None or wide == 0.0:
        return wide
    narrow = max(wide - length_mm / steps, 0.0)
    for _ in range(_STEPS):
        middle = (wide + narrow) / 2
        if canal.diameter_mm(middle) < diameter_mm - tolerance:
            narrow = middle
        else:
            wide = middle
    return wide
