"""In which canal an instrument is said to lie; canals of two teeth often share a name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft


def owner_of(marks: Annotation, reference: ReferenceDraft) -> CanalDraft | None:
    """Return the canal among the marks that an instrument lies in; ``None`` where it is not said, or not there.

    A name that canals of several teeth have is that of the one whose marks it lies nearest to.

    Parameters
    ----------
    marks
        All canals of the image.
    reference
        The instrument.
    """
    if reference.placement != "in_canal":
        return None
    named = [one for one in marks.canals if reference.canal in one.names]
    if len(named) < 2:
        return named[0] if named else None
    marked = [one for one in named if one.path_px and reference.path_px]
    return min(marked, key=lambda one: _apart_px(one, reference), default=None)


def told_apart(before: Annotation, after: Annotation) -> Annotation:
    """Return marks after an edit, every instrument said to lie in the canal it lay in before.

    It says the canal's name alone, and the tooth too where canals of several teeth have that name or its canal is
    gone. Then a name alone is that of one canal only, as estimates and commands take it.

    Parameters
    ----------
    before, after
        The marks before and after the edit.
    """
    lay = {one.name: (one.canal, owner_of(before, one)) for one in before.references}

    def told(reference: ReferenceDraft) -> ReferenceDraft:
        said, owner = lay.get(reference.name, (None, None))
        if owner is None or said != reference.canal:
            owner = owner_of(after, reference)
        if owner is None or reference.placement != "in_canal":
            return reference
        here = next((one for one in after.canals if one.key == owner.key), None)
        alone = here is not None and sum(one.name == here.name for one in after.canals) == 1
        return replace(reference, canal=here.name if here and alone else (here or owner).label)

    return replace(after, references=tuple(map(told, after.references)))


def _apart_px(canal: CanalDraft, reference: ReferenceDraft) -> float:
    """Return how far the points of an instrument lie from the nearest marks of a canal on average."""
    away = np.subtract(np.asarray(reference.path_px)[:, None], np.asarray(canal.path_px)[None])
    return float(np.hypot(away[..., 0], away[..., 1]).min(axis=1).mean())
