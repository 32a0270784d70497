"""The decision on a working length: the only place that makes one. It has no default; nothing calls it by itself."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from radlength._version import __version__
from radlength.errors import RecordError
from radlength.length.reconcile import RECONCILE_ALGORITHM
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import Decision, LengthAdded
from radlength.trade.end_points import Landmark


def decide(
    case: Case,
    canal: str,
    *,
    value_mm: float,
    landmark: Landmark,
    short_mm: float,
    by: str,
    based_on: Sequence[int],
    why: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with the decision of a person on the working length of a canal.

    Parameters
    ----------
    canal
        By its label.
    value_mm
        What was decided, in millimetres from the present reference point. Never worked out: the person says it.
    landmark, short_mm
        Where it ends.
    by
        The person who decides.
    based_on
        Numbers of the lengths it rests on.
    why
        Reasons in words; needed where there is a decision already.
    when
        The time of the decision, now without it.

    Raises
    ------
    RecordError
        There is no length yet, nobody decides, it rests on nothing, or on lengths from another reference point.
    """
    label = case.canal(canal).label
    lengths = case.present_lengths(label)
    if not lengths:
        raise RecordError(
            f"there is no length of {label} from its present reference point to decide on",
            "at least one length by any method",
            "add one: radlength case add length --help",
            code="case-nothing-to-decide",
            subject=CASE_NAME,
        )
    if not 5 <= value_mm <= 60:
        raise RecordError(
            f"a decided length of {value_mm:g} mm",
            "5 to 60 mm, from the reference point",
            "check the number that was typed",
            code="case-decided-length",
            subject=CASE_NAME,
        )
    if not by.strip():
        raise RecordError(
            "nobody decides",
            "the name or the initials of the person",
            "say who decides: --by",
            code="case-nobody",
            subject=CASE_NAME,
        )
    if not based_on:
        numbers = ", ".join(str(event.number) for event in lengths)
        raise RecordError(
            "a decision that rests on nothing",
            f"lengths of {label} that stand: {numbers}",
            "say which: --based-on",
            code="case-based-on-nothing",
            subject=CASE_NAME,
        )
    kept = [case.event(number, LengthAdded) for number in based_on]
    versions = [f"length {event.found.algorithm}" for event in kept if event.found is not None]
    before = case.decision(label)
    return case.with_event(
        Decision,
        when=when,
        canal=label,
        series=case.series(label)[-1].number,
        value_mm=value_mm,
        landmark=landmark,
        short_mm=short_mm,
        by=by,
        based_on=tuple(dict.fromkeys(based_on)),
        algorithms=tuple(dict.fromkeys([*versions, f"comparison {RECONCILE_ALGORITHM}"])),
        software=f"radlength {__version__}",
        replaces=before.number if before else None,
        why=why,
    )
