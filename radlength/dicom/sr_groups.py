"""The measurement groups of a report (TID 1501): one for each reference, one for each canal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength._version import __version__
from radlength.dicom import codes as c
from radlength.dicom import sr_items as items
from radlength.dicom.canals import Marked, MeasuredCanal
from radlength.dicom.errors import DicomError
from radlength.dicom.stamp import entity_uid
from radlength.dicom.told import INVENTED, assist_words, pitch_words, shape_words, spread_words
from radlength.dicom.words import person_name
from radlength.geometry import fit_curve
from radlength.length import ALGORITHM
from radlength.scale import Reference
from radlength.trade import CAUTION

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

COVERAGE = "ranges of uncertainty: 95 % coverage, arms may be unequal"
METHOD = "radlength: length along a pinned polynomial"


def canal_uid(canal: MeasuredCanal) -> str:
    """Return the tracking UID of a canal: the id it has in its record, in the UUID form of PS3.5 B.2."""
    return f"2.25.{int(canal.entry.id, 16)}"


def reference_uid(marked: Marked, reference: Reference) -> str:
    """Return the tracking UID of a reference."""
    return entity_uid(str(marked.source.header.SOPInstanceUID), "reference", reference.name)


def reference_group(marked: Marked, reference: Reference) -> Dataset:
    """Return the calibration: the object, its known length, its length on the image, the factor."""
    teeth = dict.fromkeys(
        one.entry.canal.tooth for one in marked.canals if one.entry.reference == reference.name
    )
    said = [
        *_tracked(reference.name, reference_uid(marked, reference)),
        items.coded(c.FINDING_TYPE, c.CALIBRATION_OBJECT),
        *(items.site(tooth) for tooth in teeth),
        *_calibration(marked, reference),
        items.coded(c.PLACEMENT, c.PLACEMENTS[reference.placement]),
    ]
    if reference.canal is not None:
        said.append(items.text(c.IN_CANAL_OF, reference.canal))
    said += [items.text(c.PLACED, assist_words(one)) for one in reference.assists]
    shape = shape_words(reference)
    if shape:
        said.append(items.text(c.SHAPE, shape))
    return items.container(c.GROUP, said, template="1501")


def _calibration(marked: Marked, reference: Reference) -> list[Dataset]:
    frame = marked.frame
    image_length = fit_curve(frame.to_units(reference.path_px)).length
    factor = reference.length_mm / image_length
    path = items.polyline(reference.path_px, marked.source.shape, marked.source.header)
    size = items.known_length(c.OBJECT_SIZE, reference.length_mm, reference.limit_mm, path)
    if abs(frame.row / frame.column - 1) > 1e-6:
        return [
            size,
            items.measurement(c.VERTICAL, factor * frame.row, c.MILLIMETRE),
            items.measurement(c.HORIZONTAL, factor * frame.column, c.MILLIMETRE),
        ]
    per_pixel = factor * frame.row
    limit = items.number(c.AROUND, per_pixel * reference.limit_mm / reference.length_mm, c.PER_PIXEL)
    return [
        size,
        items.measurement(c.PATH_LENGTH, image_length / frame.row, c.PIXELS),
        items.measurement(c.FACTOR, per_pixel, c.PER_PIXEL, properties=(limit,)),
    ]


def canal_group(marked: Marked, canal: MeasuredCanal) -> Dataset:
    """Return a canal: its tooth, its lengths with their uncertainty, where the scale comes from, what is in doubt."""
    entry, found = canal.entry, canal.estimate
    said = [
        *_tracked(canal.label, canal_uid(canal)),
        items.coded(c.FINDING_TYPE, c.CANAL),
        items.site(entry.canal.tooth, entry.canal.name),
        *_algorithm(marked),
        *_measurements(marked, canal),
        items.coded(c.SCALE_SOURCE, c.SCALES[found.method if found else "none"]),
        *_words(marked, canal),
    ]
    return items.container(c.GROUP, said, template="1501")


def _tracked(identifier: str, uid: str) -> list[Dataset]:
    return [items.text(c.TRACKING, identifier, "HAS OBS CONTEXT"), items.uid(c.TRACKING_UID, uid)]


def _algorithm(marked: Marked) -> list[Dataset]:
    """Return what measured, its version, and what it was told (TID 4019)."""
    pitch = marked.record.stated_pitch_mm
    told = [spread_words(marked.record.marking), COVERAGE, *([pitch_words(pitch)] if pitch else [])]
    return [
        items.text(c.ALGORITHM, METHOD, "HAS CONCEPT MOD"),
        items.text(c.ALGORITHM_VERSION, f"{ALGORITHM} (radlength {__version__})", "HAS CONCEPT MOD"),
        *(items.text(c.ALGORITHM_PARAMETERS, words, "HAS CONCEPT MOD") for words in told),
    ]


def _measurements(marked: Marked, canal: MeasuredCanal) -> list[Dataset]:
    path = items.polyline(canal.entry.canal.path_px, marked.source.shape, marked.source.header)
    found, terminus = canal.estimate, canal.entry.terminus
    if found is None:
        if canal.length_px is None:
            raise DicomError(
                "no scale, and pixels that are not square: there is no length to write",
                remedy="mark an instrument of known length",
                code="no-scale",
                subject=canal.label,
            )
        return [items.measurement(c.PATH_LENGTH, canal.length_px, c.PIXELS, path=path)]
    measured = [items.length(c.PATH_LENGTH, found.canal_length, path)]
    if found.working_length is not None and terminus is not None:
        measured.append(items.length(c.WORKING_LENGTH, found.working_length))
        measured.append(items.measurement(c.OFFSET, terminus.distance_mm, c.MILLIMETRE))
    if canal.decision is not None:
        measured.append(items.measurement(c.DECIDED_LENGTH, canal.decision.value_mm, c.MILLIMETRE))
    return measured


def _words(marked: Marked, canal: MeasuredCanal) -> list[Dataset]:
    """Return what a group says in words: about the marks, rule, doubts, decision, status, caution."""
    entry, found, decision = canal.entry, canal.estimate, canal.decision
    marks = ((c.REFERENCE_POINT, entry.canal.reference_point), (c.STRAIGHT, entry.canal.straight))
    said = [items.text(code, words) for code, words in marks if words.strip()]
    said += [items.text(c.PLACED, assist_words(one)) for one in entry.canal.assists]
    if entry.terminus is not None:
        said.append(items.text(c.RULE, entry.terminus.words))
        if entry.terminus.table is not None and entry.terminus.observation is not None:
            said.append(items.text(c.RULE_TABLE, entry.terminus.table))
            said.append(items.text(c.RULE_SEEN, entry.terminus.observation))
    if entry.reference is not None:
        said.append(items.text(c.SCALE_NAME, entry.reference))
    doubts = [*marked.radiograph.findings, *(found.findings if found else ())]
    said += [items.text(c.FINDING, f"{doubt.code}: {doubt}") for doubt in doubts]
    if decision is not None:
        ends = f"; the decided length ends {decision.ends}" if decision.ends else ""
        who = f"{person_name(decision.person)}, {decision.time.isoformat()}{ends}"
        said.append(items.text(c.DECIDED_BY, who))
    invented = INVENTED if marked.record.invented else ""
    said.append(items.text(c.STATUS, f"{marked.record.status}{invented}"))
    said.append(items.text(c.CAUTION_ITEM, CAUTION))
    return said
