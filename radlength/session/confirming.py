"""What a length-confirmation image said of a canal, and whether it was read on the marks that are shown."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.record import Record
from radlength.record.confirmed import holds, marks_digest, newest_confirmations
from radlength.record.models import StoredConfirmation
from radlength.session.drafts import Annotation, CanalDraft


@dataclass(frozen=True, slots=True)
class ConfirmationShown:
    """The newest confirmation of a canal beside the marks that are shown.

    Parameters
    ----------
    stored
        The confirmation as the record keeps it.
    holds
        Whether it was read on pixels, scale, path, reference and terminus as they are shown; else its numbers belong
        to other marks.
    """

    stored: StoredConfirmation
    holds: bool


def confirmation_shown(record: Record, marks: Annotation, draft: CanalDraft) -> ConfirmationShown | None:
    """Return the newest confirmation of a canal, ``None`` where the record keeps none.

    Parameters
    ----------
    record
        As it was read or saved last.
    marks, draft
        All marks as they are shown, and the canal among them.
    """
    entry = next((entry for entry in record.canals if entry.id == draft.key), None)
    stored = None if entry is None else newest_confirmations(record.confirmations).get(entry.id)
    if entry is None or stored is None:
        return None
    canal = draft.finished()
    if canal is None or not holds(vars(record), stored):
        return ConfirmationShown(stored, holds=False)
    known = tuple(one for draft in marks.references if (one := draft.finished()) is not None)
    shown = entry.model_copy(
        update={"canal": canal, "reference": draft.reference, "terminus": draft.terminus}
    )
    same = marks_digest(vars(record) | {"references": known}, shown) == marks_digest(vars(record), entry)
    return ConfirmationShown(stored, holds=same)
