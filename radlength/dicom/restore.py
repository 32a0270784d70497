"""A record made again from a report, on the image that it refers to."""

from __future__ import annotations

from pathlib import Path

from radlength.dicom.errors import DicomError
from radlength.dicom.read_own import ReadReport, read_report, record_of
from radlength.dicom.source import read_source
from radlength.dicom.told import other_pixels
from radlength.errors import RecordError
from radlength.imaging import read_radiograph
from radlength.record import record_path, save_record


def restore_record(report: Path, image: Path, *, records_dir: Path | None = None) -> Path:
    """Write a record of the marks in one of our reports beside its image; a record that is there is not replaced.

    Raises
    ------
    DicomError
        The report is about another image, or cannot be read.
    RecordError
        There is a record of the image already.
    """
    read = read_report(report)
    check_image(read, image)
    place = record_path(image, records_dir)
    if place.exists():
        raise RecordError(
            "there is a record of the image already, and it is not replaced",
            remedy="move it away to write the one of the report",
            code="sr-record-there",
            subject=place.name,
        )
    return save_record(record_of(read, read_radiograph(image)), image, records_dir=records_dir)


def check_image(report: ReadReport, image: Path) -> None:
    """Refuse an image that the report is not about.

    Raises
    ------
    DicomError
        The report names another SOP Instance UID, or other pixels.
    """
    if report.image != str(read_source(image).header.SOPInstanceUID):
        raise DicomError(
            "the report is about another image",
            "the image whose SOP Instance UID it names",
            "choose that image",
            code="sr-other-image",
            subject=image.name,
        )
    if report.pixels and other_pixels(report.pixels, read_radiograph(image)):
        raise DicomError(
            "the report was made on other pixels than this image has, though its UID is the same",
            "the image as it was marked",
            "fetch the image again from where the report lies; if two differ there, ask who changed one",
            code="sr-other-pixels",
            subject=image.name,
        )
