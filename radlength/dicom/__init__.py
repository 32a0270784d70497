"""The only room that writes DICOM documents and talks to an archive."""

from radlength.dicom.archive import look_up, open_archive
from radlength.dicom.archive_commit import Committed, commit
from radlength.dicom.archive_fetch import Fetched, fetch_files
from radlength.dicom.archive_model import Archive, Outcome, read_items
from radlength.dicom.archive_send import Sent, send_files
from radlength.dicom.canals import Marked, MeasuredCanal, marked
from radlength.dicom.copies import Deidentified, deidentify
from radlength.dicom.decided import decided_in
from radlength.dicom.decision import Decision, unverified
from radlength.dicom.errors import ArchiveError, DicomError
from radlength.dicom.foreign_length import Elsewhere, elsewhere, outdated
from radlength.dicom.listing import Stated, list_measurements
from radlength.dicom.read_own import ReadCanal, ReadReport, is_own, read_report, record_of
from radlength.dicom.restore import check_image, restore_record
from radlength.dicom.source import Source, read_any, read_source
from radlength.dicom.write import Written, write_documents

__all__ = [
    "Archive",
    "ArchiveError",
    "Committed",
    "Decision",
    "Deidentified",
    "DicomError",
    "Elsewhere",
    "Fetched",
    "Marked",
    "MeasuredCanal",
    "Outcome",
    "ReadCanal",
    "ReadReport",
    "Sent",
    "Source",
    "Stated",
    "Written",
    "check_image",
    "commit",
    "decided_in",
    "deidentify",
    "elsewhere",
    "fetch_files",
    "is_own",
    "list_measurements",
    "look_up",
    "marked",
    "open_archive",
    "outdated",
    "read_any",
    "read_items",
    "read_report",
    "read_source",
    "record_of",
    "restore_record",
    "send_files",
    "unverified",
    "write_documents",
]
