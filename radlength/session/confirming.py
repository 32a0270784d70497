"""Reading a length-confirmation image on the marks that are there, and whether one was read on those that are shown."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.errors import RadlengthError
from radlength.geometry import Point
from radlength.record import CanalEntry, Record
from radlength.record.confirmed import holds, marks_digest, newest_confirmations
from radlength.record.models import StoredConfirmation
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft
from radlength.session.recorded import entry_of

NO_APEX = "Mark this canal to its radiographic apex: the gap ends there."
NO_INSTRUMENT = (
    "Mark the instrument that lies in this canal, stop and tip, give its length and let it measure the canal: the gap "
    "starts at its tip."
)


def instrument_in_canal(marks: Annotation) -> ReferenceDraft | None:
    """Return the instrument that lies in the current canal and measures it, ``None`` where none is marked.

    Another one is not taken: a confirmation would not tell that its tip was moved. Where it is not said in which canal
    an instrument lies, it lies in the only one.
    """
    canal = marks.canal
    here = (*canal.names, None) if len(marks.canals) == 1 else canal.names
    return next(
        (
            one
            for one in marks.references
            if one.name == canal.reference
            and one.placement == "in_canal"
            and one.canal in here
            and len(one.path_px) > 1
            and one.length_mm is not None
        ),
        None,
    )


def gap_marked(marks: Annotation) -> tuple[tuple[Point, Point] | None, str]:
    """Return the gap that is marked in the current canal, or ``None`` and a sentence that says what is missing.

    Two points do: from the tip of the instrument in the canal to the apex. The reading of the image follows the canal
    between them, see :func:`radlength.length.gap_place.gap_place`.
    """
    instrument = instrument_in_canal(marks)
    if len(marks.canal.path_px) < 2:
        return None, NO_APEX
    if instrument is None:
        return None, NO_INSTRUMENT
    return (instrument.path_px[-1], marks.canal.path_px[-1]), ""


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
    entry = entry_of(record, marks, draft)
    stored = None if entry is None else newest_confirmations(record.confirmations).get(entry.id)
    if entry is None or stored is None:
        return None
    return ConfirmationShown(
        stored, holds=_same_marks(record, entry, marks, draft) and holds(vars(record), stored)
    )


def _same_marks(record: Record, entry: CanalEntry, marks: Annotation, draft: CanalDraft) -> bool:
    """Return whether a canal is shown as the record keeps it; a length that is no instrument's is none it keeps."""
    try:
        canal = draft.finished()
        known = tuple(one for draft in marks.references if (one := draft.finished()) is not None)
    except RadlengthError:
        return False
    if canal is None:
        return False
    shown = entry.model_copy(
        update={"canal": canal, "reference": draft.reference, "terminus": draft.terminus}
    )
    pitch = record.stated_pitch_mm if marks.pitch_mm is None else (marks.pitch_mm, marks.pitch_mm)
    parts = vars(record) | {"references": known, "stated_pitch_mm": pitch}
    return marks_digest(parts, shown) == marks_digest(vars(record), entry)
