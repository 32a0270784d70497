"""Between the marks of a session and a record: what is written, what is kept as it was, what is taken away."""

from __future__ import annotations

from collections.abc import Callable

from radlength.length import Canal, Estimate
from radlength.record import CanalEntry, Record
from radlength.record.measure import record_findings, with_findings
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft
from radlength.session.owning import told_apart


def annotation_of(record: Record) -> Annotation:
    """Return the marks of a record; an empty one offers one reference and one canal to mark."""
    references = tuple(
        ReferenceDraft(
            r.path_px,
            r.length_mm,
            r.limit_mm,
            r.placement,
            r.name,
            r.canal,
            r.assists,
            r.size,
            r.taper,
            r.tip_form,
        )
        for r in record.references
    )
    canals = tuple(
        CanalDraft(
            entry.canal.tooth,
            entry.canal.name,
            entry.canal.path_px,
            entry.terminus,
            entry.reference,
            entry.canal.reference_point,
            entry.canal.straight,
            entry.canal.assists,
            key=entry.id,
        )
        for entry in record.canals
    )
    references = references or (ReferenceDraft(),)
    canals = canals or (CanalDraft(reference=references[0].name),)
    marks = Annotation(references, canals, 0, record.marking)
    return told_apart(marks, marks)


def record_with(
    record: Record, marks: Annotation, estimate: Callable[[int], Estimate | None], who: str | None
) -> Record:
    """Return the record with marks and a new estimate of every canal that has one; what is the same stays.

    Parameters
    ----------
    record
        As it was.
    marks
        As they are now.
    estimate
        Gives the estimate of the canal at a place among `marks`.
    who
        Who marked.
    """
    if record.marking != marks.marking:
        record = record.with_marking(marks.marking, who=who)
    if marks.pitch_mm is not None and record.stated_pitch_mm != (marks.pitch_mm, marks.pitch_mm):
        record = record.with_stated_pitch(marks.pitch_mm, marks.pitch_mm, who=who)
    record = _with_references(record, marks, who)
    finished = [
        (n, draft, canal) for n, draft in enumerate(marks.canals) if (canal := draft.finished()) is not None
    ]
    record = _with_names(record, [draft for _, draft, _ in finished], who)
    for index, draft, canal in finished:
        record = _with_canal(record, draft, canal, estimate(index), who)
    return record


def entry_of(record: Record, marks: Annotation, draft: CanalDraft) -> CanalEntry | None:
    """Return a canal as the record knows it: by its id, or by its name where it was deleted and marked again.

    Parameters
    ----------
    record
        As it was read or saved last.
    marks, draft
        All marks, and the canal among them.
    """
    others = {one.key for one in marks.canals}
    again = (one for one in record.canals if one.canal.label == draft.label and one.id not in others)
    return next((one for one in record.canals if one.id == draft.key), next(again, None))


def with_record_doubts(found: Estimate, record: Record, marks: Annotation, draft: CanalDraft) -> Estimate:
    """Return an estimate with what of its canal in the record is in doubt, as commands say it."""
    entry = entry_of(record, marks, draft)
    return found if entry is None else with_findings(found, record_findings(record, entry))


def _with_names(record: Record, drafts: list[CanalDraft], who: str | None) -> Record:
    """Return the record without the canals that are gone, and with the names that the others have now.

    A canal is known by its id; one that was deleted and marked again under its name takes the old id.
    """
    keys = {draft.key for draft in drafts}
    labels = {draft.label for draft in drafts}
    for entry in record.canals:
        if entry.id not in keys and entry.canal.label not in labels:
            record = record.without_canal(entry.id, who=who)
    before = {entry.id: (entry.canal.tooth, entry.canal.name) for entry in record.canals}
    names = {
        one.key: (one.tooth, one.name)
        for one in drafts
        if before.get(one.key) not in (None, (one.tooth, one.name))
    }
    for key, name in before.items():
        if key not in keys and name in names.values():
            record = record.without_canal(key, who=who)
    return record.with_names(names, who=who) if names else record


def _with_references(record: Record, marks: Annotation, who: str | None) -> Record:
    """Return the record with the references as they are now; one whose length was taken away measures nothing more."""
    names = {known.name for known in marks.references if known.finished() is not None}
    for gone in record.references:
        if gone.name not in names:
            record = record.without_reference(gone.name, who=who)
    for known in marks.references:
        reference = known.finished()
        if reference is not None and reference not in record.references:
            record = record.with_reference(reference, who=who)
    return record


def _with_canal(
    record: Record, draft: CanalDraft, canal: Canal, found: Estimate | None, who: str | None
) -> Record:
    names = {reference.name for reference in record.references}
    reference = draft.reference if draft.reference in names else None
    old = next((entry for entry in record.canals if entry.canal.label == canal.label), None)
    now = (canal, reference, draft.terminus)
    same = old is not None and (old.canal, old.reference, old.terminus) == now
    if not same:
        record = record.with_canal(
            canal, reference=reference, terminus=draft.terminus, who=who, new_key=draft.key
        )
    if found is None:
        return record
    entry = record.entry(canal.label)
    stored = [one for one in record.estimates if one.canal == entry.id][-1:]
    if same and stored and _result(stored[0]) == _result(found):
        return record
    return record.with_estimate(entry.id, found)


def _result(one: object) -> tuple[object, ...]:
    length = one.canal_length  # type: ignore[attr-defined]
    return (one.algorithm, length.value_mm, length.u_mm)  # type: ignore[attr-defined]
