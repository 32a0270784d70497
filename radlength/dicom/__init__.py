"""The only room that writes DICOM documents and talks to an archive."""

from radlength.dicom.canals import Marked, MeasuredCanal, marked
from radlength.dicom.copies import Deidentified, deidentify
from radlength.dicom.decision import Decision
from radlength.dicom.errors import ArchiveError, DicomError
from radlength.dicom.foreign_length import Elsewhere, elsewhere
from radlength.dicom.listing import Stated, list_measurements
from radlength.dicom.read_own import ReadCanal, ReadReport, is_own, read_report, record_of
from radlength.dicom.restore import restore_record
from radlength.dicom.source import Source, read_any, read_source
from radlength.dicom.write import Written, write_documents

__all__ = [
    "ArchiveError",
    "Decision",
    "Deidentified",
    "DicomError",
    "Elsewhere",
    "Marked",
    "MeasuredCanal",
    "ReadCanal",
    "ReadReport",
    "Source",
    "Stated",
    "Written",
    "deidentify",
    "elsewhere",
    "is_own",
    "list_measurements",
    "marked",
    "read_any",
    "read_report",
    "read_source",
    "record_of",
    "restore_record",
    "write_documents",
]
