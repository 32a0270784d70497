"""A doubt shown beside a number: what it is, and what would remove it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "question", "serious"]
"""``note``: worth knowing. ``question``: look again. ``serious``: the number may mislead."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt about an image, a mark or a number.

    Parameters
    ----------
    code
        Stable name, words joined by ``-``.
    sentence
        What was found, with the value and its unit, as one sentence.
    remedy
        What would remove the doubt, as one sentence.
    severity
        ``"note"``, ``"question"`` or ``"serious"``.
    subject
        The canal, file or field it is about, or ``None`` for the whole image.

    Examples
    --------
    >>> print(Finding("gap-large", "The gap is 2.6 mm.", "Take a new image with the tip closer."))
    The gap is 2.6 mm. Take a new image with the tip closer.
    """

    code: str
    sentence: str
    remedy: str
    severity: Severity = "question"
    subject: str | None = None

    def __str__(self) -> str:
        return f"{self.sentence} {self.remedy}".strip()

    def as_dict(self) -> dict[str, str | None]:
        """Return the finding as plain data."""
        return {
            "code": self.code,
            "sentence": self.sentence,
            "remedy": self.remedy,
            "severity": self.severity,
            "subject": self.subject,
        }


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings by their severity, the serious ones first; equals stay in their order.

    Examples
    --------
    >>> [one.code for one in worst_first([Finding("a", "", "", "note"), Finding("b", "", "", "serious")])]
    ['b', 'a']
    """
    return tuple(sorted(findings, key=lambda finding: _RANK[finding.severity]))


_RANK: dict[Severity, int] = {"serious": 0, "question": 1, "note": 2}
