"""What a case may say of itself: decided by a person, or not confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

from radlength.record.case_models import CanalAdded, Decision, Event, ReferencePoint
from radlength.trade import NOT_CONFIRMED

DECIDED: Final = "decided by a person"
CaseStatus = Literal["estimate, not confirmed", "decided by a person"]


def status_of_events(events: Sequence[Event]) -> CaseStatus:
    """Return what a case of those events may say of itself."""
    return DECIDED if _all_decided(events) else NOT_CONFIRMED


def _all_decided(events: Sequence[Event]) -> bool:
    """Tell whether every canal has a decision from its present reference point, and there is a canal at all."""
    present: dict[str, int] = {}
    decided: set[tuple[str, int]] = set()
    canals = {event.label for event in events if isinstance(event, CanalAdded)}
    for event in events:
        if isinstance(event, ReferencePoint):
            present[event.canal] = event.number
        elif isinstance(event, Decision):
            decided.add((event.canal, event.series))
    return bool(canals) and all((label, present.get(label)) in decided for label in canals)
