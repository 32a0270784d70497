"""A rendering as a DICOM Digital Intra-Oral X-Ray image, for presentation (PS3.3 A.28)."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.phantom.render import Rendering
from radlength.phantom.truth import SIMULATED, tooth_number
from radlength.trade import CAUTION

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

_CODES = {
    "21": ("424399000", "Permanent maxillary left central incisor tooth"),
    "41": ("424575004", "Mandibular right central incisor tooth"),
    "43": ("860785004", "Mandibular right canine tooth"),
    "44": ("80140008", "Mandibular right first premolar tooth"),
    "45": ("8873007", "Mandibular right second premolar tooth"),
    "46": ("866005003", "Mandibular right first molar tooth"),
    "26": ("865988009", "Permanent maxillary left first molar tooth"),
}
"""SNOMED CT codes of PS3.16 CID 4018."""
_INTRA_ORAL = "1.2.840.10008.5.1.4.1.1.1.3"


def write_dicom(path: Path, rendering: Rendering) -> None:
    """Write a rendering as an Intra-Oral image, little endian, uncompressed.

    Parameters
    ----------
    path
        Where to.
    rendering
        What. Its pixel pitch goes to Imager Pixel Spacing: at the detector, not corrected for magnification.
    """
    from pydicom.dataset import Dataset, FileMetaDataset  # noqa: PLC0415
    from pydicom.uid import UID, ExplicitVRLittleEndian  # noqa: PLC0415

    ds = Dataset()
    _identity(ds, rendering)
    _acquisition(ds, rendering)
    _pixels(ds, rendering)
    ds.file_meta = FileMetaDataset()
    ds.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    ds.file_meta.MediaStorageSOPClassUID = UID(_INTRA_ORAL)
    ds.file_meta.MediaStorageSOPInstanceUID = ds.SOPInstanceUID
    ds.save_as(path, enforce_file_format=True)


def _uid(*parts: object) -> str:
    """Return a UID of the UUID form (PS3.5 B.2), the same for the same parts."""
    digest = hashlib.sha256("/".join(map(str, parts)).encode()).hexdigest()
    return f"2.25.{int(digest[:32], 16)}"


def _identity(ds: Dataset, rendering: Rendering) -> None:
    scene, view = rendering.scene, rendering.view
    series = (scene.kind, scene.seed, scene.view)
    digest = hashlib.sha256(rendering.pixels.tobytes()).hexdigest()
    ds.SpecificCharacterSet = "ISO_IR 192"
    ds.ImageType = ["ORIGINAL", "PRIMARY", ""]
    ds.SOPClassUID = _INTRA_ORAL
    ds.SOPInstanceUID = _uid("instance", *series, view, digest)
    ds.StudyDate = ds.SeriesDate = ds.ContentDate = ds.AcquisitionDate = "20000101"
    ds.StudyTime = ds.ContentTime = ds.AcquisitionTime = "120000"
    ds.AccessionNumber = ""
    ds.Modality = "IO"
    ds.PresentationIntentType = "FOR PRESENTATION"
    ds.Manufacturer = "simulated"
    ds.ReferringPhysicianName = ""
    ds.StudyDescription = ds.SeriesDescription = SIMULATED
    ds.PatientName = "SIMULATED^PHANTOM"
    ds.PatientID = f"PHANTOM-{scene.seed}"
    ds.PatientBirthDate = ""
    ds.PatientSex = ""
    ds.StudyInstanceUID = _uid("study", *series)
    ds.SeriesInstanceUID = _uid("series", *series)
    ds.StudyID = ds.SeriesNumber = ds.InstanceNumber = ds.AcquisitionNumber = "1"
    ds.ImageComments = f"{SIMULATED}. {CAUTION}"


def _acquisition(ds: Dataset, rendering: Rendering) -> None:
    view = rendering.view
    ds.KVP = "65"
    ds.DistanceSourceToDetector = f"{view.sdd_mm:.1f}"
    ds.FocalSpots = f"{rendering.detector.focal_spot_mm:.2f}"
    ds.ImagerPixelSpacing = [f"{view.pitch_mm:.6g}"] * 2
    ds.PositionerType = "NONE"
    ds.DetectorType = "SCINTILLATOR"
    ds.DetectorID = "simulated"
    tooth = tooth_number(rendering.scene)
    left = tooth[0] in "23"
    ds.PatientOrientation = ["P" if left else "A", "F"]
    ds.ImageLaterality = "L" if left else "R"
    ds.AnatomicRegionSequence = [_code("661005", "Jaw region")]
    ds.PrimaryAnatomicStructureSequence = [_code(*_CODES[tooth])]
    ds.AcquisitionContextSequence = []


def _code(value: str, meaning: str) -> Dataset:
    from pydicom.dataset import Dataset  # noqa: PLC0415

    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = value, "SCT", meaning
    return item


def _pixels(ds: Dataset, rendering: Rendering) -> None:
    pixels, bits = rendering.pixels, rendering.detector.bits
    inverted = rendering.detector.inverted
    ds.SamplesPerPixel = 1
    ds.PhotometricInterpretation = "MONOCHROME1" if inverted else "MONOCHROME2"
    ds.Rows, ds.Columns = pixels.shape
    ds.BitsAllocated = 8 if bits == 8 else 16
    ds.BitsStored, ds.HighBit, ds.PixelRepresentation = bits, bits - 1, 0
    ds.BurnedInAnnotation = "NO"
    ds.LossyImageCompression = "00"
    ds.PixelIntensityRelationship = "LOG"
    ds.PixelIntensityRelationshipSign = 1 if inverted else -1
    ds.RescaleIntercept, ds.RescaleSlope, ds.RescaleType = "0", "1", "US"
    ds.WindowCenter, ds.WindowWidth = str(1 << (bits - 1)), str(1 << bits)
    ds.PresentationLUTShape = "INVERSE" if inverted else "IDENTITY"
    ds.add_new(0x7FE00010, "OB" if bits == 8 else "OW", pixels.tobytes())
