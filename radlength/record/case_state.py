"""What a case says of a canal now: its lengths side by side, its trend, its decision, and the doubts about them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from radlength.finding import Finding, worst_first
from radlength.length import ALGORITHM
from radlength.length.reconcile import RECONCILE_ALGORITHM, Reconciled, reconcile
from radlength.length.reconcile_readings import Reading
from radlength.length.trend import LengthTrend, length_trend
from radlength.quantity import Quantity
from radlength.record.case import Case
from radlength.record.case_canals import apex_is_usual
from radlength.record.case_copies import copy_findings, counted_lengths, images_of
from radlength.record.case_models import ESTIMATES, Decision, LengthAdded
from radlength.record.case_status import DECIDED, CaseStatus
from radlength.record.models import StoredLength
from radlength.trade import NOT_CONFIRMED, is_posterior, posterior_caution

OF_IMAGES = (*ESTIMATES.values(), "length-confirmation image", "two views")


@dataclass(frozen=True, slots=True)
class CanalState:
    """A canal as the case knows it.

    Parameters
    ----------
    label, tooth
        The canal and its tooth.
    status
        ``estimate, not confirmed`` until a person has decided.
    lengths
        Standing lengths of the present series, in the order of measuring; a result entered again counts once.
    side_by_side
        The same at one end point, compared; ``None`` with none.
    trends
        Change of length by each method that has two lengths or more.
    decision
        That of the present series.
    findings
        Doubts, worst first.
    """

    label: str
    tooth: str
    status: CaseStatus
    lengths: tuple[LengthAdded, ...]
    side_by_side: Reconciled | None
    trends: tuple[LengthTrend, ...]
    decision: Decision | None
    findings: tuple[Finding, ...]

    @property
    def status_words(self) -> str:
        """The status in words: the decision with its number, person and day, or that there is none."""
        if self.decision is None:
            return NOT_CONFIRMED
        made = self.decision
        return f"{DECIDED}: {made.value_mm:g} mm by {made.by}, {made.entered:%Y-%m-%d}"


def quantity_of(length: StoredLength) -> Quantity:
    """Return a kept length as a quantity."""
    return Quantity(length.value_mm, length.u_mm, length.low_mm, length.high_mm)


def reading_of(event: LengthAdded, images: frozenset[str] = frozenset()) -> Reading:
    """Return a length of a case as a reading, with what it shares: its ruler, and the reference point of its series.

    Parameters
    ----------
    event
        The length.
    images
        What it was measured on, see :func:`~radlength.record.case_copies.images_of`.
    """
    shared = {}
    if event.ruler and event.u_ruler_mm > 0:
        shared[f"ruler {event.ruler}"] = event.u_ruler_mm
    if event.u_reference_mm > 0:
        shared[f"reference point {event.series}"] = event.u_reference_mm
    name = f"{event.number} {event.method}"
    length = quantity_of(event.length)
    return Reading(name, length, event.landmark, event.short_mm, shared, event.flaring, images)


def canal_state(case: Case, canal: str) -> CanalState:
    """Return what the case says of a canal now.

    Raises
    ------
    RecordError
        No such canal.
    """
    added = case.canal(canal)
    label = added.label
    lengths = counted_lengths(case, label)
    found = None
    if lengths:
        readings = [reading_of(event, images_of(case, event)) for event in lengths]
        found = reconcile(readings, added.tooth, table_holds=apex_is_usual(case, label))
    trends = tuple(_trends(lengths, found, label))
    findings = [*_doubts(case, label, found), *(f for trend in trends for f in trend.findings)]
    return CanalState(
        label=label,
        tooth=added.tooth,
        status=case.status_of(label),
        lengths=lengths,
        side_by_side=found,
        trends=trends,
        decision=case.decision(label),
        findings=worst_first(findings),
    )


def _trends(lengths: tuple[LengthAdded, ...], found: Reconciled | None, label: str) -> Iterator[LengthTrend]:
    if found is None:
        return
    by_method: dict[str, list[Reading]] = {}
    for event, moved in zip(lengths, found.at_apex, strict=True):
        if moved is not None:
            by_method.setdefault(event.method, []).append(moved)
    for readings in by_method.values():
        if len(readings) >= 2:
            yield length_trend(readings, subject=label)


def _doubts(case: Case, label: str, found: Reconciled | None) -> Iterator[Finding]:
    lengths = counted_lengths(case, label)
    yield from copy_findings(case, label)
    if found is not None:
        yield from (_about(finding, label) for finding in found.findings)
    if len(case.series(label)) > 1:
        yield Finding(
            "series-new",
            f"The reference point changed to {case.series(label)[-1].words!r}: lengths before it are not compared.",
            "Measure again from the present one.",
            "note",
            label,
        )
    yield from (finding for event in lengths for finding in _of_locator(event))
    if is_posterior(case.canal(label).tooth) and any(event.method in OF_IMAGES for event in lengths):
        yield Finding("posterior", posterior_caution(), "Confirm with the apex locator.", "note", label)
    if len({event.method for event in lengths}) == 1:
        yield Finding(
            "single-method",
            f"Every length is by one method ({lengths[0].method}).",
            "Add another: apex locator and radiograph together are the usual way.",
            "question",
            label,
        )
    elif len(lengths) > 1 and frozenset.intersection(*(images_of(case, event) for event in lengths)):
        yield Finding(
            "single-image",
            "Every length was measured on one image: they share marks, scale and view.",
            "Add another method: apex locator and radiograph together are the usual way.",
            "question",
            label,
        )
    made = case.decision(label)
    if made is None:
        yield from _lost_decision(case, label)
    else:
        yield from _of_decision(case, made)


def _about(finding: Finding, label: str) -> Finding:
    return Finding(finding.code, finding.sentence, finding.remedy, finding.severity, label)


def _of_locator(event: LengthAdded) -> Iterator[Finding]:
    """Yield doubts of one apex locator reading (common practice, no source)."""
    reading = event.locator
    if reading is None:
        return
    if reading.metal_contact:
        yield Finding(
            "locator-metal",
            f"Length {event.number}: the instrument touched metal while the apex locator was read.",
            "Free it from the filling or crown and read again.",
            "serious",
            event.canal,
        )
    if reading.stable is False:
        yield Finding(
            "locator-unstable",
            f"Length {event.number}: the apex locator reading was not stable.",
            "Dry the chamber, take a larger instrument, and read again.",
            "serious",
            event.canal,
        )


def _lost_decision(case: Case, label: str) -> Iterator[Finding]:
    old = [event for event in case.of_kind(Decision) if event.canal == label]
    if old:
        yield Finding(
            "decision-of-another-reference-point",
            f"The decision of {old[-1].entered:%Y-%m-%d} ({old[-1].value_mm:g} mm) was from another reference point.",
            "Measure from the present one and decide again.",
            "serious",
            label,
        )


def _of_decision(case: Case, made: Decision) -> Iterator[Finding]:
    standing = {event.number: event for event in case.present_lengths(made.canal)}
    gone = [number for number in made.based_on if number not in standing]
    if gone:
        yield Finding(
            "decision-base-corrected",
            f"The decision rests on length {', '.join(map(str, gone))}, which was corrected or withdrawn afterwards.",
            "Look at the correction and decide again.",
            "serious",
            made.canal,
        )
    yield from _outside(case, made, standing)
    now = {f"length {ALGORITHM}", f"comparison {RECONCILE_ALGORITHM}"}
    old = [version for version in made.algorithms if version not in now and "not kept" not in version]
    if old:
        yield Finding(
            "decision-older-algorithm",
            f"The decision was made with an earlier version ({', '.join(old)}); its number stays as it is.",
            "Compare the lengths as they are now.",
            "note",
            made.canal,
        )


def _outside(case: Case, made: Decision, standing: dict[int, LengthAdded]) -> Iterator[Finding]:
    """Yield a doubt where the decided length is far from every standing length, or from one that came after it."""
    decided = _as_reading(made)
    others = [reading_of(event) for event in standing.values()]
    usual = apex_is_usual(case, made.canal)
    found = reconcile([decided, *others], case.canal(made.canal).tooth, table_holds=usual)
    mine = tuple(found.pairs.with_first(0))
    if mine and all(pair.e_n > 1 for pair in mine):
        least = min(abs(pair.difference.value) for pair in mine)
        yield Finding(
            "decision-outside",
            f"The decided {made.value_mm:g} mm lies outside the interval of every length; the nearest is "
            f"{least:.1f} mm away.",
            "Check the number that was typed.",
            "serious",
            made.canal,
        )
        return
    newer = {reading_of(event).name for event in standing.values() if event.number > made.number}
    for pair in mine:
        if pair.second in newer and pair.e_n > 1:
            yield Finding(
                "decision-newer-length",
                f"{pair.second} was added after the decision and differs from it by {pair.difference.value:+z.1f} mm "
                f"at one end point (E_n {pair.e_n:.2f}).",
                "Look at both, and decide again or correct the length.",
                "serious",
                made.canal,
            )


def _as_reading(made: Decision) -> Reading:
    """Return a decision as if it were a length, to a thousandth of a millimetre: it is exact."""
    exact = Quantity(made.value_mm, 1e-6, made.value_mm - 2e-6, made.value_mm + 2e-6)
    return Reading("the decision", exact, made.landmark, made.short_mm)


def decided_at_apex(case: Case, label: str) -> Quantity | None:
    """Return the decided length of a canal as it would be to the radiographic apex, where a table leads there."""
    made = case.decision(label)
    if made is None:
        return None
    found = reconcile([_as_reading(made)], case.canal(label).tooth, table_holds=apex_is_usual(case, label))
    moved = found.at_apex[0]
    return moved.length if moved else None


def state_as_dict(state: CanalState) -> dict[str, Any]:
    """Return the state as plain data."""
    return {
        "canal": state.label,
        "tooth": state.tooth,
        "status": state.status,
        "status_words": state.status_words,
        "lengths": [event.model_dump(mode="json", exclude_none=True) for event in state.lengths],
        "side_by_side": state.side_by_side.as_dict() if state.side_by_side else None,
        "trends": [trend.as_dict() for trend in state.trends],
        "decision": state.decision.model_dump(mode="json", exclude_none=True) if state.decision else None,
        "findings": [finding.as_dict() for finding in state.findings],
    }
