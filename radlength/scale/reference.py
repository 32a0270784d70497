"""A thing of known length in the image: the main way to a scale."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from radlength.errors import ScaleError
from radlength.geometry import AnyPath, Assist, Point, as_points, check_assists
from radlength.geometry.number import is_number
from radlength.trade import LENGTH_TOLERANCE_MM
from radlength.trade.tip_shapes import tip_offset

Placement = Literal["in_canal", "beside"]
"""``in_canal``: an instrument lying in the canal it measures. ``beside``: anything else."""

STAMPED_LIMIT_MM = LENGTH_TOLERANCE_MM
"""Limit that counts for a length read off a handle or a package (rectangular)."""


_TOOTH = re.compile(r"^[1-8][1-8] +(?=\S)")


@dataclass(frozen=True, slots=True)
class Reference:
    """A path of known length on the image.

    Parameters
    ----------
    path_px
        (row, column) points along the instrument, from the stop to the tip, or between two known marks.
    length_mm
        Its real length in millimetres.
    limit_mm
        Half-width of the limits the length is known to, rectangular. A ruler-read length has the limit of the
        reading; a stamped one counts as 0.5 mm, which is the default.
    placement
        ``"in_canal"`` or ``"beside"``.
    name
        What it is called in the record. May be empty.
    canal
        Name of the canal the instrument lies in, alone or behind its tooth (``46 MB``); ``None`` where not said.
        Used for another canal it counts as borrowed.
    assists
        Points of the path that a program placed.
    size, taper, tip_form
        What is known of the shape of an instrument: hundredths of a millimetre at the tip, millimetres of diameter a
        millimetre, the form of its point; see :func:`radlength.trade.tip_shapes.tip_offset`. A program that placed
        the tip has used it.

    Raises
    ------
    MarkError
        The path cannot be measured.
    ScaleError
        The length or its limit is impossible.
    TradeError
        A size, taper or form of no instrument.

    Examples
    --------
    >>> Reference(path_px=[(80, 410), (905, 452)], length_mm=21.0, limit_mm=0.25, placement="in_canal").length_mm
    21.0
    """

    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}

    path_px: tuple[Point, ...]
    length_mm: float
    limit_mm: float = STAMPED_LIMIT_MM
    placement: Placement = "in_canal"
    name: str = ""
    canal: str | None = None
    assists: tuple[Assist, ...] = ()
    size: float | None = None
    taper: float | None = None
    tip_form: str | None = None

    if TYPE_CHECKING:

        def __init__(
            self,
            path_px: AnyPath,
            length_mm: float,
            limit_mm: float = STAMPED_LIMIT_MM,
            placement: Placement = "in_canal",
            name: str = "",
            canal: str | None = None,
            assists: Sequence[Assist] = (),
            size: float | None = None,
            taper: float | None = None,
            tip_form: str | None = None,
        ) -> None: ...

    def __post_init__(self) -> None:
        if not (isinstance(self.name, str) and isinstance(self.canal, str | None)):
            raise ScaleError(
                f"a reference called {self.name!r} in canal {self.canal!r}",
                "names are texts; the canal may be left out",
                code="reference-name",
            )
        subject = self.name or "reference"
        object.__setattr__(self, "path_px", as_points(self.path_px, subject=subject))
        object.__setattr__(self, "assists", check_assists(self.assists, len(self.path_px), subject=subject))
        lengths: dict[str, object] = {"length": self.length_mm, "limit": self.limit_mm}
        for what, number in lengths.items():
            if not is_number(number):
                raise ScaleError(
                    f"a reference {what} of {number!r}",
                    "a number of millimetres",
                    "give a number, not a text: 21.0",
                    code=f"reference-{what}",
                    subject=subject,
                )
        if not 0.5 <= self.length_mm <= 60:
            raise ScaleError(
                f"a reference length of {self.length_mm} mm",
                "0.5 to 60 mm",
                "give the length from the stop to the tip in millimetres",
                code="reference-length",
                subject=subject,
            )
        if not 0 <= self.limit_mm < self.length_mm / 2:
            raise ScaleError(
                f"a reference limit of {self.limit_mm} mm on {self.length_mm} mm",
                "0 mm up to less than half the length",
                "give the half-width the length is known to, 0.5 for a stamped length",
                code="reference-limit",
                subject=subject,
            )
        if self.placement not in ("in_canal", "beside"):
            raise ScaleError(
                f"a reference placed {self.placement!r}",
                "'in_canal' or 'beside'",
                code="reference-placement",
                subject=subject,
            )
        if (self.size, self.taper, self.tip_form) != (None, None, None):
            tip_offset(self.size, self.taper, self.tip_form)

    def lies_in(self, canal: str) -> bool:
        """Return whether it lies in a canal: in the one it names, and where it names none in the one it measures.

        Parameters
        ----------
        canal
            Name of the canal, alone or behind its tooth. Teeth are compared where both tell one, so that an instrument
            in ``46 MB`` does not lie in ``47 MB``.

        Examples
        --------
        >>> file = Reference(path_px=[(80, 410), (905, 452)], length_mm=21.0, canal="46 MB")
        >>> file.lies_in("46 MB"), file.lies_in("MB"), file.lies_in("47 MB"), file.lies_in("46 ML")
        (True, True, False, False)
        """
        if self.placement != "in_canal":
            return False
        if self.canal is None or self.canal == canal:
            return True
        alone = without_tooth(self.canal), without_tooth(canal)
        return alone[0] == alone[1] and (alone[0] == self.canal or alone[1] == canal)


def without_tooth(canal: str) -> str:
    """Return the name of a canal without the tooth before it.

    Examples
    --------
    >>> without_tooth("46 MB"), without_tooth("MB 2")
    ('MB', 'MB 2')
    """
    return _TOOTH.sub("", canal)
