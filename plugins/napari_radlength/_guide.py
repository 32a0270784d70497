"""What to do next, in one sentence on the image. Pure: no Qt, no napari."""

from __future__ import annotations

from napari_radlength._keys import key_of
from radlength.geometry import CARRIED
from radlength.session import Annotation, Session

OTHER_MARKS = "Dashed: marks of a record that belongs to another image: no number, no saving"
NOT_FLAT = (
    "The view is 3-D or a grid of layers: a click marks nothing. 'whole' under Image makes it flat again"
)
MARKED = 7
"""Clicks by hand after which the curve is told well."""


def all_hidden() -> str:
    """Return what is said while no mark is shown: lengths beside the image would seem to belong to nothing."""
    return f"All marks are hidden: {key_of('toggle_marks')} shows them"


def left_on(marks: Annotation, tooth: str) -> str:
    """Return which marked canals are still on a tooth that one of them was taken from; nothing where none is.

    Parameters
    ----------
    marks
        After it was taken.
    tooth
        The tooth it was on.

    Examples
    --------
    >>> from radlength.session import CanalDraft
    >>> left_on(Annotation(canals=(CanalDraft("46", "D"), CanalDraft("36", "MB", path_px=((0, 0), (9, 0))))), "36")
    'MB is still on 36: Shift+N goes to the next canal'
    """
    left = [one.name for one in marks.canals if one.tooth == tooth and one.path_px]
    if not (tooth and left):
        return ""
    *most, last = left
    said = f"{', '.join(most)} and {last} are" if most else f"{last} is"
    return f"{said} still on {tooth}: {key_of('other_canal')} goes to the next canal"


def next_step(session: Session | None, tool: str | None, *, assist: bool) -> str:
    """Return what to do next.

    Parameters
    ----------
    session
        The marks, ``None`` before an image is open.
    tool
        What clicks mark: ``"canal"``, ``"reference"``, or ``None``.
    assist
        Whether the program traces between clicks.

    Examples
    --------
    >>> next_step(None, None, assist=True)
    'Drop a radiograph on the window'
    """
    if session is None:
        return "Drop a radiograph on the window"
    if session.proposal is not None:
        return _proposed(session)
    if tool == "reference":
        return _reference(session)
    if tool == "canal":
        return _canal(session, assist=assist)
    return f"{key_of('mark_reference')}: mark the reference   {key_of('mark_canal')}: mark the canal   ?: all keys"


def _proposed(session: Session) -> str:
    found = session.proposal
    if found is None:
        return ""
    enter = f"{key_of('go_on')} accepts it, {key_of('drop')} drops it"
    what = "Instrument found" if found.what == "reference" else "Canal traced"
    if not found.trusted:
        doubt = next((one.sentence for one in found.findings if one.severity != "note"), "")
        begin = "Marks brought over," if found.method == CARRIED else f"{what}, but"
        return f"{begin} look closely: {doubt}\n{enter}; or drag the points"
    more = "" if found.what == "reference" else "; click on towards the apex, or drag a point"
    return f"{what}: {enter}{more}"


def _reference(session: Session) -> str:
    reference = session.annotation.reference
    count = len(reference.path_px)
    inside = reference.placement == "in_canal"
    if count == 0:
        what = "instrument" if inside else "reference"
        first = f"Click {'the stop of the' if inside else 'one end of the'} {what}"
        if session.annotation.canal.path_px:
            return first
        return f"{first}; no {what} there: {key_of('mark_canal')} marks the canal"
    if count == 1:
        return "Click the tip of the instrument" if inside else "Click its other end"
    if reference.length_mm is None:
        return "Type the real length of the reference in the dock, then Enter"
    return f"The reference is marked. {key_of('mark_canal')}: mark the canal"


def _canal(session: Session, *, assist: bool) -> str:
    canal = session.annotation.canal
    count = len(canal.handles_px)
    then = f"{key_of('next_canal')}: next canal   {key_of('save')}: save"
    if count == 0:
        return f"{canal.label}: click the reference point on the crown"
    if count == 1:
        return f"{canal.label}: click along the canal towards the apex"
    if not canal.tooth and (canal.assists or count >= MARKED):
        return "The canal is marked. Choose its tooth in the dock, then Enter"
    if canal.assists:
        return f"{canal.label} is marked. {then}"
    if not assist and count < MARKED:
        return f"{canal.label}: {count} clicks; on towards the apex, the last at the radiographic apex"
    return f"{canal.label}: {count} clicks. {then}"
