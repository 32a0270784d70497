"""A Comprehensive SR of what was marked and measured on one image: TID 1500, a TID 1501 group each.

One group for every reference (the calibration) and one for every canal. The clicked points hang as an open polyline
on the number that was measured from them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength._version import __version__
from radlength.dicom import codes as c
from radlength.dicom import sr_items as items
from radlength.dicom.canals import Marked
from radlength.dicom.common import new_document
from radlength.dicom.sr_groups import canal_group, reference_group
from radlength.dicom.stamp import DEVICE_UID, MAKER, SOP_CLASSES, Stamp
from radlength.dicom.told import pixel_words
from radlength.dicom.words import long_string, person_name
from radlength.imaging.dicom_spacing import spacing_pair

if TYPE_CHECKING:
    from pydicom.dataset import Dataset


def build_sr(marked: Marked, stamp: Stamp) -> Dataset:
    """Return the report as a data set.

    Parameters
    ----------
    marked
        What is written down.
    stamp
        UIDs, time and predecessors.

    Raises
    ------
    DicomError
        A path leaves the image, or there is nothing that could be written as a length.
    """
    header = marked.source.header
    made = new_document(
        marked.source, stamp, "sr", sop_class=SOP_CLASSES["sr"], description="Root canal lengths"
    )
    made.Modality = "SR"
    made.ContentDate = made.ContentTime = ""
    made.CompletionFlag, made.PreliminaryFlag = "COMPLETE", "PRELIMINARY"
    made.PerformedProcedureCodeSequence = []
    made.ReferencedPerformedProcedureStepSequence = []
    made.CurrentRequestedProcedureEvidenceSequence = [_evidence(header)]
    groups = [reference_group(marked, one) for one in marked.record.references]
    groups += [canal_group(marked, canal) for canal in marked.canals]
    root = items.container(
        c.REPORT,
        [
            items.coded(c.LANGUAGE, c.ENGLISH, "HAS CONCEPT MOD"),
            *_observers(marked),
            items.coded(c.PROCEDURE_REPORTED, c.PROCEDURE, "HAS CONCEPT MOD"),
            _library(marked),
            items.container(c.MEASUREMENTS, groups),
        ],
        template="1500",
    )
    del root.RelationshipType
    made.update(root)
    _verify(made, marked)
    made.CodingSchemeIdentificationSequence = [_scheme()]
    return made


def _evidence(header: Dataset) -> Dataset:
    from pydicom.dataset import Dataset

    study, series = Dataset(), Dataset()
    series.SeriesInstanceUID = header.SeriesInstanceUID
    series.ReferencedSOPSequence = [items.reference(header)]
    study.StudyInstanceUID = header.StudyInstanceUID
    study.ReferencedSeriesSequence = [series]
    return study


def _observers(marked: Marked) -> list[Dataset]:
    """Return who marked last, as the history says, if it does, and the program (TID 1001 to 1004)."""
    names = [entry.who for entry in marked.record.history if entry.who and person_name(entry.who)]
    observers = [
        items.coded(c.OBSERVER_TYPE, c.DEVICE, "HAS OBS CONTEXT"),
        items.uid(c.DEVICE_UID, DEVICE_UID),
        items.text(c.DEVICE_NAME, MAKER, "HAS OBS CONTEXT"),
        items.text(c.DEVICE_MODEL, MAKER, "HAS OBS CONTEXT"),
        items.text(c.DEVICE_NUMBER, __version__, "HAS OBS CONTEXT"),
    ]
    if not names:
        return observers
    person = items.coded(c.OBSERVER_TYPE, c.PERSON, "HAS OBS CONTEXT")
    return [person, items.person(c.PERSON_NAME, names[-1]), *observers]


def _library(marked: Marked) -> Dataset:
    """Return the image library (TID 1600): the image, what it is, its size, spacing at the detector, and its pixels."""
    header, pixels = marked.source.header, pixel_words(marked.radiograph)
    said = [
        items.number(c.ROWS, int(header.Rows), c.PIXELS, "HAS ACQ CONTEXT"),
        items.number(c.COLUMNS, int(header.Columns), c.PIXELS, "HAS ACQ CONTEXT"),
    ]
    modality = c.MODALITIES.get(str(header.get("Modality")))
    if modality is not None:
        said.insert(0, items.coded(c.MODALITY, modality, "HAS ACQ CONTEXT"))
    spacing = spacing_pair(header, "ImagerPixelSpacing")
    if spacing is not None:
        said.append(items.number(c.HORIZONTAL, spacing[1], c.MILLIMETRE, "HAS ACQ CONTEXT"))
        said.append(items.number(c.VERTICAL, spacing[0], c.MILLIMETRE, "HAS ACQ CONTEXT"))
    said.append(items.text(c.PIXEL_HASH, pixels, "HAS ACQ CONTEXT"))
    picture = items.image(c.SELECTED, header, "CONTAINS", said)
    return items.container(c.LIBRARY, [items.container(c.LIBRARY_GROUP, [picture])])


def _verify(made: Dataset, marked: Marked) -> None:
    """Mark the document as verified by the people who decided every canal in it, and by nobody else."""
    from pydicom.dataset import Dataset

    made.VerificationFlag = "UNVERIFIED"
    if not marked.verified_by:
        return
    observers = []
    for decision in marked.verified_by:
        observer = Dataset()
        observer.VerifyingObserverName = person_name(decision.person)
        observer.VerifyingOrganization = long_string(decision.organization)
        observer.VerificationDateTime = decision.time.strftime("%Y%m%d%H%M%S%z")
        observer.VerifyingObserverIdentificationCodeSequence = []
        observers.append(observer)
    made.VerificationFlag = "VERIFIED"
    made.VerifyingObserverSequence = observers


def _scheme() -> Dataset:
    """Say whose the private codes are (PS3.3 C.12.1.1.1)."""
    from pydicom.dataset import Dataset

    scheme = Dataset()
    scheme.CodingSchemeDesignator = c.SCHEME
    scheme.CodingSchemeName = c.SCHEME_NAME
    scheme.CodingSchemeResponsibleOrganization = MAKER
    return scheme
