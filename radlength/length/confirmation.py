"""The length-confirmation image: set length plus the corrected gap from the tip to the apex."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry import as_points, fit_curve
from radlength.geometry.number import is_number
from radlength.length.confirmation_doubts import estimate_doubts, gap_doubts
from radlength.length.estimate import Estimate, check_optional
from radlength.length.gap import gap_length, gap_lines
from radlength.length.gap_place import gap_place
from radlength.length.terminus import Terminus
from radlength.quantity import Quantity
from radlength.trade import CAUTION, RepeatRule, Verdict, repeat_rule
from radlength.uncertainty import Budget, BudgetLine, Marking


@dataclass(frozen=True, slots=True)
class Confirmation:
    """What a length-confirmation image says.

    Parameters
    ----------
    set_length_mm
        Stop to tip, as the instrument was set.
    gap
        From the tip to the radiographic apex along the canal, corrected; negative where the tip is beyond.
    canal_length
        Set length plus gap.
    working_length
        Canal length less the terminus; ``None`` without one.
    verdict, rule
        What the named rule says: accept, adjust, or adjust and repeat the image.
    budget, findings
        As in an estimate.
    """

    set_length_mm: float
    gap: Quantity
    canal_length: Quantity
    working_length: Quantity | None
    terminus: Terminus | None
    verdict: Verdict
    rule: RepeatRule
    budget: Budget
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the confirmation as plain data, with the caution."""
        return {
            "set_length_mm": self.set_length_mm,
            "gap": self.gap.as_dict(),
            "canal_length": self.canal_length.as_dict(),
            "working_length": self.working_length.as_dict() if self.working_length else None,
            "terminus": self.terminus.words if self.terminus else None,
            "verdict": self.verdict,
            "rule": self.rule.name,
            "rule_source": self.rule.source,
            "findings": [finding.as_dict() for finding in self.findings],
            "caution": CAUTION,
        }


