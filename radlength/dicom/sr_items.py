"""Content items of a structured report, and the measurements its groups are put together from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from radlength.dicom.codes import (
    ABOVE,
    AROUND,
    BELOW,
    CANALS,
    FINDING_SITE,
    MILLIMETRE,
    MODIFIER,
    SELECTED,
    SOURCE,
    STANDARD_U,
    Triple,
)
from radlength.dicom.coordinates import to_dicom
from radlength.dicom.teeth import tooth_code
from radlength.dicom.words import person_name, short_text

if TYPE_CHECKING:
    from numpy.typing import ArrayLike
    from pydicom.dataset import Dataset

    from radlength.quantity import Quantity

DIGITS = 11
"""Significant digits of a number in a report."""


def code_item(code: Triple) -> Dataset:
    """Return a code as a sequence item (PS3.3 8.8)."""
    from pydicom.dataset import Dataset

    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = code
    return item


def _item(kind: str, code: Triple, relation: str, below: Sequence[Dataset] = ()) -> Dataset:
    from pydicom.dataset import Dataset

    item = Dataset()
    item.RelationshipType = relation
    item.ValueType = kind
    item.ConceptNameCodeSequence = [code_item(code)]
    if below:
        item.ContentSequence = list(below)
    return item


def number(
    code: Triple, value: float, unit: Triple, relation: str = "HAS PROPERTIES", below: Sequence[Dataset] = ()
) -> Dataset:
    """Return a NUM item: the value as decimal string, and beside it as a float (Floating Point Value).

    Both keep :data:`DIGITS`: the last ones of a computed number differ between machines, and a report must not.
    """
    from pydicom.dataset import Dataset
    from pydicom.valuerep import format_number_as_ds

    item, measured = _item("NUM", code, relation, below), Dataset()
    rounded = float(f"{value:.{DIGITS}g}")
    measured.NumericValue = format_number_as_ds(rounded)
    measured.FloatingPointValue = rounded
    measured.MeasurementUnitsCodeSequence = [code_item(unit)]
    item.MeasuredValueSequence = [measured]
    return item


def text(code: Triple, words: str, relation: str = "CONTAINS") -> Dataset:
    """Return a TEXT item."""
    item = _item("TEXT", code, relation)
    item.TextValue = short_text(words)
    return item


def coded(code: Triple, value: Triple, relation: str = "CONTAINS", below: Sequence[Dataset] = ()) -> Dataset:
    """Return a CODE item."""
    item = _item("CODE", code, relation, below)
    item.ConceptCodeSequence = [code_item(value)]
    return item


def uid(code: Triple, value: str, relation: str = "HAS OBS CONTEXT") -> Dataset:
    """Return a UIDREF item."""
    item = _item("UIDREF", code, relation)
    item.UID = value
    return item


def person(code: Triple, name: str) -> Dataset:
    """Return a PNAME item."""
    item = _item("PNAME", code, "HAS OBS CONTEXT")
    item.PersonName = person_name(name)
    return item


def container(code: Triple, below: Sequence[Dataset], *, template: str = "") -> Dataset:
    """Return a CONTAINER item, its content separate."""
    from pydicom.dataset import Dataset

    item = _item("CONTAINER", code, "CONTAINS", below)
    item.ContinuityOfContent = "SEPARATE"
    if template:
        named = Dataset()
        named.MappingResource, named.TemplateIdentifier = "DCMR", template
        item.ContentTemplateSequence = [named]
    return item


def image(code: Triple, header: Dataset, relation: str, below: Sequence[Dataset] = ()) -> Dataset:
    """Return an IMAGE item that refers to the image."""
    item = _item("IMAGE", code, relation, below)
    item.ReferencedSOPSequence = [reference(header)]
    return item


def reference(header: Dataset) -> Dataset:
    """Return a reference to an image by its class and its UID."""
    from pydicom.dataset import Dataset

    item = Dataset()
    item.ReferencedSOPClassUID, item.ReferencedSOPInstanceUID = header.SOPClassUID, header.SOPInstanceUID
    return item


def measurement(
    code: Triple,
    value: float,
    unit: Triple,
    *,
    properties: Sequence[Dataset] = (),
    path: Dataset | None = None,
) -> Dataset:
    """Return a measurement (TID 300), its uncertainty (TID 310) and its coordinates (TID 320) below it."""
    return number(code, value, unit, "CONTAINS", [*properties, *([path] if path is not None else [])])


def length(code: Triple, quantity: Quantity, path: Dataset | None = None) -> Dataset:
    """Return a length in millimetres with both arms of its 95 % interval and its standard uncertainty."""
    return measurement(
        code,
        quantity.value_mm,
        MILLIMETRE,
        properties=(
            number(ABOVE, quantity.upper_arm, MILLIMETRE),
            number(BELOW, quantity.lower_arm, MILLIMETRE),
            number(STANDARD_U, quantity.u_mm, MILLIMETRE),
        ),
        path=path,
    )


def known_length(code: Triple, length_mm: float, limit_mm: float, path: Dataset) -> Dataset:
    """Return a known length with the half-width of its limits."""
    limit = number(AROUND, limit_mm, MILLIMETRE)
    return measurement(code, length_mm, MILLIMETRE, properties=(limit,), path=path)


def polyline(path_px: ArrayLike, shape: tuple[int, int], header: Dataset) -> Dataset:
    """Return the clicked points as an open polyline on the image."""
    item = _item("SCOORD", SOURCE, "INFERRED FROM", [image(SELECTED, header, "SELECTED FROM")])
    item.GraphicType = "POLYLINE"
    item.GraphicData = to_dicom(path_px, shape).ravel().tolist()
    return item


def site(tooth: str, canal: str | None = None) -> Dataset:
    """Return the tooth, and the canal in it where its name is a usual one."""
    value, meaning = tooth_code(tooth)
    modifier = CANALS.get(canal) if canal else None
    below = [coded(MODIFIER, modifier, "HAS CONCEPT MOD")] if modifier else []
    return coded(FINDING_SITE, (value, "SCT", meaning), "HAS CONCEPT MOD", below)
