"""One measured property of an image: value, verdict and reason. Never a grade of the whole image."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from radlength.finding import Finding, Severity

QualityVerdict = Literal["good", "doubt", "not measured"]
"""Of one measure. Whether an image is acceptable is a person's to say."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One measured property of an image.

    Parameters
    ----------
    name
        Short name, words joined by ``_``: ``"clipped_dark"``.
    value
        What was measured, ``None`` where nothing could be.
    unit
        ``"%"``, ``"px"``, ``"mm"``, ``"1"`` or ``"yes/no"`` (1 or 0).
    verdict
        ``"good"``, ``"doubt"`` or ``"not measured"``.
    why
        One sentence: what was found and against which limit.
    source
        Who stated the method or the limit.
    remedy
        What would remove a doubt, one sentence.
    severity
        Of the finding a doubt becomes.
    subject
        The canal or reference it is about, ``None`` for the image.

    Examples
    --------
    >>> Measure("noise", 1.2, "%", "good", "Noise is 1.2 %.", "Immerkaer 1996").finding is None
    True
    """

    name: str
    value: float | None
    unit: str
    verdict: QualityVerdict
    why: str
    source: str
    remedy: str = ""
    severity: Severity = "question"
    subject: str | None = None

    @property
    def finding(self) -> Finding | None:
        """The doubt as a finding, or ``None`` where there is none."""
        if self.verdict != "doubt":
            return None
        code = f"quality-{self.name.replace('_', '-')}"
        return Finding(code, self.why, self.remedy, self.severity, self.subject)

    def about(self, subject: str) -> Measure:
        """Return the measure with the canal or reference it is about."""
        return replace(self, subject=subject)

    def as_dict(self) -> dict[str, str | float | None]:
        """Return the measure as plain data."""
        return {
            "name": self.name,
            "subject": self.subject,
            "value": self.value,
            "unit": self.unit,
            "verdict": self.verdict,
            "why": self.why,
            "remedy": self.remedy if self.verdict == "doubt" else "",
            "source": self.source,
        }


def not_measured(name: str, unit: str, why: str, source: str, *, subject: str | None = None) -> Measure:
    """Return a measure that could not be taken, with the reason."""
    return Measure(name, None, unit, "not measured", why, source, subject=subject)
