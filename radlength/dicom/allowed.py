"""The list of what a de-identified copy may hold, and what each value may be. What is not here does not stay."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from radlength.dicom.codes import Triple
from radlength.imaging.dicom_display import table_of

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

Check = Callable[[Any], Any]
"""Returns the value that may stay, or ``None``."""

LARGEST = 70_000
"""No length, spacing or grey value of an intra-oral image is larger; a number of a person may be."""

LONGEST_TABLE = 65536
"""Entries of a lookup table at most (PS3.3 C.11.2.1.1)."""


def _number(value: Any) -> Any:
    """Return numbers anew, so that no text hides in one; ``None`` where one is none."""
    parts = list(value) if hasattr(value, "__iter__") and not isinstance(value, str | bytes) else [value]
    try:
        numbers = [float(part) for part in parts]
    except (TypeError, ValueError, OverflowError):
        return None
    if not (0 < len(numbers) <= 8 and all(abs(number) <= LARGEST for number in numbers)):
        return None
    shown = [int(number) if number.is_integer() else f"{number:.10g}" for number in numbers]
    return shown[0] if len(shown) == 1 else shown


def _whole(value: Any) -> Any:
    return int(value) if isinstance(value, int) else None


def _one_of(*words: str) -> Check:
    def check(value: Any) -> Any:
        word = value.strip().upper() if isinstance(value, str) else ""
        return word if word in words else None

    return check


def _each_of(*words: str) -> Check:
    def check(value: Any) -> Any:
        parts = [str(part) for part in value] if not isinstance(value, str) else [value]
        return parts if parts and all(part in words for part in parts) else None

    return check


def _known_uid(value: Any) -> Any:
    from pydicom.uid import UID

    return str(value) if isinstance(value, UID) and value.type == "SOP Class" else None


_SIDES = tuple("LRAPHF")
_DIRECTIONS = tuple({*_SIDES, *(a + b for a in _SIDES for b in _SIDES if a != b)})

ALLOWED: dict[str, Check] = {
    **dict.fromkeys(
        ("BitsAllocated", "BitsStored", "Columns", "HighBit", "PixelRepresentation", "Rows", "SamplesPerPixel"),
        _whole,
    ),
    **dict.fromkeys(
        (
            "DistanceSourceToDetector", "DistanceSourceToPatient", "EstimatedRadiographicMagnificationFactor",
            "ImagerPixelSpacing", "LossyImageCompressionRatio", "NominalScannedPixelSpacing", "PixelAspectRatio",
            "PixelIntensityRelationshipSign", "PixelSpacing", "RescaleIntercept", "RescaleSlope", "WindowCenter",
            "WindowWidth",
        ),
        _number,
    ),
    "BurnedInAnnotation": _one_of("NO"),
    "ConversionType": _one_of("DV", "DI", "DF", "WSD", "SD", "SI", "DRW", "SYN"),
    "DetectorType": _one_of("DIRECT", "SCINTILLATOR", "STORAGE", "FILM"),
    "ImageLaterality": _one_of("R", "L", "U", "B"),
    "ImageType": _each_of("ORIGINAL", "DERIVED", "PRIMARY", "SECONDARY", ""),
    "LossyImageCompression": _one_of("00", "01"),
    "LossyImageCompressionMethod": _each_of("ISO_10918_1", "ISO_14495_1", "ISO_15444_1", "ISO_13818_2"),
    "Modality": _one_of("IO", "DX", "CR", "PX", "SC", "OT"),
    "PatientOrientation": _each_of(*_DIRECTIONS),
    "PhotometricInterpretation": _one_of("MONOCHROME1", "MONOCHROME2"),
    "PixelData": lambda _: None,  # written anew from the decoded values
    "PixelIntensityRelationship": _one_of("LIN", "LOG"),
    "PixelSpacingCalibrationType": _one_of("GEOMETRY", "FIDUCIAL"),
    "PositionerType": _one_of("CARM", "COLUMN", "MAMMOGRAPHIC", "PANORAMIC", "CEPHALOSTAT", "RIGID", "NONE"),
    "PresentationIntentType": _one_of("FOR PRESENTATION", "FOR PROCESSING"),
    "PresentationLUTShape": _one_of("IDENTITY", "INVERSE"),
    "RescaleType": _one_of("US", "OD", "HU"),
    "SOPClassUID": _known_uid,
    "VOILUTFunction": _one_of("LINEAR", "LINEAR_EXACT", "SIGMOID"),
}  # fmt: skip
"""The 39 attributes that may stay, each with what its value may be."""

ANATOMY = (
    "AnatomicRegionSequence",
    "PrimaryAnatomicStructureModifierSequence",
    "PrimaryAnatomicStructureSequence",
)
"""Code sequences that may stay: codes of CID 4016 to 4019 only, with the standard's own meaning."""


def allowed_values(dataset: Dataset) -> dict[str, Any]:
    """Return the attributes that may stay, each as a value of our own making."""
    kept = {}
    for keyword, check in ALLOWED.items():
        value = dataset.get(keyword)
        checked = None if value is None or value == "" else check(value)
        if checked is not None:
            kept[keyword] = checked
    return kept


def allowed_codes(dataset: Dataset) -> dict[str, list[Triple]]:
    """Return the anatomy that may stay: known codes, in the words of the standard."""
    kept = {}
    for keyword in ANATOMY:
        codes = [str(item.get("CodeValue", "")) for item in dataset.get(keyword) or ()]
        known = [(value, "SCT", _anatomy()[value]) for value in codes if value in _anatomy()]
        if known:
            kept[keyword] = known
    return kept


@cache
def _anatomy() -> dict[str, str]:
    from pydicom.sr.codedict import codes

    groups = (codes.cid4016, codes.cid4017, codes.cid4018, codes.cid4019)
    return {
        code.value: code.meaning for group in groups for code in (getattr(group, key) for key in group.dir())
    }


def plain_tables(dataset: Dataset, keyword: str) -> list[Any]:
    """Return lookup tables as numbers alone, in little-endian words, those of 8 bits two in a word (PS3.3 C.11.1.1.1).

    Parameters
    ----------
    dataset
        The image's header.
    keyword
        ``"VOILUTSequence"`` or ``"ModalityLUTSequence"``; the latter gets the type US, unspecified (PS3.3 C.11.1.1.2).

    Notes
    -----
    Left out are tables that say nothing, and those of 32768 entries or more from a value below 0: a descriptor of
    signed numbers cannot tell their length to every reader.
    """
    from pydicom.dataset import Dataset

    tables = []
    for item in dataset.get(keyword) or ():
        described = item.get("LUTDescriptor")
        if described is None or item.get("LUTData") is None or len(described) != 3 or int(described[2]) < 1:
            continue
        values, _ = table_of(item)
        told = [int(part) for part in described]
        signed = told[1] < 0  # the first value may be a rescaled one, below 0
        if len(values) == (told[0] or LONGEST_TABLE) and not (signed and told[0] >= 1 << 15):
            table = Dataset()
            table.add_new("LUTDescriptor", "SS" if signed else "US", told)
            data = (values.clip(0, 255).astype("u1") if told[2] == 8 else values.astype("<u2")).tobytes()
            table.add_new("LUTData", "OW", data + b"\0" * (len(data) % 2))
            if keyword == "ModalityLUTSequence":
                table.ModalityLUTType = "US"
            tables.append(table)
    return tables
