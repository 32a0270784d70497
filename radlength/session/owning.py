"""In which canal an instrument lies, where canals of two teeth share a name: two teeth with one canal each do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from radlength.scale import Reference
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft


def owner_of(marks: Annotation, reference: ReferenceDraft) -> CanalDraft | None:
    """Return the canal among the marks that an instrument lies in; ``None`` where it is not said, or not there.

    A name that canals of several teeth have is that of the one it measures; where it measures several of them, of the
    one whose marks it lies nearest to.

    Parameters
    ----------
    marks
        All canals of the image.
    reference
        The instrument.
    """
    if reference.placement != "in_canal" or reference.canal is None:
        return None
    exact = [one for one in marks.canals if one.label == reference.canal]
    named = exact or [one for one in marks.canals if one.name == reference.canal]
    measured = [one for one in named if one.reference == reference.name]
    those = measured or named
    if len(those) < 2:
        return those[0] if those else None
    return min(those, key=lambda one: _apart(one, reference)) if reference.path_px else None


def lies_in(marks: Annotation, reference: ReferenceDraft, canal: CanalDraft) -> bool:
    """Return whether an instrument is said to lie in a canal."""
    owner = owner_of(marks, reference)
    return owner is not None and owner.key == canal.key


def as_measuring(marks: Annotation, draft: ReferenceDraft, canal: CanalDraft) -> Reference | None:
    """Return an instrument as an estimate of a canal takes it, ``None`` while its path or length is missing.

    That of another tooth's canal of the same name is told behind its tooth.

    Parameters
    ----------
    marks
        All canals of the image.
    draft
        The instrument.
    canal
        The canal that is measured.
    """
    known = draft.finished()
    if known is None or known.canal is None:
        return known
    owner = owner_of(marks, draft)
    if owner is None:
        same = known.canal == canal.name
        return replace(known, canal=f"{known.canal} of another tooth") if same else known
    if owner.key == canal.key:
        return replace(known, canal=canal.name)
    return replace(known, canal=owner.label if owner.name == canal.name else owner.name)


def told_apart(before: Annotation, after: Annotation) -> Annotation:
    """Return marks after an edit, every instrument said to lie in the canal it lay in before.

    It says the canal's name alone, and the tooth too where it is lent to a canal of that name on another tooth, or
    where its canal is gone.

    Parameters
    ----------
    before, after
        The marks before and after the edit.
    """
    old = {one.name: one for one in before.references}
    return replace(
        after,
        references=tuple(_told(before, after, one, old.get(one.name)) for one in after.references),
    )


def _told(
    before: Annotation, after: Annotation, reference: ReferenceDraft, old: ReferenceDraft | None
) -> ReferenceDraft:
    if reference.placement != "in_canal" or reference.canal is None:
        return reference
    was = owner_of(before, old) if old is not None and old.canal == reference.canal else None
    if was is None:
        owner = owner_of(after, reference)
    else:
        owner = next((one for one in after.canals if one.key == was.key), None)
        if owner is None:
            return replace(reference, canal=was.label)
    if owner is None:
        return reference
    lent = any(
        one.key != owner.key and one.name == owner.name and one.reference == reference.name
        for one in after.canals
    )
    text = owner.label if lent else owner.name
    return reference if text == reference.canal else replace(reference, canal=text)


def _apart(canal: CanalDraft, reference: ReferenceDraft) -> float:
    """Return how far the points of an instrument lie from the nearest marks of a canal on average, in pixels."""
    if not canal.path_px:
        return float("inf")
    away = np.subtract(np.asarray(reference.path_px)[:, None], np.asarray(canal.path_px)[None])
    return float(np.hypot(away[..., 0], away[..., 1]).min(axis=1).mean())