def confirm_length(
    set_length_mm: float,
    gap_path_px: object,
    *,
    mm_per_px: float | tuple[float, float],
    rule: str,
    beyond: bool = False,
    set_limit_mm: float = 0.25,
    scale_share: float = 0.0,
    terminus: Terminus | None = None,
    marking: Marking | None = None,
    tooth: str | None = None,
    estimate: Estimate | None = None,
) -> Confirmation:
    """Read a length-confirmation image by the gap method.

    Parameters
    ----------
    set_length_mm
        Stop to tip as set, in millimetres.
    gap_path_px
        (row, column) points along the canal from the tip to the radiographic apex, shape (N, 2).
    mm_per_px
        Corrected millimetres in the tooth for one pixel, or (down, across).
    rule
        Name of the rule for accepting, see :func:`radlength.trade.repeat_rules`.
    beyond
        The tip lies beyond the apex: the gap counts as negative.
    set_limit_mm
        Half-width of the limits of the set length, rectangular.
    scale_share
        Standard uncertainty of `mm_per_px` as a share of it.
    terminus, marking
        As for :func:`estimate_length`.
    tooth
        ISO 3950, for the warning that belongs to back teeth.
    estimate
        What the marks of the same canal on the same image say. With it the gap of a tip short of the apex counts along
        that canal, it must end at its apex, set length and gap are compared with its length, and what is serious about
        it is carried over.

    Returns
    -------
    Confirmation

    Raises
    ------
    MarkError
        A set length or scale that is impossible, or a gap path that cannot be measured.
    TradeError
        No such rule.

    Notes
    -----
    Steps of the published radiographic method (Ingle): adjust by the gap, subtract for the terminus. An error of
    the scale moves only the gap, so the result hardly depends on magnification. Where the canal is marked, the gap of a
    tip that is not said to lie beyond is its part along the canal, 0 at least; of a tip beyond the whole distance of
    its marks counts, which errs on the short side.

    Examples
    --------
    >>> done = confirm_length(21.0, [(0, 0), (180, 0)], mm_per_px=0.01 / 1.05, rule="tip within 1 mm",
    ...                       terminus=Terminus(offset_mm=1.0))
    >>> [round(q.value_mm, 3) for q in (done.gap, done.canal_length, done.working_length)]
    [1.714, 22.714, 21.714]
    >>> done.verdict
    'repeat'
    """
    _check_set_length(set_length_mm, set_limit_mm)
    check_optional(terminus=terminus, marking=marking)
    if not isinstance(estimate, Estimate | None):
        raise MarkError(
            f"{type(estimate).__name__} as an estimate",
            "what estimate_length returned for the same canal on the same image, or None",
            code="estimate-type",
        )
    down, across = _checked_scale(mm_per_px, scale_share)
    points = as_points(gap_path_px, subject="gap")  # type: ignore[arg-type]
    curve = fit_curve(np.asarray(points) * (down, across))
    named_rule = repeat_rule(rule)
    marking = marking or Marking()
    length_mm = gap_length(curve, marking)
    place = gap_place(curve, length_mm, estimate.canal.path_px, (down, across), marking) if estimate else None
    along = not beyond and place is not None and place.in_canal
    gap_mm = max(place.along_mm, 0.0) if along and place else -length_mm if beyond else length_mm
    lines = gap_lines(curve, gap_mm, along=along, marking=marking, scale_share=scale_share)
    set_line = BudgetLine(
        "set length", set_limit_mm / math.sqrt(3), "rectangular", f"read to ±{set_limit_mm:g} mm"
    )
    budget = Budget((*lines, set_line))
    gap = Budget(lines).around(gap_mm)
    canal_length = budget.around(set_length_mm + gap_mm)
    doubts = list(gap_doubts(gap, named_rule, tooth))
    if estimate is not None and place is not None:
        doubts += estimate_doubts(estimate, place, canal_length, beyond=beyond)
    return Confirmation(
        set_length_mm=set_length_mm,
        gap=gap,
        canal_length=canal_length,
        working_length=canal_length.shifted(-terminus.distance_mm) if terminus else None,
        terminus=terminus,
        verdict=named_rule.classify(gap_mm),
        rule=named_rule,
        budget=budget,
        findings=_different(doubts),
    )


def _check_set_length(set_length_mm: float, set_limit_mm: float) -> None:
    if not (is_number(set_length_mm) and 5 <= set_length_mm <= 60):
        raise MarkError(
            f"a set length of {_told(set_length_mm)} mm",
            "5 to 60 mm, from the stop to the tip",
            "measure the instrument again with a ruler",
            code="confirmation-input",
        )
    if not (is_number(set_limit_mm) and 0 <= set_limit_mm <= 5):
        raise MarkError(
            f"a set length that is known to plus or minus {_told(set_limit_mm)} mm",
            "0 to 5 mm",
            "half the smallest step of the ruler is usual (common practice, no source)",
            code="confirmation-input",
        )


def _told(given: object) -> str:
    return f"{given:g}" if isinstance(given, float) else repr(given)


def _checked_scale(mm_per_px: object, share: float) -> tuple[float, float]:
    """Return millimetres for a pixel down and across."""
    both = mm_per_px if isinstance(mm_per_px, tuple | list | np.ndarray) else (mm_per_px, mm_per_px)
    if len(both) != 2 or not all(is_number(one) for one in (*both, share)):
        raise MarkError(
            f"a scale of {mm_per_px!r}",
            "millimetres for a pixel, or (down, across)",
            "mark the reference again",
            code="confirmation-input",
        )
    down, across = map(float, both)
    if not all(map(math.isfinite, (down, across, share))) or min(down, across) <= 0 or share < 0:
        raise MarkError(
            f"a scale of {down:.4g} x {across:.4g} mm for a pixel, known to {100 * share:.2g} %",
            "a positive scale, and 0 % or more",
            "mark the reference again",
            code="confirmation-input",
        )
    return down, across


def _different(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings, the first of each code alone."""
    kept: dict[str, Finding] = {}
    for finding in findings:
        kept.setdefault(finding.code, finding)
    return tuple(kept.values())
