"""The record as frozen models: what was marked on an image, what was measured, and who did what when.

Unknown keys are refused everywhere, so that nothing identifying slips in unnoticed.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict, Field

from radlength.geometry import Point
from radlength.imaging.radiograph import HashRule
from radlength.length import Canal, Terminus
from radlength.scale import Method
from radlength.trade import NOT_CONFIRMED, Verdict

FORMAT = "radlength-record"
VERSION = 2
CONFIRMED: Final = "confirmed on an image"
ConfirmationStatus = Literal["estimate, not confirmed", "confirmed on an image"]
DETAILS_MAX = 200_000
"""Characters of details that an entry of history may hold."""


def _in_utc(when: datetime) -> datetime:
    try:
        return when.astimezone(UTC)
    except OverflowError as exc:
        message = "a time outside the calendar"
        raise ValueError(message) from exc


When = Annotated[AwareDatetime, AfterValidator(_in_utc)]
"""A time with its zone, kept in UTC."""
Words = Annotated[str, Field(max_length=500)]
Sha256 = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
EntryId = Annotated[str, Field(pattern="^[0-9a-f]{32}$")]


class Frozen(BaseModel):
    """Base: frozen, strict, no unknown keys, no NaN."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class ImageBinding(Frozen):
    """The image the marks belong to, by its pixels."""

    name: Annotated[str, Field(min_length=1, max_length=255)]
    rows: Annotated[int, Field(ge=1)]
    columns: Annotated[int, Field(ge=1)]
    pixel_sha256: Sha256
    hash_rule: HashRule
    orientation: Annotated[int, Field(ge=1, le=8)] = 1


class Coordinates(Frozen):
    """How points are to be read: constants, written so that a stranger can."""

    order: Literal["row, column"]
    origin: Literal["centre of the top-left pixel"]
    unit: Literal["pixel"]
    orientation: Literal["upright"]


COORDINATES = Coordinates(
    order="row, column", origin="centre of the top-left pixel", unit="pixel", orientation="upright"
)
"""How every point of radlength is to be read."""


class CanalEntry(Frozen):
    """A canal in the record.

    Parameters
    ----------
    id
        Stays when the canal is marked again or renamed.
    canal
        The marks.
    reference
        Name of the reference that measures it; ``None`` for the header scale.
    terminus
        Stated offset; ``None`` means there is no working length.
    """

    id: EntryId
    canal: Canal
    reference: Words | None = None
    terminus: Terminus | None = None


class StoredLength(Frozen):
    """A length as it was found, in millimetres, with its 95 % interval."""

    value_mm: float
    u_mm: Annotated[float, Field(ge=0)]
    low_mm: float
    high_mm: float


class StoredEstimate(Frozen):
    """A result as it was found at the time, with the version that found it. Never overwritten."""

    canal: EntryId
    when: When
    algorithm: Words
    software: Words
    method: Method
    canal_length: StoredLength
    working_length: StoredLength | None
    terminus: Words | None
    findings: tuple[Words, ...]
    status: ConfirmationStatus = NOT_CONFIRMED


class StoredConfirmation(Frozen):
    """What a length-confirmation image said, with the version that found it: ``None`` where nobody kept it.

    Parameters
    ----------
    serious
        Whether one of its findings is serious: then it confirms nothing.
    marks_sha256
        Digest of the marks it was made on, see :func:`radlength.record.confirmed.marks_digest`.
    """

    canal: EntryId
    when: When
    who: Words | None
    set_length_mm: float
    gap_path_px: tuple[Point, ...]
    gap: StoredLength
    canal_length: StoredLength
    working_length: StoredLength | None
    rule: Words
    verdict: Verdict
    findings: tuple[Words, ...]
    algorithm: Words | None = None
    software: Words | None = None
    serious: bool = False
    marks_sha256: Sha256 | None = None


class Producer(Frozen):
    """The program that wrote the record."""

    name: Words = "radlength"
    version: Words


class HistoryEntry(Frozen):
    """One change: when, by whom if they said, what, and what was there before."""

    when: When
    who: Words | None = None
    what: Words
    details: Annotated[str, Field(max_length=DETAILS_MAX)] | None = None
