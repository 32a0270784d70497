"""What documents made here have in common: identity of patient and study copied from the source, equipment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from radlength._version import __version__
from radlength.dicom.codes import SOURCE_IMAGE
from radlength.dicom.source import IDENTITY, Source
from radlength.dicom.sr_items import code_item, reference
from radlength.dicom.stamp import MAKER, SERIES_NUMBERS, Stamp
from radlength.dicom.words import long_string

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

ALSO = (
    "StudyInstanceUID", "StudyDescription", "PatientAge", "IssuerOfPatientID", "OtherPatientIDsSequence",
    "TimezoneOffsetFromUTC",
)  # fmt: skip
"""Further attributes of patient and study, copied where the image has them."""


def new_document(source: Source, stamp: Stamp, kind: str, *, sop_class: str, description: str) -> Dataset:
    """Return a data set with identity, equipment and file meta information, still without content."""
    from pydicom.dataset import Dataset, FileMetaDataset
    from pydicom.uid import UID, ExplicitVRLittleEndian

    made, header = Dataset(), source.header
    made.SpecificCharacterSet = "ISO_IR 192"
    for keyword in (*IDENTITY, *ALSO):
        if keyword in header:
            made[keyword] = header[keyword]
    made.SOPClassUID = sop_class
    made.SeriesNumber = SERIES_NUMBERS[kind]
    made.SeriesDescription = long_string(description)
    made.Manufacturer = MAKER
    made.ManufacturerModelName = "radlength"
    made.DeviceSerialNumber = made.SoftwareVersions = __version__
    made.file_meta = FileMetaDataset()
    made.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    made.file_meta.MediaStorageSOPClassUID = UID(sop_class)
    made.SOPInstanceUID, made.SeriesInstanceUID = stamp.sop_instance, stamp.series_instance
    return made


def source_reference(source: Source) -> Dataset:
    """Return an item of the Source Image Sequence, with the purpose of the reference (CID 7202)."""
    item = reference(source.header)
    item.PurposeOfReferenceCodeSequence = [code_item(SOURCE_IMAGE)]
    return item
