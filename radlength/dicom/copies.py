"""A copy of an image without identifying facts, by a list of what may stay; everything else is not copied.

Source: PS3.15 E.1 (basic profile) names what must go; here 39 attributes, three anatomy codes and the lookup tables of
the eye may stay, each value checked against what it may be. Private attributes, overlays, file meta information,
preamble and what hides in unused bits, padding or compressed streams are gone: the pixels are written anew. What is
written in the picture itself stays, and nothing here looks for it.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from radlength._version import __version__
from radlength.clean import refused
from radlength.dicom.allowed import allowed_codes, allowed_values, plain_tables
from radlength.dicom.errors import DicomError
from radlength.dicom.source import damaged, quietly, read_source
from radlength.dicom.sr_items import code_item
from radlength.dicom.stamp import MAKER, encoded, new_uid
from radlength.errors import RadlengthError, RecordError
from radlength.imaging import HeaderScale, Radiograph, read_radiograph
from radlength.record import Record, load_record, save_record
from radlength.report.share import CanalCodes, shared_record
from radlength.whole_file import put_whole

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

LOOK = "Look at the picture before you give it away: a name burned into the pixels is never removed."
METHOD = ("113100", "DCM", "Basic Application Confidentiality Profile")
TABLES = ("ModalityLUTSequence", "VOILUTSequence")
_GREY_ONLY = (
    *TABLES, "PresentationLUTShape", "RescaleIntercept", "RescaleSlope", "RescaleType", "VOILUTFunction",
    "WindowCenter", "WindowWidth",
)  # fmt: skip
EMPTY = (
    "PatientBirthDate", "PatientSex", "StudyDate", "StudyTime", "AccessionNumber", "ReferringPhysicianName", "StudyID",
    "SeriesNumber", "ContentDate", "ContentTime", "AcquisitionNumber",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Deidentified:
    """What was written: the copies, in the order given, and what the giver must do."""

    images: tuple[Path, ...]
    records: tuple[Path, ...]
    reminder: str = LOOK


@dataclass(slots=True)
class _Names:
    """New names of what the originals shared: images of one patient, study or series stay together."""

    known: dict[tuple[str, str], str] = field(default_factory=dict)

    def uid(self, kind: str, old: str) -> str:
        return self.known.setdefault((kind, old), new_uid())

    def patient(self, old: str) -> str:
        number = 1 + sum(kind == "patient" for kind, _ in self.known)
        return self.known.setdefault(("patient", old), f"ANON{number}")


def deidentify(
    images: Sequence[str | os.PathLike[str]], folder: Path, *, records_dir: Path | None = None
) -> Deidentified:
    """Write copies of images, and of their marks where there are any, without identifying facts.

    Parameters
    ----------
    images
        DICOM images. They are read only.
    folder
        A new or empty folder; names of files are not carried over.
    records_dir
        Where the records are.

    Raises
    ------
    DicomError
        An image says that text is burned into it, the folder holds something, or an image is none.
    """
    _empty(folder)
    names, codes = _Names(), CanalCodes()
    made: list[Path] = []
    records: list[Path] = []
    try:
        for number, image in enumerate(images, 1):
            path = folder / f"image-{number}.dcm"
            radiograph = read_radiograph(image)
            put_whole(path, encoded(deidentified(Path(image), radiograph, names)))
            made.append(path)
            record = _record(Path(image), records_dir)
            if record is not None:
                records.append(_copy_marks(record, radiograph, path, codes))
    except OSError as exc:
        raise DicomError(
            f"the copy cannot be written: {refused(exc)}",
            remedy="free space or rights, or choose another folder",
            code="deidentify-unwritable",
            subject=str(folder),
        ) from exc
    return Deidentified(tuple(made), tuple(records))


def deidentified(path: Path, radiograph: Radiograph, names: _Names | None = None) -> Dataset:
    """Return the copy of one image as a data set.

    Raises
    ------
    DicomError
        Text is burned into the image, as its header says, or it is no DICOM image.
    """
    source, names = read_source(path), names or _Names()
    old = source.dataset
    if str(old.get("BurnedInAnnotation") or "").strip().upper() == "YES":
        raise DicomError(
            "Burned In Annotation is YES: text in the pixels may name the patient",
            "an image without text in it",
            "export the image without its text",
            code="deidentify-burned-in",
            subject=path.name,
        )
    try:
        with quietly():
            made = _allowed(old)
            _identity(made, old, names)
            _pixels(made, radiograph)
            encoded(made)
    except RadlengthError:
        raise
    except Exception as exc:
        raise damaged(path.name) from exc
    return made


def _allowed(old: Dataset) -> Dataset:
    from pydicom.dataset import Dataset

    made = Dataset()
    made.SpecificCharacterSet = "ISO_IR 192"
    for keyword, value in allowed_values(old).items():
        setattr(made, keyword, value)
    for keyword, codes in allowed_codes(old).items():
        setattr(made, keyword, [code_item(code) for code in codes])
    for keyword in TABLES:
        tables = plain_tables(old, keyword)
        if tables:
            setattr(made, keyword, tables)
    if "PixelSpacingCalibrationType" in made:
        made.PixelSpacingCalibrationDescription = "As in the original; its words are not copied"
    return made


def _identity(made: Dataset, old: Dataset, names: _Names) -> None:
    """Give new UIDs and names, and say how identity was removed.

    Patient Identity Removed speaks of the pixels too (PS3.3 C.7.1.1): it is YES only where the image itself says that
    no text is burned into it.
    """
    from pydicom.dataset import FileMetaDataset
    from pydicom.uid import UID, ExplicitVRLittleEndian

    for keyword in EMPTY:
        setattr(made, keyword, "")
    patient = names.patient(f"{old.get('PatientID')}|{old.get('PatientName')}")
    made.PatientName, made.PatientID = f"{patient}^", patient
    made.PatientIdentityRemoved = "YES" if "BurnedInAnnotation" in made else "NO"
    made.DeidentificationMethod = f"Allow-list of radlength {__version__}; pixels not inspected"
    made.DeidentificationMethodCodeSequence = [code_item(METHOD)]
    made.Manufacturer = MAKER
    made.DetectorID = ""
    made.AcquisitionContextSequence = []
    made.InstanceNumber = 1
    made.StudyInstanceUID = names.uid("study", str(old.StudyInstanceUID))
    made.SeriesInstanceUID = names.uid("series", str(old.SeriesInstanceUID))
    made.SOPInstanceUID = names.uid("image", str(old.SOPInstanceUID))
    made.file_meta = FileMetaDataset()
    made.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    made.file_meta.MediaStorageSOPClassUID = UID(str(made.SOPClassUID))
    made.file_meta.MediaStorageSOPInstanceUID = made.SOPInstanceUID


def _pixels(made: Dataset, radiograph: Radiograph) -> None:
    """Write the stored values alone: no padding, no unused bits, no stream with comments in it."""
    stored = radiograph.stored
    data = np.ascontiguousarray(stored, dtype="<u2" if stored.dtype == np.uint16 else "u1").tobytes()
    made.Rows, made.Columns = stored.shape
    if made.SamplesPerPixel == 3:  # equal in every pixel, and one of them was read; no window was for colour
        made.SamplesPerPixel, made.PhotometricInterpretation = 1, "MONOCHROME2"
        for keyword in _GREY_ONLY:
            made.pop(keyword, None)
    made.add_new("PixelData", "OB" if stored.dtype == np.uint8 else "OW", data + b"\0" * (len(data) % 2))


def _record(image: Path, records_dir: Path | None) -> Record | None:
    try:
        return load_record(image, records_dir=records_dir)
    except RecordError as exc:
        if exc.code == "record-missing":
            return None
        raise


def _copy_marks(record: Record, radiograph: Radiograph, path: Path, codes: CanalCodes) -> Path:
    """Write the marks anew beside the copy; its header keeps the spacing, so that none is stated again."""
    without_scale = replace(radiograph, scale=HeaderScale())
    return save_record(shared_record(record, without_scale, read_radiograph(path), codes), path)


def _empty(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise DicomError(
            "the folder for the copies holds something",
            "a new or an empty folder",
            "choose another name",
            code="deidentify-not-empty",
            subject=str(folder),
        )
