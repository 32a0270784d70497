"""DICOM: one grey image of the radiographic modalities."""

from __future__ import annotations

import re
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.dicom_colour import is_colour
from radlength.imaging.dicom_display import display_or_doubt, polarity
from radlength.imaging.dicom_file import forget_bulk, open_dicom
from radlength.imaging.dicom_pixels import LOSSLESS, bind, stored_values
from radlength.imaging.dicom_spacing import header_scale
from radlength.imaging.limits import check_size
from radlength.imaging.radiograph import FileFacts, Radiograph, frozen

ONE_GREY = "one frame of grey values, MONOCHROME1 or MONOCHROME2"
MODALITIES = ("IO", "DX", "CR", "PX", "SC")
MAX_DICOM_SIDE = 10_000
_SECONDARY_CAPTURE = "1.2.840.10008.5.1.4.1.1.7"
_CODE_STRING = re.compile(r"[A-Z0-9_ ]{1,16}")

SECONDARY = Finding(
    "secondary-capture",
    "The file is a secondary capture: a picture of an image, perhaps resized or edited.",
    "Use the image as the detector delivered it.",
)
PANORAMIC = Finding(
    "panoramic",
    "A panoramic image gives no length: its magnification differs from place to place.",
    "Use a periapical image.",
    "serious",
)


def read_dicom(data: bytes, path: Path) -> Radiograph:
    """Return the radiograph in the bytes of a DICOM file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        dataset, syntax = open_dicom(data, path.name)
        forget_bulk(dataset)
        _check_grey(dataset, path.name)
        modality = _check_modality(dataset, path.name)
        _check_samples(dataset, path.name)
        stored, remarks = stored_values(dataset, path.name)
        scale, findings = header_scale(dataset)
        table, doubts = (None, []) if is_colour(dataset) else display_or_doubt(dataset, stored)
        facts = replace(
            _facts(dataset, modality, lossy=syntax not in LOSSLESS),
            photometric=polarity(dataset, stored, table),
        )
        digest, rule = bind(dataset, stored, syntax)
    extra = [SECONDARY] if _is_secondary(dataset, modality) else []
    if facts.modality == "PX":
        extra.append(PANORAMIC)
    return Radiograph(
        stored=frozen(stored),
        name=path.name,
        path=path,
        facts=facts,
        scale=scale,
        pixel_sha256=digest,
        hash_rule=rule,
        findings=(*extra, *remarks, *findings, *doubts),
        display_table=table,
    )


def _check_grey(dataset: Any, name: str) -> None:
    """Refuse what is not one grey image of a bearable declared size."""
    if "PixelData" not in dataset:
        raise _refused(f"{name} is not one grey image (no pixels)", ONE_GREY, "dicom-no-pixels")
    samples, frames = _count(dataset, "SamplesPerPixel"), _count(dataset, "NumberOfFrames")
    grey = samples == 1 or is_colour(dataset)
    if not grey or frames != 1:
        remedy = "export it in grey, or as PNG" if frames == 1 else "export it as one image a file"
        raise _refused(
            f"{name} is not one grey image (samples {samples}, frames {frames})",
            f"{ONE_GREY}; {remedy}",
            "dicom-not-grey",
        )
    if samples == 1 and dataset.get("PhotometricInterpretation") not in ("MONOCHROME1", "MONOCHROME2"):
        said = _safe(dataset, "PhotometricInterpretation")
        raise _refused(
            f"{name} is not one grey image (photometric interpretation {said})",
            "MONOCHROME1 or MONOCHROME2",
            "dicom-not-grey",
        )
    rows, columns = dataset.get("Rows"), dataset.get("Columns")
    if not (isinstance(rows, int) and isinstance(columns, int)):
        raise _refused(f"{name} does not state its rows and columns", "a complete header", "dicom-no-size")
    if max(rows, columns) >= MAX_DICOM_SIDE:
        raise _refused(
            f"{name} declares {rows} x {columns} pixels",
            f"less than {MAX_DICOM_SIDE} on a side",
            "image-size",
        )
    check_size(rows, columns, subject=name)


def _check_modality(dataset: Any, name: str) -> str:
    modality = _safe(dataset, "Modality")
    if modality in MODALITIES or (modality == "OT" and _is_secondary(dataset, modality)):
        return modality
    raise _refused(
        f"{name} has the modality {modality}",
        "IO, DX, CR, PX, or SC with a finding",
        "dicom-modality",
    )


def _is_secondary(dataset: Any, modality: str) -> bool:
    kind = str(dataset.get("SOPClassUID", ""))
    return modality == "SC" or kind == _SECONDARY_CAPTURE or kind.startswith(_SECONDARY_CAPTURE + ".")


def _check_samples(dataset: Any, name: str) -> None:
    bits, allocated = _count(dataset, "BitsStored"), _count(dataset, "BitsAllocated")
    signed = bool(dataset.get("PixelRepresentation", 0))
    if signed or allocated not in (8, 16) or not 6 <= bits <= allocated:
        raise _refused(
            f"{name} holds {'signed ' * signed}values of {bits} bits in {allocated}",
            "unsigned, 6 to 16 bits in 8 or 16",
            "image-samples",
        )
    if "HighBit" in dataset and _count(dataset, "HighBit") != bits - 1:
        raise _refused(
            f"{name} keeps {bits} bits below bit {_count(dataset, 'HighBit')}",
            f"the lowest bits, with a high bit of {bits - 1}",
            "image-samples",
        )


def _count(dataset: Any, keyword: str) -> int:
    value = dataset.get(keyword)
    try:
        return int(value) if value is not None else 1
    except (TypeError, ValueError):
        return 0


def _safe(dataset: Any, keyword: str) -> str:
    """Return a code string that may be shown: no free text of a header reaches a message."""
    value = str(dataset.get(keyword, "") or "").strip().upper()
    return value if _CODE_STRING.fullmatch(value) else "none" if not value else "unknown"


def _facts(dataset: Any, modality: str, *, lossy: bool) -> FileFacts:
    orientation = dataset.get("PatientOrientation")
    pair = tuple(str(part) for part in orientation) if orientation and len(orientation) == 2 else ()
    known = len(pair) == 2 and all(re.fullmatch(r"[LRAPHF]{1,3}", part) for part in pair)
    laterality = str(dataset.get("ImageLaterality", "") or dataset.get("Laterality", "") or "")
    return FileFacts(
        format="dicom",
        modality="PX" if _safe(dataset, "PositionerType") == "PANORAMIC" else modality,
        bits=int(dataset.BitsStored),
        lossy=lossy or str(dataset.get("LossyImageCompression", "")) == "01",
        tooth_codes=_teeth(dataset),
        image_laterality=laterality if laterality in ("R", "L", "B") else None,
        patient_orientation=(pair[0], pair[1]) if known else None,
    )


def _teeth(dataset: Any) -> tuple[str, ...]:
    """Return ISO 3950 numbers of the anatomic structure codes (CID 4018 and 4019)."""
    from radlength.imaging.dicom_teeth import iso_by_code

    codes = (str(item.get("CodeValue", "")) for item in dataset.get("PrimaryAnatomicStructureSequence") or ())
    return tuple(iso for code in codes if (iso := iso_by_code().get(code)) is not None)


def _refused(wrong: str, allowed: str, code: str) -> ImageError:
    return ImageError(wrong, allowed, code=code)
