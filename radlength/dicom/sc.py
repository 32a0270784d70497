"""A Secondary Capture: the annotated picture burned in, for viewers that know neither reports nor presentations.

It has no Pixel Spacing: nobody shall measure on it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from radlength.dicom.canals import Marked
from radlength.dicom.common import new_document, source_reference
from radlength.dicom.errors import DicomError
from radlength.dicom.pr import laterality
from radlength.dicom.stamp import SOP_CLASSES, Stamp
from radlength.dicom.words import short_text
from radlength.report.picture import annotated_picture
from radlength.report.words import status_words

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

WORDS = (
    "Annotated picture of root canal lengths: do not measure on it. Grey values are not those of the image."
)


def build_sc(marked: Marked, stamp: Stamp) -> Dataset:
    """Return the annotated picture as a data set; a canal without a scale is named in it and not drawn.

    Raises
    ------
    DicomError
        No canal has a scale.
    """
    measured = [canal.estimate for canal in marked.canals if canal.estimate is not None]
    unmeasured = [canal.label for canal in marked.canals if canal.estimate is None]
    if not measured:
        raise DicomError(
            "no canal has a scale: a picture of their lengths would be empty",
            "a canal with an instrument of known length",
            "mark one, or leave the picture out",
            code="sc-no-scale",
            subject=marked.source.path.name,
        )
    missing = f" · no scale, not drawn: {', '.join(unmeasured)}" if unmeasured else ""
    picture = annotated_picture(marked.radiograph, measured, status=status_words(marked.record) + missing)
    made = new_document(
        marked.source, stamp, "sc", sop_class=SOP_CLASSES["sc"], description="Root canal lengths, picture"
    )
    made.ImageType = ["DERIVED", "SECONDARY"]
    made.Modality = "OT"
    made.ConversionType = "WSD"
    made.Laterality = laterality(marked.source.header)
    made.ContentDate = made.ContentTime = ""
    made.PatientOrientation = ""
    made.BurnedInAnnotation = "YES"
    made.DerivationDescription = short_text(WORDS)
    made.SourceImageSequence = [source_reference(marked.source)]
    made.SamplesPerPixel, made.PlanarConfiguration = 3, 0
    made.PhotometricInterpretation = "RGB"
    made.Rows, made.Columns = picture.shape[:2]
    made.BitsAllocated, made.BitsStored, made.HighBit, made.PixelRepresentation = 8, 8, 7, 0
    data = np.ascontiguousarray(picture, dtype=np.uint8).tobytes()
    made.add_new("PixelData", "OB", data + b"\0" * (len(data) % 2))
    return made
