"""Edits of marks as plain functions: canals and references added, removed, renamed, carried over to another image."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import Any

from radlength.errors import MarkError
from radlength.geometry import CARRIED, Assist
from radlength.record.entries import new_id
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft


def with_canal_changed(marks: Annotation, **changes: Any) -> Annotation:
    """Return marks with fields of the current canal changed."""
    canals = list(marks.canals)
    canals[marks.current] = replace(marks.canal, **changes)
    return replace(marks, canals=tuple(canals))


def with_reference_changed(marks: Annotation, **changes: Any) -> Annotation:
    """Return marks with fields of the current reference changed."""
    references = list(marks.references)
    references[marks.reference_index] = replace(marks.reference, **changes)
    return replace(marks, references=tuple(references))


def with_canal_added(marks: Annotation, tooth: str, name: str) -> Annotation:
    """Return marks with an empty canal that is current; it takes terminus and reference of the current one.

    Raises
    ------
    MarkError
        The tooth has a canal of that name.
    """
    _refuse_twice(marks, tooth, name, None)
    fresh = CanalDraft(tooth, name, terminus=marks.canal.terminus, reference=marks.canal.reference)
    return replace(marks, canals=(*marks.canals, fresh), current=len(marks.canals))


def with_canal_removed(marks: Annotation) -> Annotation:
    """Return marks without the current canal; the last one is only emptied."""
    kept = tuple(canal for n, canal in enumerate(marks.canals) if n != marks.current)
    kept = kept or (CanalDraft(marks.canal.tooth, reference=marks.canal.reference),)
    return replace(marks, canals=kept, current=min(marks.current, len(kept) - 1))


def with_canal_renamed(marks: Annotation, tooth: str, name: str) -> Annotation:
    """Return marks with another tooth and name of the current canal; an instrument lying in it goes with it.

    Raises
    ------
    MarkError
        The tooth has another canal of that name, or the name is empty.
    """
    if not name.strip():
        raise MarkError("a canal without a name", "a short name such as MB, D or single", code="canal-name")
    _refuse_twice(marks, tooth, name, marks.current)
    return with_canal_changed(marks, tooth=tooth, name=name)


def with_reference_added(marks: Annotation) -> Annotation:
    """Return marks with an empty reference that measures the current canal."""
    taken = {one.name for one in marks.references}
    name = next(name for n in count(len(taken) + 1) if (name := f"reference {n}") not in taken)
    fresh = ReferenceDraft(limit_mm=marks.reference.limit_mm, name=name)
    return replace(with_canal_changed(marks, reference=name), references=(*marks.references, fresh))


def carried_over(marks: Annotation, onto: Annotation, shape: tuple[int, int]) -> Annotation:
    """Return the marks of one image as a start on another; each point is told as carried over, with no confidence.

    Parameters
    ----------
    marks
        Of the image before.
    onto
        Of the image they are carried to; how well its marks are placed stays.
    shape
        (rows, columns) of that image. A point outside it is left out.
    """
    keys = {one.label: one.key for one in onto.canals}
    canals = tuple(
        replace(one, key=keys.get(one.label) or new_id(), **_carried(one, shape)) for one in marks.canals
    )
    references = tuple(replace(one, **_carried(one, shape)) for one in marks.references)
    return replace(onto, canals=canals, references=references, current=marks.current)


def _carried(draft: CanalDraft | ReferenceDraft, shape: tuple[int, int]) -> dict[str, Any]:
    rows, columns = shape
    path = tuple(p for p in draft.handles_px if 0 <= p[0] <= rows - 1 and 0 <= p[1] <= columns - 1)
    assists = (Assist(0, len(path) - 1, CARRIED, "1", 0.0),) if path else ()
    return {"path_px": path, "assists": assists}


def _refuse_twice(marks: Annotation, tooth: str, name: str, but: int | None) -> None:
    if any((one.tooth, one.name) == (tooth, name) for n, one in enumerate(marks.canals) if n != but):
        raise MarkError(f"{tooth} {name} is there already", remedy="give it another name", code="canal-twice")
