"""An audit of image quality: the share of acceptable images beside its target, as people graded them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from radlength.errors import RecordError
from radlength.record.quality_grades import ERRORS, GRADE_SOURCE, Grade
from radlength.trade import CAUTION

Receptor = Literal["digital", "film"]
TARGETS: dict[Receptor, float] = {"digital": 95.0, "film": 90.0}
"""Least percentage of acceptable images (CGDent and PHE 2020; SDCEP)."""
TARGET_SOURCE = "CGDent and PHE 2020; SDCEP: A at least 95 % digital, 90 % film; a sample of at least 100"
LEAST_IMAGES = 100
INTERVAL_SOURCE = "Clopper and Pearson 1934, Biometrika 26:404-413"


@dataclass(frozen=True, slots=True)
class Audit:
    """What an audit found.

    Parameters
    ----------
    receptor
        ``"digital"`` or ``"film"``.
    n, acceptable
        Images graded, and how many were A.
    low, high
        95 % interval of the share in percent, exact for small samples.
    target
        In percent.
    errors
        How often each kind of error was named.
    graders
        How many each person graded.
    """

    receptor: Receptor
    n: int
    acceptable: int
    low: float
    high: float
    target: float
    errors: Mapping[str, int] = field(default_factory=dict)
    graders: Mapping[str, int] = field(default_factory=dict)

    @property
    def share(self) -> float:
        """Percentage of acceptable images."""
        return 100 * self.acceptable / self.n

    @property
    def met(self) -> bool:
        """Whether the share of this sample reaches the target. In whole images, so that 95 of 100 is reached."""
        return 100 * self.acceptable >= self.target * self.n

    @property
    def small(self) -> bool:
        """Whether fewer images were graded than an audit asks for."""
        return self.n < LEAST_IMAGES

    @property
    def words(self) -> str:
        """The result as a sentence or two."""
        met = "reaches" if self.met else "does not reach"
        text = (
            f"{self.acceptable} of {self.n} images were graded acceptable, {self.share:.1f} % "
            f"(95 % interval {self.low:.1f}–{self.high:.1f} %): this {met} the target of {self.target:g} % "
            f"for {self.receptor} images."
        )
        if self.small:
            text += f" The sample is small: an audit asks for at least {LEAST_IMAGES} images."
        if self.low < self.target <= self.high:
            text += " The interval holds the target: from this sample it cannot be told on which side the truth lies."
        return text

    def as_dict(self) -> dict[str, Any]:
        """Return the audit as plain data, with the caution."""
        return {
            "receptor": self.receptor,
            "n": self.n,
            "acceptable": self.acceptable,
            "share_percent": self.share,
            "low_percent": self.low,
            "high_percent": self.high,
            "interval": f"95 %, {INTERVAL_SOURCE}",
            "target_percent": self.target,
            "target_met": self.met,
            "sample_small": self.small,
            "errors": dict(self.errors),
            "graders": dict(self.graders),
            "words": self.words,
            "grading": GRADE_SOURCE,
            "source": TARGET_SOURCE,
            "caution": CAUTION,
        }


def audit(grades: Sequence[Grade], *, receptor: Receptor = "digital") -> Audit:
    """Return the share of acceptable images beside its target.

    Parameters
    ----------
    grades
        As people gave them.
    receptor
        ``"digital"`` or ``"film"``.

    Raises
    ------
    RecordError
        No image is graded, or the receptor is another.

    Examples
    --------
    >>> grades = [Grade(f"{i}.png", "", "A" if i < 95 else "N", "invented") for i in range(100)]
    >>> found = audit(grades)
    >>> found.met, found.small, round(found.low, 1), round(found.high, 1)
    (True, False, 88.7, 98.4)
    """
    if receptor not in TARGETS:
        raise RecordError(f"a receptor {receptor!r}", "digital or film", code="receptor-unknown")
    if not grades:
        raise RecordError(
            "no image is graded",
            "A or N in the column result, and a name in the column by",
            "grade the images in the table first",
            code="grades-none",
        )
    acceptable = sum(grade.result == "A" for grade in grades)
    low, high = clopper_pearson(acceptable, len(grades))
    named = Counter(error for grade in grades for error in grade.errors)
    return Audit(
        receptor=receptor,
        n=len(grades),
        acceptable=acceptable,
        low=100 * low,
        high=100 * high,
        target=TARGETS[receptor],
        errors={name: named[name] for name in ERRORS},
        graders=dict(Counter(grade.by for grade in grades)),
    )


def clopper_pearson(successes: int, n: int, *, coverage: float = 0.95) -> tuple[float, float]:
    """Return the exact interval of a proportion (Clopper and Pearson 1934).

    Parameters
    ----------
    successes, n
        Counts.
    coverage
        Least coverage.

    Examples
    --------
    >>> clopper_pearson(0, 10)
    (0.0, 0.308)
    """
    from scipy.special import betaincinv

    tail = (1 - coverage) / 2
    low = 0.0 if successes == 0 else float(betaincinv(successes, n - successes + 1, tail))
    high = 1.0 if successes == n else float(betaincinv(successes + 1, n - successes, 1 - tail))
    if not (math.isfinite(low) and math.isfinite(high)):
        raise RecordError(f"{successes} of {n}", "0 <= successes <= n, n > 0", code="proportion")
    return low, high
