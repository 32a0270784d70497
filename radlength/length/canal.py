"""A canal as a person marks it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from radlength.errors import MarkError
from radlength.geometry import AnyPath, Assist, Point, as_points, check_assists
from radlength.trade import check_tooth


@dataclass(frozen=True, slots=True)
class Canal:
    """A canal of a tooth and the path marked along it.

    Parameters
    ----------
    tooth
        ISO 3950 number, two digits: ``"46"``.
    name
        Name of the canal: ``"MB"``, ``"D"``, ``"single"``.
    path_px
        (row, column) points in pixels; first the reference point on the crown, last the radiographic apex.
    reference_point
        The reference point in words: ``"mesiobuccal cusp"``. May be empty.
    straight
        How it is known that the canal does not bend along the beam: ``"second view at 20 degrees"``. Empty: it is
        not known, the usual case of one view. It narrows the interval, so it must be known, not hoped.
    assists
        Points of the path that a program placed.

    Raises
    ------
    MarkError
        The path cannot be measured, or the name is empty.
    TradeError
        No such tooth.

    Examples
    --------
    >>> Canal(tooth="46", name="MB", path_px=[(80, 410), (500, 420), (905, 452)]).label
    '46 MB'
    """

    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}

    tooth: str
    name: str
    path_px: tuple[Point, ...]
    reference_point: str = ""
    straight: str = ""
    assists: tuple[Assist, ...] = ()

    if TYPE_CHECKING:  # any rows of numbers become points; a type checker is told so

        def __init__(
            self,
            tooth: str,
            name: str,
            path_px: AnyPath,
            reference_point: str = "",
            straight: str = "",
            assists: Sequence[Assist] = (),
        ) -> None: ...

    def __post_init__(self) -> None:
        check_tooth(self.tooth)
        if not (isinstance(self.name, str) and self.name.strip()):
            raise MarkError(
                "a canal without a name",
                "a short name such as MB, D or single",
                code="canal-name",
                subject=self.tooth,
            )
        if not isinstance(self.straight, str):
            raise MarkError(
                f"a canal stated straight by {self.straight!r}",
                "words that say how it is known, or none",
                "say what shows it: 'second view at 20 degrees'",
                code="canal-straight",
                subject=self.label,
            )
        object.__setattr__(self, "straight", self.straight.strip())
        object.__setattr__(self, "path_px", as_points(self.path_px, subject=self.label))
        assists = check_assists(self.assists, len(self.path_px), subject=self.label)
        object.__setattr__(self, "assists", assists)

    @property
    def label(self) -> str:
        """Tooth and canal: ``46 MB``."""
        return f"{self.tooth} {self.name}"
