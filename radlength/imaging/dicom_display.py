"""How a DICOM file wants to be seen: modality, then value of interest, then polarity, as one table.

Source: PS3.3 C.11.1 (Modality LUT), C.11.2.1.2 and C.11.2.1.3 (windows and their functions), C.7.6.3.1.2
(MONOCHROME1). The inversion comes last and is about the full range, so that both polarities of the same picture look
the same.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from radlength.finding import Finding

Array = NDArray[np.float64]


UNSHOWABLE = Finding(
    "display-ignored",
    "The header's way of showing the picture is broken and was ignored; the picture's own range is shown.",
    "Nothing to do: measurement uses the stored values.",
    "note",
)


def display_or_doubt(dataset: Any, stored: NDArray[Any]) -> tuple[NDArray[np.float32] | None, list[Finding]]:
    """Return the table of :func:`display_table`, or ``None`` and a finding where the header cannot be followed.

    One that shows a picture of several values as plain black or white shows nothing.
    """
    try:
        with np.errstate(all="ignore"):
            table = display_table(dataset, stored)
    except (ArithmeticError, AttributeError, IndexError, TypeError, ValueError):
        return None, [UNSHOWABLE]
    shown = table[int(stored.min()) : int(stored.max()) + 1]
    plain = len(shown) > 1 and shown.min() == shown.max()
    return (table, []) if np.isfinite(table).all() and not plain else (None, [UNSHOWABLE])


def polarity(
    dataset: Any, stored: NDArray[Any], table: NDArray[np.float32] | None
) -> Literal["MONOCHROME1", "MONOCHROME2"]:
    """Return whether low stored values are bright (MONOCHROME1) as the file wants to be seen.

    An inverse presentation, a negative rescale slope or a falling table turns a picture as MONOCHROME1 does; who looks
    for what is radiopaque goes by this and not by the tag alone.
    """
    if table is not None:
        least, most = table[[int(stored.min()), int(stored.max())]]
        if least != most:
            return "MONOCHROME1" if most < least else "MONOCHROME2"
    return "MONOCHROME1" if dataset.PhotometricInterpretation == "MONOCHROME1" else "MONOCHROME2"


def display_table(dataset: Any, stored: NDArray[Any]) -> NDArray[np.float32]:
    """Return grey for the eye, 0..1, of every value the stored bits can hold.

    Parameters
    ----------
    dataset
        A pydicom data set.
    stored
        The image; its range is stretched where the file has no window or table.
    """
    values = np.arange(np.iinfo(stored.dtype).max + 1)
    linear = _modality(dataset, values)
    shown = _interest(dataset, linear)
    if shown is None:
        low, high = sorted(map(float, linear[[int(stored.min()), int(stored.max())]]))
        shown = (linear - low) / ((high - low) or 1.0)
    shown = np.clip(shown, 0.0, 1.0)
    inverse = str(dataset.get("PresentationLUTShape", "")).upper() == "INVERSE"
    if inverse or dataset.get("PhotometricInterpretation") == "MONOCHROME1":
        shown = 1.0 - shown
    return shown.astype(np.float32)


def _modality(dataset: Any, values: NDArray[np.int64]) -> Array:
    sequence = dataset.get("ModalityLUTSequence")
    if sequence:
        table, first = table_of(sequence[0])
        return np.asarray(table[np.clip(values - first, 0, len(table) - 1)], dtype=np.float64)
    slope, intercept = dataset.get("RescaleSlope"), dataset.get("RescaleIntercept")
    return np.asarray(values * float(slope if slope is not None else 1) + float(intercept or 0))


def _interest(dataset: Any, linear: Array) -> Array | None:
    sequence = dataset.get("VOILUTSequence")
    if sequence:
        table, first = table_of(sequence[0])
        bits = int(sequence[0].LUTDescriptor[2])
        shown = table[np.clip(np.rint(linear).astype(np.int64) - first, 0, len(table) - 1)]
        return np.asarray(shown / (2.0**bits - 1))
    centre, width = _first(dataset.get("WindowCenter")), _first(dataset.get("WindowWidth"))
    if centre is None or width is None or width < 1:
        return None
    function = str(dataset.get("VOILUTFunction", "LINEAR") or "LINEAR").upper()
    if function == "SIGMOID":
        return np.asarray(1 / (1 + np.exp(np.clip(-4 * (linear - centre) / width, -700, 700))))
    if function == "LINEAR_EXACT" or width == 1:
        return np.asarray((linear - centre) / width + 0.5)
    return np.asarray((linear - (centre - 0.5)) / (width - 1) + 0.5)


def table_of(item: Any) -> tuple[Array, int]:
    """Return a table and the first value it is for.

    Entries of 8 bits are kept two in a word, or, by other programs, each in a word of its own: the length tells
    (PS3.3 C.11.1.1.1 as worded by correction CP-522).
    """
    entries, first, bits = (int(part) for part in item.LUTDescriptor)
    data, (_, little) = item.LUTData, item.original_encoding
    if isinstance(data, bytes):
        data = np.frombuffer(data, ">u2" if little is False else "<u2")
    words = np.atleast_1d(np.asarray(data))
    if bits == 8 and len(words) < (entries or 65_536):
        words = words.astype("<u2").view(np.uint8)[:entries]
    return words.astype(np.float64), first


def _first(value: Any) -> float | None:
    if value is None or value == "":
        return None
    return float(value[0] if hasattr(value, "__iter__") and not isinstance(value, str) else value)
