"""The events of a case as frozen models: each is written once and never changed."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final, Literal

from pydantic import Field

from radlength.geometry import Point
from radlength.record.models import EntryId, Frozen, Sha256, StoredLength, When, Words
from radlength.trade.end_points import Landmark

CASE_FORMAT: Final = "radlength-case"
CASE_VERSION: Final = 1
MOST_EVENTS = 100_000

Stage = Literal["pre-operative", "working length", "master cone", "filling", "review", "other"]
"""What an image was taken for (ESE 2006, from memory); ``other`` needs a label."""
Flaring = Literal["before flaring", "after flaring", "not known"]
LengthMethod = Literal[
    "pre-operative estimate",
    "estimate on a working-length image",
    "estimate on a master-cone image",
    "estimate on a filling image",
    "estimate on a review image",
    "estimate on another image",
    "length-confirmation image",
    "two views",
    "apex locator",
    "tactile",
    "paper point",
    "CBCT measured elsewhere",
]
CanalState = Literal[
    "joins",
    "splits",
    "C-shape",
    "second mesiobuccal",
    "open apex",
    "resorbed apex",
    "ledge",
    "retreatment",
    "other",
]
ESTIMATES: Final[dict[Stage, LengthMethod]] = {
    "pre-operative": "pre-operative estimate",
    "working length": "estimate on a working-length image",
    "master cone": "estimate on a master-cone image",
    "filling": "estimate on a filling image",
    "review": "estimate on a review image",
    "other": "estimate on another image",
}
"""How an estimate on an image of each stage is called. None reads as a working length: it may be a canal length."""
Shift = Literal["mesial", "distal", "left", "right"]
Number = Annotated[int, Field(ge=1, le=MOST_EVENTS)]
"""Number of an event."""
NotEmpty = Annotated[str, Field(min_length=1, max_length=500, pattern=r"\S")]
Millimetres = Annotated[float, Field(ge=5, le=60)]
"""A length that a canal can have."""
Short = Annotated[float, Field(ge=0, le=5)]


class Event(Frozen):
    """What every event has: its number, when it was entered, and by whom if they said."""

    number: Number
    entered: When
    who: Words | None = None


class ImageAdded(Event):
    """An image of the case. Adding the same file again says what replaced what."""

    kind: Literal["image"] = "image"
    path: NotEmpty
    file_sha256: Sha256
    record_path: Words | None = None
    record_sha256: Sha256 | None = None
    stage: Stage
    label: Words = ""
    taken: date
    view: NotEmpty
    replaces: Number | None = None


class CanalAdded(Event):
    """A canal of a tooth."""

    kind: Literal["canal"] = "canal"
    tooth: Annotated[str, Field(min_length=2, max_length=2)]
    supernumerary: bool = False
    name: Annotated[str, Field(min_length=1, max_length=60, pattern=r"\S")]

    @property
    def label(self) -> str:
        """Tooth and canal: ``46 MB``; a supernumerary tooth is named after its neighbour."""
        extra = " supernumerary" if self.supernumerary else ""
        return f"{self.tooth}{extra} {self.name}"


class ReferencePoint(Event):
    """A reference point: it begins a series of lengths that can be compared, and ends the one before."""

    kind: Literal["reference point"] = "reference point"
    canal: NotEmpty
    words: NotEmpty
    image: Number | None = None
    point_px: Point | None = None
    why: Words | None = None


class CanalNote(Event):
    """Something about a canal that a length alone does not say."""

    kind: Literal["note"] = "note"
    canal: NotEmpty
    state: CanalState
    other: Words | None = None
    words: Words = ""


class ViewPair(Event):
    """Two images of one tooth, the second with the tube shifted."""

    kind: Literal["views"] = "views"
    straight: Number
    shifted: Number
    shift: Shift
    angle_deg: Annotated[float, Field(ge=0, le=90)] | None = None


class LocatorReading(Frozen):
    """What stood on an apex locator, and in what state the canal was.

    Parameters
    ----------
    mark
        The mark that was read, as the display names it.
    read_mm
        Stop to tip at that mark, in millimetres.
    deduction_mm
        What the clinician took off, in millimetres.
    file_size
        Size of the instrument, in hundredths of a millimetre.
    moisture, metal_contact, stable
        State of the canal and of the reading; ``None`` where nothing was said.
    """

    mark: NotEmpty
    read_mm: Millimetres
    deduction_mm: Short = 0.0
    file_size: Annotated[int, Field(ge=6, le=140)] | None = None
    moisture: Literal["moist", "dry"] | None = None
    metal_contact: bool | None = None
    stable: bool | None = None


class FoundInRecord(Frozen):
    """Which kept result of which image a length is."""

    image: Number
    canal: EntryId
    result: Literal["estimate", "confirmation"]
    when: When
    algorithm: Words


class LengthAdded(Event):
    """A length of a canal as one method gave it.

    Parameters
    ----------
    series
        Number of the reference point it was measured from.
    method, flaring, measured
        How, at what stage of the work, and when.
    length
        In millimetres, with its interval.
    landmark, short_mm
        It ends so many millimetres short of that landmark.
    ruler, u_ruler_mm
        Name of the ruler it shares with other lengths, and the standard uncertainty that it brings.
    u_reference_mm
        Standard uncertainty of the reference point, shared by the series.
    rule, source
        The rule it follows and who published it.
    locator, found
        The reading of an apex locator; or where a result of an image is kept.
    replaces, why
        A correction says which length it replaces, and why.
    """

    kind: Literal["length"] = "length"
    canal: NotEmpty
    series: Number
    method: LengthMethod
    flaring: Flaring
    measured: When
    length: StoredLength
    landmark: Landmark
    short_mm: Short
    ruler: Words | None = None
    u_ruler_mm: Annotated[float, Field(ge=0, le=5)] = 0.0
    u_reference_mm: Annotated[float, Field(ge=0, le=5)] = 0.0
    rule: Words | None = None
    source: Words | None = None
    verdict: Words | None = None
    locator: LocatorReading | None = None
    found: FoundInRecord | None = None
    views: Number | None = None
    replaces: Number | None = None
    why: Words | None = None


class LengthWithdrawn(Event):
    """A length that should not be there, and why. It stays in the case and counts no more."""

    kind: Literal["withdrawal"] = "withdrawal"
    length: Number
    why: NotEmpty


class Decision(Event):
    """The working length that a person decided on. Its number is frozen.

    Parameters
    ----------
    value_mm
        Stop to tip from the reference point, in millimetres.
    by
        The person.
    based_on
        Numbers of the lengths it rests on.
    algorithms
        Versions that gave those lengths and compared them, as they were.
    why
        Why, in words; needed where an earlier decision is replaced.
    """

    kind: Literal["decision"] = "decision"
    canal: NotEmpty
    series: Number
    value_mm: Millimetres
    landmark: Landmark
    short_mm: Short
    by: NotEmpty
    based_on: Annotated[tuple[Number, ...], Field(min_length=1)]
    algorithms: tuple[Words, ...]
    software: Words
    replaces: Number | None = None
    why: Words | None = None


CaseEvent = Annotated[
    ImageAdded
    | CanalAdded
    | ReferencePoint
    | CanalNote
    | ViewPair
    | LengthAdded
    | LengthWithdrawn
    | Decision,
    Field(discriminator="kind"),
]
