"""A calibrated copy of the image: the same pixels, and a Pixel Spacing from the reference in it. The original stays.

Source: PS3.3 10.7.1.2, FIDUCIAL: calibrated against an object of known size that is visible in the image, valid at
its depth. Imager Pixel Spacing stays what it is: it "shall never be adjusted" (C.8.11.4).
"""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING

from radlength.dicom.canals import Marked
from radlength.dicom.codes import PROCESSING
from radlength.dicom.common import source_reference
from radlength.dicom.errors import DicomError
from radlength.dicom.source import IDENTITY
from radlength.dicom.sr_items import code_item
from radlength.dicom.stamp import MAKER, SERIES_NUMBERS, Stamp
from radlength.dicom.words import long_string, short_text
from radlength.scale import Reference, image_scale

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

WORDS = "Pixels unchanged. Pixel Spacing calibrated by an object of known length; it holds at the depth of that object."


def build_derived(marked: Marked, stamp: Stamp, reference: str | None = None) -> Dataset:
    """Return the calibrated copy.

    Parameters
    ----------
    marked, stamp
        The image with its marks, and the UIDs of the copy.
    reference
        Name of the reference; may be left out where there is only one.

    Raises
    ------
    DicomError
        No reference, or several and none chosen.
    """
    chosen = _chosen(marked, reference)
    spacing, _ = image_scale(chosen, marked.radiograph, canal_name=chosen.canal or "")
    made = copy.deepcopy(marked.source.dataset)
    made.remove_private_tags()
    kinds = [str(part) for part in made.get("ImageType") or []]
    made.ImageType = ["DERIVED", *(kinds[1:] or ["PRIMARY"])]
    if "PixelAspectRatio" in made:
        del made.PixelAspectRatio  # type 1C: not beside a spacing (PS3.3 C.7.6.3)
    for keyword in IDENTITY:
        if keyword not in made:
            setattr(made, keyword, "")
    made.PixelSpacing = [f"{side:.8g}" for side in spacing]
    made.PixelSpacingCalibrationType = "FIDUCIAL"
    made.PixelSpacingCalibrationDescription = _description(chosen, made)
    made.DerivationDescription = short_text(WORDS)
    made.SourceImageSequence = [source_reference(marked.source)]
    made.SeriesNumber = SERIES_NUMBERS["derived"]
    made.SeriesDescription = long_string("Calibrated copy")
    made.ContributingEquipmentSequence = [_equipment()]
    made.SOPInstanceUID, made.SeriesInstanceUID = stamp.sop_instance, stamp.series_instance
    return made


def _chosen(marked: Marked, name: str | None) -> Reference:
    known = marked.record.references
    found = [one for one in known if name in (None, one.name)]
    if len(found) == 1:
        return found[0]
    names = ", ".join(one.name for one in known)
    wrong = "several objects of known length"
    if not found:
        missing = "no object of known length"
        wrong = (
            f"{missing} is called {name!r}" if name is not None and known else f"{missing} to calibrate by"
        )
    raise DicomError(
        wrong,
        f"one of: {names}" if known else "an instrument of known length in the image",
        "choose one with --reference" if known else "mark one: radlength mark --help",
        code="derived-reference",
        subject=marked.source.path.name,
    )


def _description(chosen: Reference, made: Dataset) -> str:
    """Return how it was calibrated; the name only where every character set has its signs, or this file's."""
    words = f"{chosen.length_mm:g} mm +-{chosen.limit_mm:g} {chosen.placement.replace('_', ' ')}"
    writable = chosen.name.isascii() or made.get("SpecificCharacterSet") == "ISO_IR 192"
    return long_string(f"{words}: {chosen.name}" if writable else words)


def _equipment() -> Dataset:
    """Return radlength as contributing equipment: the image's own equipment stays named as its maker."""
    from pydicom.dataset import Dataset

    item = Dataset()
    item.Manufacturer = MAKER
    item.ManufacturerModelName = "radlength"
    item.PurposeOfReferenceCodeSequence = [code_item(PROCESSING)]
    return item
