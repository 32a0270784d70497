"""DICOM: one grey image of the radiographic modalities."""

from __future__ import annotations

import hashlib
import io
import warnings
import zlib
from pathlib import Path
from typing import Any

import numpy as np

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.dicom_display import display_table
from radlength.imaging.dicom_spacing import header_scale
from radlength.imaging.limits import MAX_FILE_BYTES, check_size
from radlength.imaging.radiograph import FileFacts, Grey, Radiograph, frozen, pixel_hash

MODALITIES = ("IO", "DX", "CR", "PX", "SC", "OT")
MAX_DICOM_SIDE = 10_000
_DEFLATED = b"1.2.840.10008.1.2.1.99"
_LOSSLESS = frozenset(
    {
        "1.2.840.10008.1.2",
        "1.2.840.10008.1.2.1",
        "1.2.840.10008.1.2.1.99",
        "1.2.840.10008.1.2.2",
        "1.2.840.10008.1.2.5",
        "1.2.840.10008.1.2.4.57",
        "1.2.840.10008.1.2.4.70",
        "1.2.840.10008.1.2.4.80",
        "1.2.840.10008.1.2.4.90",
        "1.2.840.10008.1.2.4.201",
    }
)

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
    import pydicom

    _check_inflated_size(data, path.name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        dataset = pydicom.dcmread(io.BytesIO(data), force=True)
        modality = _check(dataset, path.name)
        syntax = _transfer_syntax(dataset)
        stored = _pixels(dataset, path.name)
        scale, findings = header_scale(dataset)
        table = display_table(dataset, stored)
        facts = _facts(dataset, modality, syntax in _LOSSLESS)
        digest, rule = (
            (pixel_hash(stored), "stored-samples")
            if syntax in _LOSSLESS
            else (_frame_hash(dataset), "encoded-frame")
        )
    extra = {"SC": [SECONDARY], "OT": [SECONDARY], "PX": [PANORAMIC]}.get(modality, [])
    return Radiograph(
        stored=frozen(stored),
        name=path.name,
        path=path,
        facts=facts,
        scale=scale,
        pixel_sha256=digest,
        hash_rule=rule,  # type: ignore[arg-type]
        findings=(*extra, *findings),
        display_table=table,
    )


def _check_inflated_size(data: bytes, name: str) -> None:
    """Refuse a deflated data set that would fill the memory, before anything inflates it whole."""
    if data[128:132] != b"DICM" or _DEFLATED not in data[132:4096]:
        return
    start = 144 + int.from_bytes(data[140:144], "little")
    inflater = zlib.decompressobj(-zlib.MAX_WBITS)
    total, pending = 0, data[start:]
    while pending and not inflater.eof:
        total += len(inflater.decompress(pending, 1 << 24))
        pending = inflater.unconsumed_tail
        if total > MAX_FILE_BYTES // 4:
            raise ImageError(
                "inflates to more than 250 MB",
                "one periapical image",
                code="image-size",
                subject=name,
            )


def _check(dataset: Any, name: str) -> str:
    """Refuse what is not one grey image of a known modality; return the modality."""
    modality = str(dataset.get("Modality", "") or "").upper()
    if "PixelData" not in dataset:
        raise _refused(name, "has no pixels", "a DICOM image", "dicom-no-pixels")
    rows, columns = dataset.get("Rows"), dataset.get("Columns")
    if not (isinstance(rows, int) and isinstance(columns, int)):
        raise _refused(name, "does not state its rows and columns", "a complete header", "dicom-no-size")
    samples, frames = _count(dataset, "SamplesPerPixel"), _count(dataset, "NumberOfFrames")
    photometric = str(dataset.get("PhotometricInterpretation", ""))
    if samples != 1 or frames != 1 or photometric not in ("MONOCHROME1", "MONOCHROME2"):
        raise _refused(
            name,
            f"is not one grey image (samples {samples}, frames {frames})",
            "MONOCHROME1 or MONOCHROME2",
            "dicom-not-grey",
        )
    if max(rows, columns) > MAX_DICOM_SIDE:
        raise _refused(
            name, f"declares {rows} x {columns} pixels", f"at most {MAX_DICOM_SIDE} on a side", "image-size"
        )
    check_size(rows, columns, subject=name)
    if modality not in MODALITIES:
        raise _refused(
            name,
            f"has the modality {modality or 'none'}",
            "IO, DX, CR, PX, or SC with a finding",
            "dicom-modality",
        )
    bits, allocated = _count(dataset, "BitsStored"), _count(dataset, "BitsAllocated")
    if (
        not (6 <= bits <= allocated <= 16)
        or allocated not in (8, 16)
        or dataset.get("PixelRepresentation", 0)
    ):
        signed = "signed " * bool(dataset.get("PixelRepresentation", 0))
        raise _refused(
            name,
            f"holds {signed}values of {bits} bits in {allocated}",
            "unsigned, 6 to 16 bits in 8 or 16",
            "image-samples",
        )
    return modality


def _count(dataset: Any, keyword: str) -> int:
    value = dataset.get(keyword)
    try:
        return int(value) if value is not None else 1
    except (TypeError, ValueError):
        return 0


def _transfer_syntax(dataset: Any) -> str:
    return str(getattr(dataset, "file_meta", {}).get("TransferSyntaxUID", "") or "1.2.840.10008.1.2")


def _pixels(dataset: Any, name: str) -> Grey:
    from pydicom.uid import UID

    if "TransferSyntaxUID" not in dataset.file_meta:
        dataset.file_meta.TransferSyntaxUID = UID("1.2.840.10008.1.2")
    try:
        pixels = dataset.pixel_array
    except Exception as exc:
        syntax = UID(_transfer_syntax(dataset))
        if syntax.is_compressed and "missing dependencies" in str(exc):
            raise ImageError(
                f"is stored as {syntax.name}",
                "",
                "install radlength[dicom] to read it",
                code="dicom-decoder",
                subject=name,
            ) from exc
        raise
    if pixels.shape != (dataset.Rows, dataset.Columns):
        raise _refused(name, f"holds an array of shape {pixels.shape}", "its rows x columns", "image-damaged")
    kind = np.uint8 if dataset.BitsAllocated == 8 else np.uint16
    mask = (1 << int(dataset.BitsStored)) - 1
    return np.asarray(pixels.astype(kind) & kind(mask))


def _frame_hash(dataset: Any) -> str:
    from pydicom.encaps import get_frame

    digest = hashlib.sha256(f"{dataset.Rows}x{dataset.Columns}:dicom:".encode())
    digest.update(get_frame(dataset.PixelData, 0, number_of_frames=1))
    return digest.hexdigest()


def _facts(dataset: Any, modality: str, lossless: bool) -> FileFacts:
    orientation = dataset.get("PatientOrientation")
    pair = tuple(str(part) for part in orientation) if orientation and len(orientation) == 2 else None
    laterality = str(dataset.get("ImageLaterality", "") or dataset.get("Laterality", "") or "") or None
    return FileFacts(
        format="dicom",
        modality=modality,
        bits=int(dataset.BitsStored),
        photometric=dataset.PhotometricInterpretation,
        lossy=not lossless or str(dataset.get("LossyImageCompression", "")) == "01",
        tooth_codes=_teeth(dataset),
        image_laterality=laterality if laterality in ("R", "L", "B") else None,
        patient_orientation=pair,  # type: ignore[arg-type]
    )


def _teeth(dataset: Any) -> tuple[str, ...]:
    """Return ISO 3950 numbers of the anatomic structure codes (CID 4018 and 4019)."""
    from radlength.imaging.dicom_teeth import iso_by_code

    codes = (str(item.get("CodeValue", "")) for item in dataset.get("PrimaryAnatomicStructureSequence") or ())
    return tuple(iso for code in codes if (iso := iso_by_code().get(code)) is not None)


def _refused(name: str, wrong: str, allowed: str, code: str) -> ImageError:
    return ImageError(wrong, allowed, code=code, subject=name)
