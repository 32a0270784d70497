"""Whether a length confirmation still holds: the marks it was made on beside those that stand now."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from radlength.finding import Finding
from radlength.record.models import CONFIRMED, ConfirmationStatus
from radlength.record.stored import rounded
from radlength.trade import NOT_CONFIRMED

if TYPE_CHECKING:
    from radlength.record.models import CanalEntry, HistoryEntry, StoredConfirmation, StoredEstimate

NO_MARKS = "0" * 64
"""Digest of no marks at all: a confirmation that is kept with it never holds."""
SAID_CONFIRMED = re.compile(r"canal .* confirmed: (accept|adjust|repeat)", re.DOTALL)
_MOVED = re.compile(
    r"canal .* marked again|reference .* (marked again|removed)|terminus of .*|detector pitch stated: .*"
    r"|bound to other pixels; .*",
    re.DOTALL,
)
"""What the history says where something that was confirmed may have changed."""


def marks_digest(parts: Mapping[str, Any], entry: CanalEntry) -> str:
    """Return the SHA-256 of what the length of a canal follows from, as 64 hexadecimal digits.

    Pixels, pixel pitch, path, reference (path, length, limit, placement) and terminus are in it. Names, the spread of
    marks and what a program placed are not: they move no length.

    Parameters
    ----------
    parts
        The fields of a record by their names.
    entry
        The canal.
    """
    reference = next((ref for ref in parts["references"] if ref.name == entry.reference), None)
    terminus, pitch = entry.terminus, parts["stated_pitch_mm"]
    held = {
        "pixels": parts["image"].pixel_sha256,
        "pitch_mm": None if pitch is None else list(map(float, pitch)),
        "path_px": rounded(entry.canal.path_px),
        "reference": None
        if reference is None
        else (
            rounded(reference.path_px),
            float(reference.length_mm),
            float(reference.limit_mm),
            reference.placement,
        ),
        "terminus": None
        if terminus is None
        else (terminus.distance_mm, terminus.table, terminus.observation),
    }
    return hashlib.sha256(json.dumps(held, sort_keys=True, allow_nan=False).encode()).hexdigest()


def holds(parts: Mapping[str, Any], stored: StoredConfirmation) -> bool:
    """Return whether a confirmation was made on the marks that its canal has now.

    One of an older program, which kept no digest of its marks, holds until the history tells of any change of marks
    after it.
    """
    entry = next((one for one in parts["canals"] if one.id == stored.canal), None)
    if entry is None:
        return False
    if stored.marks_sha256 is not None:
        return stored.marks_sha256 == marks_digest(parts, entry)
    since = _since(parts["history"], parts["confirmations"], stored)
    return not any(_MOVED.fullmatch(one.what) for one in since)


def _since(
    history: Sequence[HistoryEntry], confirmations: Sequence[StoredConfirmation], stored: StoredConfirmation
) -> Sequence[HistoryEntry]:
    """Return the history after a confirmation; all but the making of the record where it does not tell of each."""
    place = told_at(history, confirmations, stored, SAID_CONFIRMED)
    return history[(0 if place is None else place) + 1 :]


def told_at(
    history: Sequence[HistoryEntry],
    kept: Sequence[StoredConfirmation] | Sequence[StoredEstimate],
    stored: StoredConfirmation | StoredEstimate,
    said: re.Pattern[str],
) -> int | None:
    """Return the place in a history that tells of a kept result; ``None`` where it does not tell of each of them.

    Parameters
    ----------
    history, kept
        The history, and all results of the kind.
    stored
        One of them; of equal ones the last.
    said
        What the history says where one is added.
    """
    places = [number for number, one in enumerate(history) if said.fullmatch(one.what)]
    if len(places) != len(kept):
        return None
    return places[max(number for number, one in enumerate(kept) if one == stored)]


def newest_confirmations(confirmations: Iterable[StoredConfirmation]) -> dict[str, StoredConfirmation]:
    """Return the newest confirmation by the id of its canal."""
    return {stored.canal: stored for stored in confirmations}


def _newest_of_each(parts: Mapping[str, Any]) -> list[StoredConfirmation | None]:
    newest = newest_confirmations(parts["confirmations"])
    return [newest.get(entry.id) for entry in parts["canals"]]


def confirmation_status(parts: Mapping[str, Any]) -> ConfirmationStatus:
    """Return what a record may say of itself.

    It is confirmed where the newest confirmation of every canal says "accept" without a serious doubt, on the marks
    as they are now; one canal that was not confirmed, whose image is to be taken again, or whose marks were changed
    since, leaves the record unconfirmed.

    Parameters
    ----------
    parts
        The fields of a record by their names.
    """
    kept = _newest_of_each(parts)
    confirmed = kept and all(
        one is not None and one.verdict == "accept" and not one.serious and holds(parts, one) for one in kept
    )
    return CONFIRMED if confirmed else NOT_CONFIRMED


def claims_too_much(parts: Mapping[str, Any]) -> bool:
    """Return whether a record of an older program calls a length confirmed whose marks were changed afterwards.

    Such a record is sound but for that word: older programs asked for no more than "accept" for every canal.
    """
    kept = _newest_of_each(parts)
    older = any(one is not None and one.marks_sha256 is None for one in kept)
    accepted = all(one is not None and one.verdict == "accept" for one in kept)
    return older and accepted and parts["status"] == CONFIRMED and confirmation_status(parts) == NOT_CONFIRMED


def confirmation_findings(parts: Mapping[str, Any], entry: CanalEntry) -> tuple[Finding, ...]:
    """Return why the newest confirmation of a canal confirms nothing although its rule accepted the length.

    Parameters
    ----------
    parts
        The fields of a record by their names.
    entry
        The canal.
    """
    stored = newest_confirmations(parts["confirmations"]).get(entry.id)
    if stored is None or stored.verdict != "accept":
        return ()
    label, day = entry.canal.label, f"{stored.when:%Y-%m-%d}"
    if not holds(parts, stored):
        return (
            Finding(
                "confirmation-outdated",
                f"The length-confirmation image of {day} was accepted on older marks: pixels, scale, path, reference "
                "or terminus of this canal were changed since.",
                "Confirm the length on the marks as they are now.",
                subject=label,
            ),
        )
    if stored.serious:
        return (
            Finding(
                "confirmation-doubted",
                f"The length-confirmation image of {day} was accepted by its rule with a serious doubt beside it, so "
                "that it confirms nothing.",
                "Remove the doubt, then confirm the length again.",
                subject=label,
            ),
        )
    return ()


def why_not_confirmed(parts: Mapping[str, Any]) -> dict[str, str]:
    """Return by canal why a record that keeps a confirmation is not confirmed as a whole; nothing where it is.

    Parameters
    ----------
    parts
        The fields of a record by their names.
    """
    if not parts["confirmations"]:
        return {}
    newest = newest_confirmations(parts["confirmations"])
    why = {}
    for entry in parts["canals"]:
        stored = newest.get(entry.id)
        findings = confirmation_findings(parts, entry)
        if stored is None:
            why[entry.canal.label] = "Its length was not confirmed on an image."
        elif findings:
            why[entry.canal.label] = str(findings[0])
        elif stored.verdict != "accept":
            day = f"{stored.when:%Y-%m-%d}"
            why[entry.canal.label] = (
                f"Its length-confirmation image of {day} was not accepted: {stored.verdict}."
            )
    return why
