"""Walking through the content tree of any structured report, whoever wrote it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from radlength.dicom.codes import Triple, is_code

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

MOST_ITEMS = 20_000
DEEPEST = 40
"""Bounds of a tree that is read: beyond them it is no report of a few measurements."""


def below(item: Dataset, code: Triple | None = None, kind: str | None = None) -> Iterator[Dataset]:
    """Yield the items directly below, of one concept and one value type where given."""
    for child in item.get("ContentSequence") or ():
        named = code is None or any(
            is_code(name, code) for name in child.get("ConceptNameCodeSequence") or ()
        )
        if named and (kind is None or child.get("ValueType") == kind):
            yield child


def first(item: Dataset, code: Triple, kind: str | None = None) -> Dataset | None:
    """Return the first item directly below of one concept, or ``None``."""
    return next(below(item, code, kind), None)


def everything(root: Dataset) -> Iterator[tuple[tuple[Dataset, ...], Dataset]]:
    """Yield every item with those above it, the root first; stops at the bounds."""
    waiting: list[tuple[tuple[Dataset, ...], Dataset]] = [((), root)]
    for _ in range(MOST_ITEMS):
        if not waiting:
            return
        above, item = waiting.pop()
        yield above, item
        if len(above) < DEEPEST:
            children = list(item.get("ContentSequence") or ())
            waiting.extend(((*above, item), child) for child in reversed(children))


def value_of(item: Dataset) -> tuple[float, str] | None:
    """Return the number of a NUM item and its unit, or ``None`` where it states none."""
    for measured in item.get("MeasuredValueSequence") or ():
        unit = next(iter(measured.get("MeasurementUnitsCodeSequence") or ()), None)
        full = measured.get("FloatingPointValue")
        try:
            number = float(full if full is not None else measured.get("NumericValue"))
        except (TypeError, ValueError):
            return None
        return (number, code_value(unit)) if math.isfinite(number) else None
    return None


def code_of(item: Dataset | None) -> Any:
    """Return the code of a CODE item, or ``None``."""
    return next(iter(item.get("ConceptCodeSequence") or ()), None) if item is not None else None


def name_of(item: Dataset) -> str:
    """Return what an item is called."""
    name = next(iter(item.get("ConceptNameCodeSequence") or ()), None)
    return "" if name is None else str(name.get("CodeMeaning", ""))


def code_value(code: Any) -> str:
    """Return the value of a code, short or long."""
    return "" if code is None else str(code.get("CodeValue") or code.get("LongCodeValue") or "")


def text_of(item: Dataset | None) -> str:
    """Return the words of a TEXT item, nothing where there are none."""
    return "" if item is None else str(item.get("TextValue", "") or "")
