"""Measurements of any structured report as a plain list, and how far another viewer's length would be from ours."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.clean import clean
from radlength.dicom import codes as c
from radlength.dicom.errors import DicomError
from radlength.dicom.source import damaged, quietly, read_any
from radlength.dicom.tree import below, code_of, everything, first, name_of, text_of, value_of
from radlength.errors import RadlengthError

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

_ARMS = (c.BELOW, c.ABOVE, c.AROUND)
"""Uncertainties of a measurement (TID 310, CID 225)."""


@dataclass(frozen=True, slots=True)
class Stated:
    """One number of a report.

    Parameters
    ----------
    group
        What it belongs to: the tracking identifier nearest above, or the names above.
    site
        Where: the meaning of the finding site, or nothing.
    name, value, unit
        What is stated.
    graphic
        Type of the graphic it was measured from, or nothing.
    points
        How many points that has.
    low, high
        Ends of the range of uncertainty (TID 310) in the same unit, or ``None`` where the report gives none.
    """

    group: str
    site: str
    name: str
    value: float
    unit: str
    graphic: str
    points: int
    low: float | None = None
    high: float | None = None


def list_measurements(path: Path) -> tuple[Stated, ...]:
    """Return every number of a structured report, in the order of its tree.

    Raises
    ------
    DicomError
        Not a structured report, or one that cannot be taken apart.
    """
    dataset = read_any(path)
    if "ContentSequence" not in dataset:
        raise DicomError(
            "not a structured report",
            "a DICOM file with a content tree",
            code="sr-none",
            subject=path.name,
        )
    try:
        with quietly():
            return measurements_of(dataset)
    except RadlengthError:
        raise
    except Exception as exc:
        raise damaged(path.name) from exc


def measurements_of(dataset: Dataset) -> tuple[Stated, ...]:
    """Return every number of a content tree that has a value, properties of another number left out."""
    return tuple(
        _stated(above, item, value)
        for above, item in everything(dataset)
        if item.get("ValueType") == "NUM"
        and not (above and above[-1].get("ValueType") == "NUM")
        and (value := value_of(item)) is not None
    )


def _stated(above: tuple[Dataset, ...], item: Dataset, value: tuple[float, str]) -> Stated:
    kind, points = _graphic(item, above)
    low, high = _range(item, *value)
    return Stated(
        group=clean(_group(above), 80),
        site=clean(_site((*above, item)), 80),
        name=clean(name_of(item), 80),
        value=value[0],
        unit=clean(value[1], 20),
        graphic=clean(kind, 20),
        points=points,
        low=low,
        high=high,
    )


def _range(item: Dataset, value: float, unit: str) -> tuple[float | None, float | None]:
    """Return the ends of the range of uncertainty; one in another unit than the number says nothing about it."""
    parts = [
        value_of(one) if one is not None else None for one in (first(item, code, "NUM") for code in _ARMS)
    ]
    below, above, around = (part[0] if part and part[1] == unit else None for part in parts)
    lower, upper = below if below is not None else around, above if above is not None else around
    return (None if lower is None else value - abs(lower), None if upper is None else value + abs(upper))


def _group(above: tuple[Dataset, ...]) -> str:
    for item in reversed(above):
        words = text_of(first(item, c.TRACKING, "TEXT"))
        if words:
            return words
    return name_of(above[-1]) if above else ""


def _site(chain: tuple[Dataset, ...]) -> str:
    for item in reversed(chain):
        code = code_of(first(item, c.FINDING_SITE, "CODE"))
        if code is not None:
            return str(code.get("CodeMeaning", ""))
    return ""


def _graphic(item: Dataset, above: tuple[Dataset, ...]) -> tuple[str, int]:
    places = [item, *(above[-1:])]
    for place in places:
        for child in below(place):
            if child.get("ValueType") in ("SCOORD", "SCOORD3D"):
                count = len(child.get("GraphicData") or ()) // (3 if child.ValueType == "SCOORD3D" else 2)
                return str(child.get("GraphicType", "")), count
    return "", 0
