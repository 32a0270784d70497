"""Our own report read back: marks, rules and lengths, and a record made of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.dicom import codes as c
from radlength.dicom.coordinates import from_dicom
from radlength.dicom.errors import DicomError
from radlength.dicom.source import damaged, quietly, read_any
from radlength.dicom.stamp import MAKER
from radlength.dicom.teeth import tooth_number
from radlength.dicom.told import INVENTED, assist_of, pitch_of, shape_of, spread_of
from radlength.dicom.tree import below, code_of, code_value, everything, first, text_of, value_of
from radlength.errors import RadlengthError
from radlength.geometry import Assist, Point
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus
from radlength.quantity import Quantity
from radlength.record import Record
from radlength.scale import Reference
from radlength.scale.reference import Placement
from radlength.uncertainty import Marking

if TYPE_CHECKING:
    from pydicom.dataset import Dataset


@dataclass(frozen=True, slots=True)
class ReadCanal:
    """A canal as a report states it.

    Parameters
    ----------
    canal
        Tooth, name and clicked points.
    canal_length, working_length
        As written, or ``None`` where the report has none.
    length_px
        Length in pixels, where there was no scale.
    terminus
        The rule.
    reference
        Name of the reference that measures it, or ``None``.
    scale
        Where the scale comes from, in words.
    decided_mm
        What a person decided, or ``None``.
    doubts
        In words.
    key
        Its id in the record it was written from, or ``None`` where somebody changed the UIDs.
    """

    canal: Canal
    canal_length: Quantity | None
    working_length: Quantity | None
    length_px: float | None
    terminus: Terminus | None
    reference: str | None
    scale: str
    decided_mm: float | None
    doubts: tuple[str, ...]
    key: str | None = None


@dataclass(frozen=True, slots=True)
class ReadReport:
    """A report of ours.

    Parameters
    ----------
    sop_instance, image
        UIDs of the report and of the image it is about.
    verified_by
        Names of who verified it, none where nobody did.
    references, canals
        What it holds.
    marking
        Spread of the marks.
    stated_pitch_mm
        Pitch that a person stated, down and across, or ``None``.
    invented
        Whether it says that its data are invented.
    pixels
        Hash of the pixels that were marked, nothing where an older report does not tell.
    """

    sop_instance: str
    image: str
    verified_by: tuple[str, ...]
    references: tuple[Reference, ...]
    canals: tuple[ReadCanal, ...]
    marking: Marking
    stated_pitch_mm: tuple[float, float] | None
    invented: bool
    pixels: str


def is_own(dataset: Dataset) -> bool:
    """Tell whether a report uses our private codes and names our device as its observer.

    Another program may take over a code of ours, and name its scheme as the standard wants it.
    """
    schemes = dataset.get("CodingSchemeIdentificationSequence") or ()
    codes = any(str(one.get("CodingSchemeDesignator", "")) == c.SCHEME for one in schemes)
    return codes and any(text_of(one) == MAKER for one in below(dataset, c.DEVICE_NAME, "TEXT"))


def read_report(path: Path) -> ReadReport:
    """Return a report of ours.

    Raises
    ------
    DicomError
        Not a report, not ours, or damaged: a mark that cannot be one is refused, nothing is guessed.
    """
    dataset = read_any(path)
    if not is_own(dataset):
        raise DicomError(
            "not a report that radlength wrote",
            "a structured report with its marks",
            "list its numbers with: radlength dicom show FILE",
            code="sr-not-ours",
            subject=path.name,
        )
    try:
        with quietly():
            return report_of(dataset)
    except RadlengthError as exc:
        raise DicomError(
            f"the report is damaged: {exc}", remedy="fetch it again", code="sr-damaged", subject=path.name
        ) from exc
    except Exception as exc:
        raise damaged(path.name) from exc


def report_of(dataset: Dataset) -> ReadReport:
    """Return a report of ours from its data set; raises whatever is wrong with it."""
    items = [item for _, item in everything(dataset)]
    groups = [item for item in items if _is_group(item)]
    calibrations = [one for one in groups if _finding(one) == c.CALIBRATION_OBJECT[0]]
    canals = [one for one in groups if _finding(one) == c.CANAL[0]]
    told = [text_of(one) for group in canals for one in below(group, c.ALGORITHM_PARAMETERS, "TEXT")]
    marking = spread_of(told)
    if marking is None:
        raise _missing("the spread of its marks")
    evidence = dataset.CurrentRequestedProcedureEvidenceSequence[0].ReferencedSeriesSequence[0]
    return ReadReport(
        sop_instance=str(dataset.SOPInstanceUID),
        image=str(evidence.ReferencedSOPSequence[0].ReferencedSOPInstanceUID),
        verified_by=tuple(
            str(one.VerifyingObserverName) for one in dataset.get("VerifyingObserverSequence") or ()
        ),
        references=tuple(map(_reference, calibrations)),
        canals=tuple(map(_canal, canals)),
        marking=marking,
        stated_pitch_mm=pitch_of(told),
        invented=any(text_of(first(group, c.STATUS, "TEXT")).endswith(INVENTED) for group in canals),
        pixels=next((text_of(one) for item in items for one in below(item, c.PIXEL_HASH, "TEXT")), ""),
    )


def record_of(report: ReadReport, radiograph: Radiograph) -> Record:
    """Return a record of the marks in a report, on the image that they were made on.

    Parameters
    ----------
    report
        What was read.
    radiograph
        The image. That it is the right one is for the caller to see: by its SOP Instance UID.

    Raises
    ------
    RecordError
        A mark outside the image.
    """
    record = Record.new(radiograph, references=report.references, marking=report.marking)
    if report.stated_pitch_mm is not None:
        record = record.with_stated_pitch(*report.stated_pitch_mm)
    for one in report.canals:
        record = record.with_canal(one.canal, reference=one.reference, terminus=one.terminus, new_key=one.key)
    return record.model_copy(update={"invented": report.invented})


def _is_group(item: Dataset) -> bool:
    names = item.get("ConceptNameCodeSequence") or ()
    return item.get("ValueType") == "CONTAINER" and any(_same(name, c.GROUP) for name in names)


def _same(code: Dataset, wanted: c.Triple) -> bool:
    return c.is_code(code, wanted)


def _finding(group: Dataset) -> str:
    return code_value(code_of(first(group, c.FINDING_TYPE, "CODE")))


def _label(group: Dataset) -> str:
    return text_of(first(group, c.TRACKING, "TEXT"))


def _reference(group: Dataset) -> Reference:
    size = _need(first(group, c.OBJECT_SIZE, "NUM"), "the size of its reference")
    limit = value_of(_need(first(size, c.AROUND, "NUM"), "the limits of its reference"))
    length = value_of(size)
    placed = code_value(code_of(first(group, c.PLACEMENT, "CODE")))
    placement = next((key for key, code in c.PLACEMENTS.items() if code[0] == placed), None)
    if length is None or limit is None or placement is None:
        raise _missing("a length or a placement of its reference")
    return Reference(
        path_px=_path(size),
        length_mm=length[0],
        limit_mm=limit[0],
        placement=_placement(placement),
        name=_label(group),
        canal=text_of(first(group, c.IN_CANAL_OF, "TEXT")) or None,
        assists=_assists(group),
        **shape_of(text_of(first(group, c.SHAPE, "TEXT"))),
    )


def _assists(group: Dataset) -> tuple[Assist, ...]:
    return tuple(assist_of(text_of(one)) for one in below(group, c.PLACED, "TEXT"))


def _key(group: Dataset) -> str | None:
    """Return the id of a canal out of its tracking UID, as :func:`radlength.dicom.sr_groups.canal_uid` writes it."""
    uid = str(getattr(first(group, c.TRACKING_UID, "UIDREF"), "UID", ""))
    number = uid.removeprefix("2.25.")
    known = uid != number and number.isdecimal() and int(number) < 1 << 128
    return f"{int(number):032x}" if known else None


def _placement(text: str) -> Placement:
    return "in_canal" if text == "in_canal" else "beside"


def _canal(group: Dataset) -> ReadCanal:
    site = code_value(code_of(first(group, c.FINDING_SITE, "CODE")))
    tooth = tooth_number(site) or ""
    label = _label(group)
    number, _, name = label.partition(" ")
    if not tooth or number != tooth:
        raise _missing("the same tooth as code and in words")
    length = _need(first(group, c.PATH_LENGTH, "NUM"), "the length of its canal")
    stated = value_of(length)
    pixels = stated is not None and stated[1] == c.PIXELS[0]
    decided = first(group, c.DECIDED_LENGTH, "NUM")
    decided_value = value_of(decided) if decided is not None else None
    return ReadCanal(
        canal=Canal(
            tooth=tooth,
            name=name,
            path_px=_path(length),
            reference_point=text_of(first(group, c.REFERENCE_POINT, "TEXT")),
            straight=text_of(first(group, c.STRAIGHT, "TEXT")),
            assists=_assists(group),
        ),
        canal_length=None if pixels else _quantity(length),
        working_length=_quantity(first(group, c.WORKING_LENGTH, "NUM")),
        length_px=stated[0] if stated is not None and pixels else None,
        terminus=_terminus(group),
        reference=text_of(first(group, c.SCALE_NAME, "TEXT")) or None,
        scale=str(getattr(code_of(first(group, c.SCALE_SOURCE, "CODE")), "CodeMeaning", "")),
        decided_mm=decided_value[0] if decided_value else None,
        doubts=tuple(text_of(item) for item in below(group, c.FINDING, "TEXT")),
        key=_key(group),
    )


def _quantity(item: Dataset | None) -> Quantity | None:
    """Return a length with its interval; every part must be in millimetres."""
    if item is None:
        return None
    parts = [value_of(item), *(_part(item, code) for code in (c.ABOVE, c.BELOW, c.STANDARD_U))]
    if any(part is None or part[1] != c.MILLIMETRE[0] for part in parts):
        raise _missing("a length with its uncertainty in millimetres")
    value, above, under, u = (part[0] if part else math.nan for part in parts)
    return Quantity(value, u, value - under, value + above)


def _part(item: Dataset, code: c.Triple) -> tuple[float, str] | None:
    found = first(item, code, "NUM")
    return value_of(found) if found is not None else None


def _terminus(group: Dataset) -> Terminus | None:
    table, seen = (text_of(first(group, code, "TEXT")) for code in (c.RULE_TABLE, c.RULE_SEEN))
    if table and seen:
        return Terminus(table=table, observation=seen)
    offset = first(group, c.OFFSET, "NUM")
    stated = value_of(offset) if offset is not None else None
    return Terminus(offset_mm=stated[0]) if stated is not None else None


def _path(item: Dataset) -> tuple[Point, ...]:
    where = _need(next(below(item, c.SOURCE, "SCOORD"), None), "its marks")
    return from_dicom(where.GraphicData)


def _need(item: Dataset | None, what: str) -> Dataset:
    if item is None:
        raise _missing(what)
    return item


def _missing(what: str) -> DicomError:
    return DicomError(f"it does not state {what}", code="sr-incomplete")
