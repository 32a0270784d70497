"""How well a person marks: one standard deviation for each landmark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from radlength.errors import MarkError
from radlength.geometry.number import is_number


@dataclass(frozen=True, slots=True)
class Marking:
    """Standard deviations of a person's marks, in millimetres in the tooth, per coordinate.

    Parameters
    ----------
    apex_mm
        The radiographic apex, last point of a canal. Rarely sharp: the default is 0.3.
    stop_mm
        The coronal mark: reference point of a canal, stop of a reference.
    tip_mm
        The tip of an instrument, or either end of a reference beside the tooth.
    path_mm
        Every click between the ends.

    Raises
    ------
    MarkError
        A value that is negative, not finite, or over 2 mm.

    Notes
    -----
    The defaults are common practice, no source: observers differ by about the spread published for tracing
    canals on cone-beam images, mean absolute difference 0.30 mm (Tchorz 2018), most of it at the apex.
    """

    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}

    apex_mm: float = 0.3
    stop_mm: float = 0.1
    tip_mm: float = 0.1
    path_mm: float = 0.1

    def __post_init__(self) -> None:
        for name in ("apex_mm", "stop_mm", "tip_mm", "path_mm"):
            value = getattr(self, name)
            if not (is_number(value) and 0 <= value <= 2):
                raise MarkError(
                    f"{name} is {value} mm",
                    "a standard deviation from 0 to 2 mm",
                    "give the spread of repeated marks",
                    code="marking-out-of-range",
                )
