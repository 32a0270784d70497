"""What a person decided, as a document may say it: by whom and when, never by default."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from radlength.dicom.errors import DicomError
from radlength.dicom.words import person_name
from radlength.record import Case
from radlength.record.case_images import file_sha256


@dataclass(frozen=True, slots=True)
class Decision:
    """A working length that a person decided.

    Parameters
    ----------
    canal
        Label of the canal: ``"46 MB"``.
    value_mm
        The decided working length in millimetres.
    person
        Who decided.
    time
        When, with its zone.
    organization
        Where that person works. May be empty.

    Raises
    ------
    DicomError
        A person without a name, a time without a zone, or a length that none is.

    Examples
    --------
    >>> from datetime import UTC
    >>> Decision("46 MB", 20.5, "Invented^Person", datetime(2026, 1, 2, tzinfo=UTC)).value_mm
    20.5
    """

    canal: str
    value_mm: float
    person: str
    time: datetime
    organization: str = ""

    def __post_init__(self) -> None:
        if not person_name(self.person):
            raise DicomError(
                "a decision without a person",
                "the name of who decided",
                code="decision-person",
                subject=self.canal,
            )
        if self.time.tzinfo is None or self.time.utcoffset() is None:
            raise DicomError(
                "a decision whose time has no zone",
                "a time such as 2026-01-02T12:00:00+01:00",
                code="decision-time",
                subject=self.canal,
            )
        if not (math.isfinite(self.value_mm) and 0 < self.value_mm < 60):
            raise DicomError(
                f"a decided length of {self.value_mm} mm",
                "more than 0 and less than 60 mm",
                code="decision-length",
                subject=self.canal,
            )


def decided_in(case: Case, image: Path, *, organization: str = "") -> list[Decision]:
    """Return what people decided in a case, for the canals that have a decision; none is ever made here.

    Parameters
    ----------
    case
        The case that the image belongs to.
    image
        The image file.
    organization
        Where those people work.

    Raises
    ------
    DicomError
        The image is not in the case: a decision must not come from another tooth's.
    """
    if file_sha256(image) not in {one.file_sha256 for one in case.images}:
        raise DicomError(
            "the image is not in the case",
            "an image that the case holds",
            "add it: radlength case add image --help",
            code="decision-case",
            subject=image.name,
        )
    found = [case.decision(canal.label) for canal in case.canals]
    return [
        Decision(one.canal, one.value_mm, one.by, one.entered, organization)
        for one in found
        if one is not None
    ]


def verifying(decisions: Sequence[Decision], labels: Sequence[str]) -> tuple[Decision, ...]:
    """Return the decisions that verify a document: one for every canal in it, or none at all.

    Parameters
    ----------
    decisions
        What was decided.
    labels
        Every canal of the document.

    Returns
    -------
    tuple of Decision
        The latest of each person, in the order of the names; empty where a canal is undecided.

    Raises
    ------
    DicomError
        A decision for a canal that is not there, or two for one canal.
    """
    decided = [decision.canal for decision in decisions]
    for label in decided:
        if label not in labels or decided.count(label) > 1:
            raise DicomError(
                f"{'no canal' if label not in labels else 'more than one decision for'} {label!r}",
                f"one decision each for: {', '.join(labels) or 'none is marked'}",
                code="decision-canal",
            )
    if not labels or set(decided) != set(labels):
        return ()
    latest: dict[str, Decision] = {}
    for decision in sorted(decisions, key=lambda one: one.time):
        latest[person_name(decision.person)] = decision
    return tuple(latest[name] for name in sorted(latest))
