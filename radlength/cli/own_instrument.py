"""Which instrument a canal is measured by, where a command looks for one: never that of another canal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from radlength.session import Session
    from radlength.session.drafts import Annotation, ReferenceDraft


def measure_by_own(session: Session) -> None:
    """Measure the current canal by the instrument that is marked in it, where there is one."""
    _measure_by(session, _own(session.annotation))


def take_instrument(session: Session) -> None:
    """Let the current canal have a reference to be marked: its own, marked already or not, else a new one.

    What measures another canal, or lies in one, stays as it is.
    """
    from radlength.scale import STAMPED_LIMIT_MM

    marks = session.annotation
    found = _own(marks) or next((one for one in marks.references if _free(marks, one)), None)
    if found is None:
        session.add_reference()
        session.apply(session.with_reference(limit_mm=STAMPED_LIMIT_MM))
    else:
        _measure_by(session, found)


def _measure_by(session: Session, found: ReferenceDraft | None) -> None:
    if found is not None and found.name != session.annotation.canal.reference:
        session.apply(session.with_canal(reference=found.name))


def _own(marks: Annotation) -> ReferenceDraft | None:
    """Return the instrument that is marked in the current canal and measures no canal of that name on another tooth."""
    elsewhere = {
        one.reference for one in marks.canals if one is not marks.canal and one.name == marks.canal.name
    }
    own = [
        one
        for one in marks.references
        if one.path_px
        and one.placement == "in_canal"
        and one.canal in marks.canal.names
        and one.name not in elsewhere
    ]
    return next((one for one in own if one.name == marks.canal.reference), own[0] if own else None)


def _free(marks: Annotation, reference: ReferenceDraft) -> bool:
    """Return whether a reference lies in no canal that is known, and measures none but the current one."""
    used = {one.reference for one in marks.canals if one is not marks.canal}
    unplaced = not reference.path_px or (reference.canal is None and reference.name == marks.canal.reference)
    return unplaced and reference.name not in used
