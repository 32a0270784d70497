"""What is being marked, finished or not, as frozen values. Knows no record and no undo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar

from radlength.geometry import Assist, Point
from radlength.length import Canal, Terminus
from radlength.record.entries import new_id
from radlength.record.record import PitchMm
from radlength.scale import STAMPED_LIMIT_MM, Placement, Reference
from radlength.session.handles import carried, handles
from radlength.uncertainty import Marking

NO_TOOTH = "tooth not chosen,"
"""What stands in place of a tooth that nobody has chosen."""

_CONFIG: dict[str, Any] = {"extra": "forbid"}


@dataclass(frozen=True, slots=True)
class ReferenceDraft:
    """A reference while it is being marked; the path may still be empty."""

    __pydantic_config__: ClassVar[dict[str, Any]] = _CONFIG

    path_px: tuple[Point, ...] = ()
    length_mm: float | None = None
    limit_mm: float = STAMPED_LIMIT_MM
    placement: Placement = "in_canal"
    name: str = "reference 1"
    canal: str | None = None
    assists: tuple[Assist, ...] = ()
    size: float | None = None
    taper: float | None = None
    tip_form: str | None = None

    @property
    def handles_px(self) -> tuple[Point, ...]:
        """The points a person can take hold of: those a person placed, and both ends."""
        return handles(self.path_px, self.assists)

    def finished(self) -> Reference | None:
        """Return the reference, or ``None`` while its path or length is missing."""
        if len(self.path_px) < 2 or self.length_mm is None:
            return None
        return Reference(
            self.path_px,
            self.length_mm,
            self.limit_mm,
            self.placement,
            self.name,
            self.canal,
            carried(self.path_px, self.path_px, self.assists),
            self.size,
            self.taper,
            self.tip_form,
        )


@dataclass(frozen=True, slots=True)
class CanalDraft:
    """A canal while it is being marked; the path may still be empty.

    An empty ``tooth`` is one that nobody has chosen: no length is told then and nothing is saved, so that no number
    stands under a wrong tooth. ``colour`` and ``hidden`` are how it is shown: no record keeps them. ``key`` is the
    canal's id in the record, which stays when it is renamed.
    """

    __pydantic_config__: ClassVar[dict[str, Any]] = _CONFIG

    tooth: str = ""
    name: str = "single"
    path_px: tuple[Point, ...] = ()
    terminus: Terminus | None = None
    reference: str | None = "reference 1"
    reference_point: str = ""
    straight: str = ""
    assists: tuple[Assist, ...] = ()
    colour: str = ""
    hidden: bool = False
    key: str = field(default_factory=new_id)

    @property
    def names(self) -> tuple[str, str]:
        """What a reference that lies in it may call it: its name, alone and behind the tooth."""
        return self.name, self.label

    @property
    def label(self) -> str:
        """Tooth and canal: ``46 MB``."""
        return f"{self.tooth or NO_TOOTH} {self.name}"

    @property
    def handles_px(self) -> tuple[Point, ...]:
        """The points a person can take hold of: those a person placed, and both ends."""
        return handles(self.path_px, self.assists)

    def finished(self) -> Canal | None:
        """Return the canal, or ``None`` while its path or its tooth is missing."""
        if len(self.path_px) < 2 or not self.tooth:
            return None
        assists = carried(self.path_px, self.path_px, self.assists)
        return Canal(self.tooth, self.name, self.path_px, self.reference_point, self.straight, assists)


@dataclass(frozen=True, slots=True)
class Annotation:
    """All marks on one image, and which canal is current.

    ``pitch_mm`` is the pixel pitch of the detector that somebody states where the file has none; ``None`` leaves what
    the record says.
    """

    __pydantic_config__: ClassVar[dict[str, Any]] = _CONFIG

    references: tuple[ReferenceDraft, ...] = (ReferenceDraft(),)
    canals: tuple[CanalDraft, ...] = field(default_factory=lambda: (CanalDraft(),))
    current: int = 0
    marking: Marking = field(default_factory=Marking)
    pitch_mm: PitchMm | None = None

    @property
    def canal(self) -> CanalDraft:
        """The current canal."""
        return self.canals[self.current]

    @property
    def reference(self) -> ReferenceDraft:
        """The reference of the current canal, or the first."""
        return self.references[self.reference_index]

    @property
    def reference_index(self) -> int:
        """Place of :attr:`reference` among the references."""
        names = [reference.name for reference in self.references]
        return names.index(self.canal.reference) if self.canal.reference in names else 0

    @property
    def content(self) -> Annotation:
        """What a record keeps of the marks: not what is current, coloured or hidden."""
        shown = tuple(replace(canal, colour="", hidden=False) for canal in self.canals)
        return replace(self, current=0, canals=shown)


def points(path: Sequence[Sequence[float]]) -> tuple[Point, ...]:
    """Return points as they will be kept: to a thousandth of a pixel.

    Examples
    --------
    >>> points([(1.00049, 2)])
    ((1.0, 2.0),)
    """
    return tuple((round(float(row), 3), round(float(column), 3)) for row, column in path)
