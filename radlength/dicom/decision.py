"""What a person decided, as a document may say it: by whom and when, never by default."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from radlength.dicom.errors import DicomError
from radlength.dicom.words import person_name


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
    ends
        Where the decided length ends, in words; the record may end elsewhere.
    on_marks
        Whether the marks of the canal are those that the person had. A decision made on others verifies nothing.

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
    ends: str = ""
    on_marks: bool = True

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
        The latest of each person, in the order of the names; empty where a canal is undecided, or was decided on other
        marks.

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
    if not labels or unverified(decisions, labels):
        return ()
    latest: dict[str, Decision] = {}
    for decision in sorted(decisions, key=lambda one: one.time):
        latest[person_name(decision.person)] = decision
    return tuple(latest[name] for name in sorted(latest))


def unverified(decisions: Sequence[Decision], labels: Sequence[str]) -> tuple[str, ...]:
    """Return in words why nobody verifies a document, nothing where somebody does.

    Examples
    --------
    >>> unverified([], ["46 MB"])
    ('no decision on 46 MB',)
    """
    on_marks = {decision.canal: decision.on_marks for decision in decisions}
    return (
        *(f"no decision on {label}" for label in labels if label not in on_marks),
        *(f"{label} was decided on other marks" for label in labels if not on_marks.get(label, True)),
    )
