"""The image a document belongs to: its header read, its identity ready to be copied. The file is never changed."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from radlength.dicom.errors import DicomError
from radlength.errors import RadlengthError
from radlength.imaging.dicom_file import open_dicom
from radlength.imaging.limits import read_bytes

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

NEEDED = ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID", "SOPClassUID")
IDENTITY = (
    "PatientName", "PatientID", "PatientBirthDate", "PatientSex", "StudyDate", "StudyTime", "AccessionNumber",
    "ReferringPhysicianName", "StudyID",
)  # fmt: skip
"""Attributes of type 2 (PS3.3 C.7.1.1, C.7.2.1): a document has them, if only empty."""


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """A DICOM image and its header.

    Parameters
    ----------
    path
        The file.
    dataset
        Everything in it, as it stands.
    header
        The same without pixels, text decoded, character set UTF-8, every attribute of :data:`IDENTITY` there.
    """

    path: Path
    dataset: Dataset
    header: Dataset

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, columns)."""
        return int(self.header.Rows), int(self.header.Columns)


def read_source(path: str | os.PathLike[str]) -> Source:
    """Return a DICOM image with what a document copies of it.

    Raises
    ------
    DicomError
        Not a DICOM image, or one without the UIDs that a document refers to.
    ImageError
        The file cannot be read.
    """
    path = Path(path)
    dataset = read_any(path)
    if "PixelData" not in dataset or "Rows" not in dataset:
        raise DicomError(
            "a DICOM file without pixels",
            "an image",
            "choose the image itself, not a document about it",
            code="dicom-no-image",
            subject=path.name,
        )
    if not (isinstance(dataset.get("Rows"), int) and isinstance(dataset.get("Columns"), int)):
        raise damaged(path.name)
    missing = [name for name in NEEDED if not str(dataset.get(name) or "").strip()]
    if missing:
        raise DicomError(
            f"the image lacks {', '.join(missing)}",
            "an image as an archive or a detector gives it",
            "export it again from where it was taken",
            code="dicom-no-uid",
            subject=path.name,
        )
    try:
        return Source(path, dataset, _header(dataset))
    except RadlengthError:
        raise
    except Exception as exc:
        raise damaged(path.name) from exc


def read_any(path: Path) -> Any:
    """Return the data set of any DICOM file.

    Raises
    ------
    DicomError
        It is none, or it is damaged.
    ImageError
        The file cannot be read or is too large.
    """
    data = read_bytes(path)
    if data[128:132] != b"DICM" and not _bare(data):
        raise DicomError(
            "not a DICOM file, so it has no patient and no study",
            "a DICOM file",
            "choose the one that the detector or the archive gave",
            code="dicom-not-dicom",
            subject=path.name,
        )
    with quietly():
        try:
            dataset, _ = open_dicom(data, path.name)
            for element in dataset:
                _ = element.value
        except RadlengthError:
            raise
        except Exception as exc:
            raise damaged(path.name) from exc
    return dataset


@contextmanager
def quietly() -> Iterator[None]:
    """Keep what pydicom remarks about foreign files to itself: what matters is said as an error or a finding."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def damaged(name: str) -> DicomError:
    """Return the refusal of a file that cannot be taken apart."""
    return DicomError(
        "the DICOM file is damaged", remedy="fetch or export it again", code="dicom-damaged", subject=name
    )


def _bare(data: bytes) -> bool:
    """Tell whether this may be a data set without the preamble: it starts in group 2 or 8, little endian."""
    return len(data) > 8 and data[:2] in (b"\x02\x00", b"\x08\x00") and data[3:4] == b"\x00"


def _header(dataset: Dataset) -> Dataset:
    from pydicom.dataset import Dataset

    header = Dataset()
    with quietly():
        for element in dataset:
            if element.tag.is_private or element.keyword in ("PixelData", "SpecificCharacterSet"):
                continue
            header[element.tag] = _plain(element)
        for keyword in IDENTITY:
            if keyword not in header:
                setattr(header, keyword, "")
    header.SpecificCharacterSet = "ISO_IR 192"
    return header


def _plain(element: Any) -> Any:
    """Return an element whose names are plain text, so that they are encoded anew."""
    from pydicom.dataelem import DataElement

    if element.VR != "PN" or element.value is None:
        return element
    names = [str(name) for name in element.value] if element.VM > 1 else str(element.value)
    return DataElement(element.tag, "PN", names)
