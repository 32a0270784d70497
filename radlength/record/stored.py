"""From what is measured and marked to what a record keeps: points rounded, quantities and results as plain models."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from pydantic_core import to_json

from radlength._version import __version__
from radlength.geometry import Point, as_points
from radlength.imaging import Radiograph
from radlength.length import ALGORITHM, Canal, Confirmation, Estimate
from radlength.quantity import Quantity
from radlength.record.made import made
from radlength.record.models import (
    DETAILS_MAX,
    EntryId,
    ImageBinding,
    StoredConfirmation,
    StoredEstimate,
    StoredLength,
)
from radlength.scale import Reference

SOFTWARE = f"radlength {__version__}"
DECIMALS = 3
"""Points are kept to a thousandth of a pixel."""


def rounded(path: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    """Return the points of a path to a thousandth of a pixel.

    Examples
    --------
    >>> rounded([(450.20001, -0.0001)])
    ((450.2, 0.0),)
    """
    return tuple((_thousandth(row), _thousandth(column)) for row, column in path)


def _thousandth(value: float) -> float:
    return round(float(value), DECIMALS) + 0.0


def rounded_canal(canal: Canal) -> Canal:
    """Return the canal with its path rounded."""
    return replace(canal, path_px=rounded(canal.path_px))


def rounded_reference(reference: Reference) -> Reference:
    """Return the reference with its path rounded."""
    return replace(reference, path_px=rounded(reference.path_px))


def binding(radiograph: Radiograph) -> ImageBinding:
    """Return what binds marks to the pixels of an image.

    Raises
    ------
    RecordError
        The file name cannot be kept.
    """
    rows, columns = radiograph.shape
    return made(
        ImageBinding,
        subject=radiograph.name,
        name=radiograph.name,
        rows=rows,
        columns=columns,
        pixel_sha256=radiograph.pixel_sha256,
        hash_rule=radiograph.hash_rule,
        orientation=radiograph.facts.orientation,
    )


def stored_length(quantity: Quantity) -> StoredLength:
    """Return a length in millimetres as it is kept."""
    return StoredLength(
        value_mm=quantity.value_mm, u_mm=quantity.u_mm, low_mm=quantity.low_mm, high_mm=quantity.high_mm
    )


def stored_estimate(key: EntryId, estimate: Estimate, when: datetime, *, subject: str) -> StoredEstimate:
    """Return an estimate as it is kept, with the version of the algorithm."""
    working = estimate.working_length
    return made(
        StoredEstimate,
        subject=subject,
        canal=key,
        when=when,
        algorithm=estimate.algorithm,
        software=SOFTWARE,
        method=estimate.method,
        canal_length=stored_length(estimate.canal_length),
        working_length=stored_length(working) if working else None,
        terminus=estimate.terminus.words if estimate.terminus else None,
        findings=tuple(finding.code for finding in estimate.findings),
    )


def stored_confirmation(
    key: EntryId,
    confirmation: Confirmation,
    gap_path_px: Iterable[Sequence[float]],
    when: datetime,
    *,
    who: str | None,
    subject: str,
) -> StoredConfirmation:
    """Return a length confirmation as it is kept.

    Raises
    ------
    MarkError
        The gap path is none.
    """
    working = confirmation.working_length
    return made(
        StoredConfirmation,
        subject=subject,
        canal=key,
        when=when,
        who=who,
        set_length_mm=confirmation.set_length_mm,
        gap_path_px=rounded(as_points(list(gap_path_px), subject="gap")),
        gap=stored_length(confirmation.gap),
        canal_length=stored_length(confirmation.canal_length),
        working_length=stored_length(working) if working else None,
        rule=confirmation.rule.name,
        verdict=confirmation.verdict,
        findings=tuple(finding.code for finding in confirmation.findings),
        algorithm=ALGORITHM,
        software=SOFTWARE,
        serious=any(finding.severity == "serious" for finding in confirmation.findings),
    )


def before(value: Any) -> str:
    """Return what a change replaces, for the history: nothing that was marked is lost."""
    text = f"before: {to_json(value).decode()}"
    return text if len(text) <= DETAILS_MAX else f"before: too long to keep, {len(text)} characters"


def now() -> datetime:
    """Return the present time in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)
