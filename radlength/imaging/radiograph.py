"""One radiograph: its stored grey values, and what the file says about them. Knows no file format."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.errors import ImageError
from radlength.finding import Finding
from radlength.imaging.pitch import refuse_pitch

Grey = NDArray[np.uint8] | NDArray[np.uint16]
Meaning = Literal["fiducial", "geometry", "detector", "undetermined", "none"]
"""What a header scale speaks of; see :class:`HeaderScale`."""

HashRule = Literal["stored-samples", "encoded-frame"]
"""``stored-samples`` for lossless data, ``encoded-frame`` for lossy data, whose decoders may differ."""


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What a file says about itself, nothing that could identify a person.

    Parameters
    ----------
    format
        ``"png"``, ``"jpeg"``, ``"tiff"``, ``"dicom"`` or ``"array"``.
    modality
        DICOM modality, else ``None``.
    bits
        Bits stored for each sample.
    photometric
        ``"MONOCHROME1"`` where low values are bright, else ``"MONOCHROME2"``.
    lossy
        Whether the file was compressed with loss.
    orientation
        EXIF or TIFF orientation 1 to 8 that was undone.
    was_colour
        Whether the file was a colour picture that was made grey.
    tooth_codes
        ISO 3950 numbers of the Primary Anatomic Structure Sequence.
    image_laterality
        ``"R"``, ``"L"``, ``"B"`` or ``None``.
    patient_orientation
        Directions of increasing column and increasing row, or ``None``.
    """

    format: str = "array"
    modality: str | None = None
    bits: int = 16
    photometric: Literal["MONOCHROME1", "MONOCHROME2"] = "MONOCHROME2"
    lossy: bool = False
    orientation: int = 1
    was_colour: bool = False
    tooth_codes: tuple[str, ...] = ()
    image_laterality: str | None = None
    patient_orientation: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class HeaderScale:
    """Size of a pixel as a header states it, and how far to believe it.

    Parameters
    ----------
    row_mm, column_mm
        Size of a pixel down and across in millimetres, or ``None``. With the meaning ``"none"`` only their
        proportion counts.
    meaning
        ``"fiducial"``: calibrated by an object in the image. ``"geometry"``: corrected for an assumed
        magnification. ``"detector"``: at the detector, lengths read long by the magnification.
        ``"undetermined"``: not said which. ``"none"``: no scale.
    magnification
        Magnification the header estimates, a hint only.
    words
        One sentence.
    stated
        A person stated it: no header says so.
    """

    row_mm: float | None = None
    column_mm: float | None = None
    meaning: Meaning = "none"
    magnification: float | None = None
    words: str = "The file states no size of a pixel."
    stated: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Radiograph:
    """One grey image, upright.

    Parameters
    ----------
    stored
        Stored grey values, shape (rows, columns), uint8 or uint16, read-only. Measurement uses these.
    name
        Full file name.
    path
        Where it was read from, or ``None``.
    facts, scale
        What the file says about itself and about its scale.
    pixel_sha256, hash_rule
        Binds marks to these pixels.
    findings
        Doubts about the file.
    display_table
        Grey for the eye of every stored value, 0..1; ``None`` stretches the image's own range.
    """

    stored: Grey
    name: str
    path: Path | None = None
    facts: FileFacts = field(default_factory=FileFacts)
    scale: HeaderScale = field(default_factory=HeaderScale)
    pixel_sha256: str = ""
    hash_rule: HashRule = "stored-samples"
    findings: tuple[Finding, ...] = ()
    display_table: NDArray[np.float32] | None = None

    def __repr__(self) -> str:
        """Return name, size and scale; nothing else of the file."""
        rows, columns = self.shape
        return (
            f"Radiograph({self.name!r}, {rows} x {columns}, {self.facts.format}, {self.scale.meaning} scale)"
        )

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, columns)."""
        return self.stored.shape[0], self.stored.shape[1]

    @property
    def measurable(self) -> bool:
        """False for a panoramic image, whose magnification differs from place to place."""
        return self.facts.modality != "PX"

    def display(self) -> NDArray[np.float32]:
        """Return grey for the eye, shape (rows, columns), 0..1, bright where radiopaque. Never measure on it."""
        if self.display_table is not None:
            return np.asarray(self.display_table[self.stored], dtype=np.float32)
        low, high = int(self.stored.min()), int(self.stored.max())
        shown = (self.stored.astype(np.float32) - low) / np.float32(max(high - low, 1))
        return np.asarray(1 - shown if self.facts.photometric == "MONOCHROME1" else shown, dtype=np.float32)

    def with_stated_pitch(self, row_mm: float, column_mm: float) -> Radiograph:
        """Return the radiograph with a detector pitch that the user states, in millimetres.

        Raises
        ------
        ImageError
            A pitch that no intra-oral detector has, or one beside a scale that the header already gives.
        """
        refuse_pitch(row_mm, column_mm, refusal=ImageError, subject=self.name)
        if self.scale.meaning != "none":
            raise ImageError(
                "the header already states a pixel spacing",
                "a stated pitch only where the file has none",
                code="pitch-twice",
                subject=self.name,
            )
        words = "Pixel pitch at the detector, stated by the user."
        return replace(self, scale=HeaderScale(row_mm, column_mm, "detector", None, words, stated=True))

    @classmethod
    def from_array(
        cls,
        stored: Grey,
        *,
        name: str = "array.tif",
        row_mm: float | None = None,
        column_mm: float | None = None,
        meaning: Meaning = "detector",
    ) -> Radiograph:
        """Return a radiograph of an array in memory.

        Parameters
        ----------
        stored
            Shape (rows, columns), uint8 or uint16.
        name
            File name it goes by.
        row_mm, column_mm
            Size of a pixel in millimetres; without it there is no scale.
        meaning
            What that size speaks of.

        Raises
        ------
        ImageError
            Not one grey image, or one side of a pixel without the other, or a side that is not positive.
        """
        if stored.ndim != 2 or stored.dtype not in (np.uint8, np.uint16) or stored.size == 0:
            raise ImageError(
                f"an array of {stored.dtype} with shape {stored.shape}",
                "one grey image (rows, columns) of uint8 or uint16",
                code="array-not-grey",
                subject=name,
            )
        return cls(
            stored=frozen(stored.copy()),
            name=name,
            facts=FileFacts(bits=8 * stored.dtype.itemsize),
            scale=_stated(row_mm, column_mm, meaning, name),
            pixel_sha256=pixel_hash(stored),
        )


def _stated(row_mm: float | None, column_mm: float | None, meaning: Meaning, name: str) -> HeaderScale:
    if (row_mm is None and column_mm is None) or meaning == "none":
        return HeaderScale()
    if row_mm is None or column_mm is None or not (0 < row_mm < math.inf and 0 < column_mm < math.inf):
        raise ImageError(
            f"a pixel of {row_mm} x {column_mm} mm",
            "both sides, each more than 0",
            "leave both out where the size is not known",
            code="pitch-out-of-range",
            subject=name,
        )
    return HeaderScale(row_mm, column_mm, meaning, None, "Stated by the caller.")


def frozen(stored: Grey) -> Grey:
    """Return the array contiguous and read-only."""
    kept: Grey = stored if stored.flags.c_contiguous else stored.copy()
    kept.flags.writeable = False
    return kept


def pixel_hash(stored: Grey) -> str:
    """Return the SHA-256 of the stored samples.

    Over ``rows x columns:u2:`` and the samples as little-endian 16 bit, so that it is the same for any lossless
    file, bit depth and byte order that hold the same values.

    Examples
    --------
    >>> small = np.zeros((2, 3), np.uint8)
    >>> pixel_hash(small) == pixel_hash(small.astype(np.uint16))
    True
    """
    rows, columns = stored.shape
    digest = hashlib.sha256(f"{rows}x{columns}:u2:".encode())
    digest.update(np.ascontiguousarray(stored, dtype="<u2").data)
    return digest.hexdigest()
