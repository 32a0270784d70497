"""A Grayscale Softcopy Presentation State: the image with the measured curves and their lengths, for any viewer.

Drawn is the measured curve, not the clicked points: what is seen is what was measured.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from radlength.dicom.allowed import plain_tables
from radlength.dicom.canals import Marked, MeasuredCanal
from radlength.dicom.common import new_document
from radlength.dicom.coordinates import to_dicom
from radlength.dicom.errors import DicomError
from radlength.dicom.sr_groups import canal_uid, reference_uid
from radlength.dicom.sr_items import reference as image_reference
from radlength.dicom.stamp import SOP_CLASSES, Stamp
from radlength.dicom.words import long_string, short_text
from radlength.geometry import fit_curve
from radlength.geometry.path import FloatArray
from radlength.imaging.dicom_colour import is_colour
from radlength.scale import Reference, image_scale
from radlength.trade.cautions import CAUTION_SHORT

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

    from radlength.quantity import Quantity

LAYER = "RADLENGTH"
REFERENCE_METHODS = ("in_canal", "beside")
"""Ways to a scale by an object of known length in the image itself."""

_RESCALE = ("RescaleIntercept", "RescaleSlope", "RescaleType")
_WINDOW = ("WindowCenter", "WindowWidth", "WindowCenterWidthExplanation")


def build_pr(marked: Marked, stamp: Stamp) -> Dataset:
    """Return the presentation state as a data set.

    Raises
    ------
    DicomError
        A path leaves the image, or the image is stored in colour.
    """
    header = marked.source.header
    if is_colour(header):
        raise DicomError(
            "the image is stored in colour, and a presentation state is of a grey one",
            "MONOCHROME1 or MONOCHROME2 (PS3.3 A.33.1)",
            "write the report and the picture",
            code="pr-colour",
            subject=marked.source.path.name,
        )
    made = new_document(
        marked.source, stamp, "pr", sop_class=SOP_CLASSES["pr"], description="Root canal lengths, drawn"
    )
    made.Modality = "PR"
    made.Laterality = laterality(header)
    made.ContentLabel = LAYER
    made.ContentDescription = long_string(f"Root canal lengths. {marked.record.status}")
    made.ContentCreatorName = ""
    made.PresentationCreationDate = made.PresentationCreationTime = ""
    made.ReferencedSeriesSequence = [_series(header)]
    made.DisplayedAreaSelectionSequence = [_displayed_area(marked)]
    made.GraphicAnnotationSequence = [_annotation(marked)]
    made.GraphicLayerSequence = [_layer()]
    _grey(made, header)
    return made


def laterality(header: Any) -> str:
    """Return the side for the series, R or L, or nothing (type 2C, PS3.3 C.7.3.1)."""
    side = str(header.get("ImageLaterality") or header.get("Laterality") or "")
    return side if side in ("R", "L") else ""


def presentation_spacing(marked: Marked) -> tuple[float, float] | None:
    """Return millimetres in the tooth for one pixel, (down, across), where one calibration holds for all canals.

    PS3.3 C.10.4: Presentation Pixel Spacing may differ from the spacing of the image, which is then ignored, since
    some form of calibration may have been performed, for example by an object of known size in the image. An image
    has one presentation: with several calibrations, or one from the header alone, there is none to state.
    """
    used = {one.entry.reference for one in marked.canals}
    methods = {one.estimate.method if one.estimate else "none" for one in marked.canals}
    if len(used) != 1 or not methods <= set(REFERENCE_METHODS):
        return None
    first = marked.canals[0].entry
    reference = marked.record.reference_of(first)
    return image_scale(reference, marked.radiograph, canal_name=first.canal.label)[0]


def _series(header: Dataset) -> Dataset:
    from pydicom.dataset import Dataset

    series = Dataset()
    series.SeriesInstanceUID = header.SeriesInstanceUID
    series.ReferencedImageSequence = [image_reference(header)]
    return series


def _displayed_area(marked: Marked) -> Dataset:
    """Return the whole image, counted from 1, with one spacing or the proportions alone (both type 1C, C.10.4)."""
    from pydicom.dataset import Dataset

    area, (rows, columns) = Dataset(), marked.source.shape
    area.DisplayedAreaTopLeftHandCorner = [1, 1]
    area.DisplayedAreaBottomRightHandCorner = [columns, rows]
    area.PresentationSizeMode = "SCALE TO FIT"
    spacing = presentation_spacing(marked)
    if spacing is not None:
        area.PresentationPixelSpacing = [f"{side:.8g}" for side in spacing]
        return area
    ratio = marked.frame.row / marked.frame.column
    area.PresentationPixelAspectRatio = [1, 1] if abs(ratio - 1) < 1e-6 else [round(ratio * 10_000), 10_000]
    return area


def _grey(made: Dataset, header: Dataset) -> None:
    """Copy how the image wants to be seen; a presentation state overrides its polarity (PS3.4 N.2.1.4)."""
    tables = plain_tables(header, "ModalityLUTSequence")
    if tables:
        made.ModalityLUTSequence = tables[:1]
    for keyword in _RESCALE if not tables else ():
        if keyword in header:
            made[keyword] = header[keyword]
    voi = _one_interest(header)
    if voi is not None:
        made.SoftcopyVOILUTSequence = [voi]
    shape = str(header.get("PresentationLUTShape", "")).upper()
    inverted = shape == "INVERSE" or str(header.get("PhotometricInterpretation")) == "MONOCHROME1"
    made.PresentationLUTShape = "INVERSE" if inverted else "IDENTITY"


def _one_interest(header: Dataset) -> Dataset | None:
    """Return the first table, else the first window, as the image is shown here: a presentation has one, no choice."""
    from pydicom.dataset import Dataset

    voi, tables = Dataset(), plain_tables(header, "VOILUTSequence")
    if tables:
        voi.VOILUTSequence = [_of_16_bits(tables[0])]
        return voi
    for keyword in _WINDOW:
        values = header.get(keyword)
        several = values is not None and not isinstance(values, float | int | str)
        first = next(iter(values), None) if several else values
        if first not in (None, ""):
            setattr(voi, keyword, first)
    if header.get("VOILUTFunction"):
        voi.VOILUTFunction = header.VOILUTFunction
    return voi if _shows(voi) else None


def _of_16_bits(table: Dataset) -> Dataset:
    """Return a table of 8 or 16 bits, as a presentation has it (PS3.3 C.11.8): its output is a share of full white."""
    entries, first, bits = table.LUTDescriptor
    if bits in (8, 16):
        return table
    values = np.frombuffer(table.LUTData, "<u2") * (65_535 / (2**bits - 1))
    table.LUTData = np.clip(np.rint(values), 0, 65_535).astype("<u2").tobytes()
    table.LUTDescriptor = [entries, first, 16]
    return table


def _shows(voi: Dataset) -> bool:
    """Tell whether a window shows anything: a width of 1 or more, or above 0 (PS3.3 C.11.2.1.2)."""
    if "WindowCenter" not in voi or "WindowWidth" not in voi:
        return False
    least = 1.0 if str(voi.get("VOILUTFunction") or "LINEAR") == "LINEAR" else 1e-9
    try:
        return float(voi.WindowWidth) >= least
    except (TypeError, ValueError):
        return False


def _layer() -> Dataset:
    from pydicom.dataset import Dataset

    layer = Dataset()
    layer.GraphicLayer, layer.GraphicLayerOrder = LAYER, 1
    layer.GraphicLayerDescription = "Root canals and their lengths"
    return layer


def _annotation(marked: Marked) -> Dataset:
    from pydicom.dataset import Dataset

    used = {one.entry.reference for one in marked.canals}
    annotation = Dataset()
    annotation.ReferencedImageSequence = [image_reference(marked.source.header)]
    annotation.GraphicLayer = LAYER
    annotation.TextObjectSequence = [*(_text(marked, one) for one in marked.canals), _caution(marked)]
    annotation.GraphicObjectSequence = [
        *(_line(marked, one.curve_px, one.label, canal_uid(one)) for one in marked.canals),
        *(
            _line(marked, _reference_curve(marked, one), one.name, reference_uid(marked, one))
            for one in marked.record.references
            if one.name in used
        ),
    ]
    return annotation


def _reference_curve(marked: Marked, reference: Reference) -> FloatArray:
    frame = marked.frame
    curve: FloatArray = fit_curve(frame.to_units(reference.path_px)).resample(33) / (frame.row, frame.column)
    return curve


def _line(marked: Marked, curve_px: FloatArray, name: str, uid: str) -> Dataset:
    from pydicom.dataset import Dataset

    rows, columns = marked.source.shape
    points = to_dicom(np.clip(curve_px, -0.5, (rows - 0.5, columns - 0.5)), marked.source.shape)
    line = Dataset()
    line.GraphicAnnotationUnits, line.GraphicDimensions = "PIXEL", 2
    line.NumberOfGraphicPoints = len(points)
    line.GraphicData = points.ravel().tolist()
    line.GraphicType, line.GraphicFilled = "POLYLINE", "N"
    line.TrackingID, line.TrackingUID = short_text(name), uid
    return line


def _text(marked: Marked, canal: MeasuredCanal) -> Dataset:
    """Return the lengths of a canal, anchored at its reference point."""
    from pydicom.dataset import Dataset

    words = Dataset()
    words.UnformattedTextValue = short_text(canal_words(canal))
    words.AnchorPointAnnotationUnits = "PIXEL"
    words.AnchorPoint = to_dicom(canal.entry.canal.path_px, marked.source.shape)[0].tolist()
    words.AnchorPointVisibility = "Y"
    words.TrackingID, words.TrackingUID = short_text(canal.label), canal_uid(canal)
    return words


def canal_words(canal: MeasuredCanal) -> str:
    """Return what stands beside a canal: its lengths with their intervals, or its length in pixels."""
    found = canal.estimate
    if found is None:
        length = f"{canal.length_px:.0f} pixels, " if canal.length_px is not None else ""
        return f"{canal.label}: {length}no scale"
    words = f"{canal.label}: canal length {_plainly(found.canal_length)}"
    if found.working_length is not None:
        words += f", working length {_plainly(found.working_length)}"
    if canal.decision is not None:
        ends = f" ({canal.decision.ends})" if canal.decision.ends else ""
        words += f", decided {canal.decision.value_mm:g} mm{ends}"
    return words


def _plainly(quantity: Quantity) -> str:
    """Return a length in signs that every viewer has."""
    return str(quantity).replace("–", " to ")


def _caution(marked: Marked) -> Dataset:
    """Return the caution along the lower edge of the display."""
    from pydicom.dataset import Dataset

    invented = "Invented data. " if marked.record.invented else ""
    words = Dataset()
    words.UnformattedTextValue = short_text(f"{invented}{marked.record.status}. {CAUTION_SHORT}")
    words.BoundingBoxAnnotationUnits = "DISPLAY"
    words.BoundingBoxTopLeftHandCorner, words.BoundingBoxBottomRightHandCorner = [0.01, 0.95], [0.99, 0.99]
    words.BoundingBoxTextHorizontalJustification = "LEFT"
    return words
