"""The marks being edited: the one truth behind every window. Knows no window.

A snapshot is frozen; every edit makes a new one, so undo and redo are a list of snapshots. Layers and widgets are views
of the session: no length, undo step or saved field ever comes from them.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, ClassVar

from psygnal import Signal

from radlength.errors import MarkError, RadlengthError
from radlength.geometry import Point
from radlength.imaging import Radiograph, read_radiograph
from radlength.length import Canal, Estimate, Terminus, estimate_length
from radlength.record import (
    Record,
    check_binding,
    load_record,
    record_path,
    save_record,
    stated_radiograph,
)
from radlength.scale import STAMPED_LIMIT_MM, Placement, Reference
from radlength.uncertainty import Marking


@dataclass(frozen=True, slots=True)
class ReferenceDraft:
    """A reference while it is being marked; the path may still be empty."""

    path_px: tuple[Point, ...] = ()
    length_mm: float | None = None
    limit_mm: float = STAMPED_LIMIT_MM
    placement: Placement = "in_canal"
    name: str = "reference 1"
    canal: str | None = None

    def finished(self) -> Reference | None:
        """Return the reference, or ``None`` while its path or length is missing."""
        if len(self.path_px) < 2 or self.length_mm is None:
            return None
        return Reference(self.path_px, self.length_mm, self.limit_mm, self.placement, self.name, self.canal)


@dataclass(frozen=True, slots=True)
class CanalDraft:
    """A canal while it is being marked; the path may still be empty."""

    tooth: str = "11"
    name: str = "single"
    path_px: tuple[Point, ...] = ()
    terminus: Terminus | None = None
    reference: str | None = "reference 1"
    reference_point: str = ""

    def finished(self) -> Canal | None:
        """Return the canal, or ``None`` while its path is missing."""
        if len(self.path_px) < 2:
            return None
        return Canal(self.tooth, self.name, self.path_px, self.reference_point)


@dataclass(frozen=True, slots=True)
class Annotation:
    """All marks on one image, and which canal is current."""

    references: tuple[ReferenceDraft, ...] = (ReferenceDraft(),)
    canals: tuple[CanalDraft, ...] = (CanalDraft(),)
    current: int = 0
    marking: Marking = field(default_factory=Marking)

    @property
    def canal(self) -> CanalDraft:
        """The current canal."""
        return self.canals[self.current]

    @property
    def reference(self) -> ReferenceDraft:
        """The reference of the current canal, or the first."""
        return self.references[self.reference_index]

    @property
    def reference_index(self) -> int:
        """Place of :attr:`reference` among the references."""
        names = [reference.name for reference in self.references]
        return names.index(self.canal.reference) if self.canal.reference in names else 0


class Session:
    """Marks on one image, with undo, a live estimate and saving.

    Parameters
    ----------
    radiograph
        The image.
    record
        Marks to start from.
    records_dir
        Folder of the record, for images on read-only media.
    """

    changed = Signal(Annotation)
    saved = Signal(Path)
    _STEPS: ClassVar[int] = 500

    def __init__(
        self, radiograph: Radiograph, *, record: Record | None = None, records_dir: Path | None = None
    ) -> None:
        self.radiograph = radiograph
        self.records_dir = records_dir
        self._record = record or Record.new(radiograph)
        check_binding(self._record, radiograph)
        self._past: list[Annotation] = []
        self._future: list[Annotation] = []
        self._shown = self._kept = self._on_disk = _annotation(self._record)

    @classmethod
    def open(cls, path: str | os.PathLike[str], *, records_dir: Path | None = None) -> Session:
        """Return a session on an image file, with its record where there is one.

        Raises
        ------
        ImageError, RecordError
            The image or its record cannot be used.
        """
        radiograph = read_radiograph(path)
        record = (
            load_record(path, records_dir=records_dir) if record_path(path, records_dir).exists() else None
        )
        return cls(radiograph, record=record, records_dir=records_dir)

    @property
    def annotation(self) -> Annotation:
        """The marks as they stand, the preview of a drag included."""
        return self._shown

    @property
    def status(self) -> str:
        """What the record says of confirmation."""
        return self._record.status

    @property
    def is_dirty(self) -> bool:
        """Whether there are marks that are not in the record file."""
        return _content(self._kept) != _content(self._on_disk)

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to do again."""
        return bool(self._future)

    def apply(self, new: Annotation) -> None:
        """Make the marks `new`: one undo step, none where nothing changes."""
        if new != self._kept:
            self._past = [*self._past[-self._STEPS :], self._kept]
            self._future = []
            self._kept = new
        self._show(new)

    def preview(self, new: Annotation) -> None:
        """Show marks while something is dragged; :meth:`apply` keeps them, :meth:`cancel` does not."""
        self._show(new)

    def cancel(self) -> None:
        """Drop a preview."""
        self._show(self._kept)

    def undo(self) -> None:
        """Take the last step back."""
        if self._past:
            self._future.append(self._kept)
            self._kept = self._past.pop()
            self._show(self._kept)

    def redo(self) -> None:
        """Do the step again that was taken back."""
        if self._future:
            self._past.append(self._kept)
            self._kept = self._future.pop()
            self._show(self._kept)

    def with_canal_path(self, path: Sequence[Sequence[float]]) -> Annotation:
        """Return the marks with another path of the current canal."""
        return self.with_canal(path_px=_points(path))

    def with_reference_path(self, path: Sequence[Sequence[float]]) -> Annotation:
        """Return the marks with another path of the current reference."""
        return self.with_reference(path_px=_points(path))

    def with_canal(self, **changes: Any) -> Annotation:
        """Return the marks with fields of the current canal changed."""
        marks = self._kept
        canals = list(marks.canals)
        canals[marks.current] = replace(marks.canal, **changes)
        return replace(marks, canals=tuple(canals))

    def with_reference(self, **changes: Any) -> Annotation:
        """Return the marks with fields of the current reference changed."""
        marks = self._kept
        references = list(marks.references)
        references[marks.reference_index] = replace(marks.reference, **changes)
        return replace(marks, references=tuple(references))

    def add_canal(self, tooth: str, name: str) -> None:
        """Add an empty canal and make it current.

        Raises
        ------
        MarkError
            The tooth has a canal of that name.
        """
        marks = self._kept
        if any((canal.tooth, canal.name) == (tooth, name) for canal in marks.canals):
            raise MarkError(
                f"{tooth} {name} is there already", remedy="give it another name", code="canal-twice"
            )
        fresh = CanalDraft(tooth, name, terminus=marks.canal.terminus, reference=marks.canal.reference)
        self.apply(replace(marks, canals=(*marks.canals, fresh), current=len(marks.canals)))

    def remove_canal(self) -> None:
        """Remove the current canal; the last one is only emptied."""
        marks = self._kept
        kept = tuple(canal for n, canal in enumerate(marks.canals) if n != marks.current)
        kept = kept or (CanalDraft(marks.canal.tooth),)
        self.apply(replace(marks, canals=kept, current=min(marks.current, len(kept) - 1)))

    def select(self, index: int) -> None:
        """Make another canal current. Not an undo step."""
        self._kept = replace(self._kept, current=index)
        self._show(self._kept)

    def take_back(self, what: str) -> None:
        """Remove the last click of the ``"canal"`` or the ``"reference"``."""
        if what == "canal":
            self.apply(self.with_canal(path_px=self._kept.canal.path_px[:-1]))
        else:
            self.apply(self.with_reference(path_px=self._kept.reference.path_px[:-1]))

    def estimate(self, index: int | None = None) -> tuple[Estimate | None, str]:
        """Return the estimate of a canal, or ``None`` and a sentence that says what is missing.

        Parameters
        ----------
        index
            Which canal; the current one by default.
        """
        marks = self._shown
        draft = marks.canals[marks.current if index is None else index]
        try:
            canal = draft.finished()
            if canal is None:
                return None, "Mark the canal: first the reference point, last the radiographic apex."
            reference = next((r for r in marks.references if r.name == draft.reference), None)
            known = reference.finished() if reference is not None else None
            if reference is not None and known is None and reference.path_px:
                return None, "Mark both ends of the reference and give its length in millimetres."
            image = stated_radiograph(self._record, self.radiograph)
            found = estimate_length(
                canal, known, radiograph=image, terminus=draft.terminus, marking=marks.marking
            )
        except RadlengthError as exc:
            return None, str(exc)
        return found, ""

    def to_record(self, *, who: str | None = None) -> Record:
        """Return the record with the marks of the session and a new estimate of every canal that has one."""
        record, marks = self._record, self._kept
        if record.marking != marks.marking:
            record = record.with_marking(marks.marking, who=who)
        for known in marks.references:
            reference = known.finished()
            if reference is not None and reference not in record.references:
                record = record.with_reference(reference, who=who)
        finished = [(draft, draft.finished()) for draft in marks.canals]
        labels = {canal.label for _, canal in finished if canal is not None}
        for entry in record.canals:
            if entry.canal.label not in labels:
                record = record.without_canal(entry.id, who=who)
        for index, (draft, canal) in enumerate(finished):
            if canal is not None:
                record = self._recorded(record, index, draft, canal, who)
        return record

    def _recorded(
        self, record: Record, index: int, draft: CanalDraft, canal: Canal, who: str | None
    ) -> Record:
        names = {reference.name for reference in record.references}
        reference = draft.reference if draft.reference in names else None
        old = next((entry for entry in record.canals if entry.canal.label == canal.label), None)
        same = old is not None and (old.canal, old.reference, old.terminus) == (
            canal,
            reference,
            draft.terminus,
        )
        if not same:
            record = record.with_canal(canal, reference=reference, terminus=draft.terminus, who=who)
        found, _ = self.estimate(index)
        if found is None:
            return record
        entry = record.entry(canal.label)
        stored = [one for one in record.estimates if one.canal == entry.id][-1:]
        same_result = stored and (
            stored[0].algorithm,
            stored[0].canal_length.value_mm,
            stored[0].canal_length.u_mm,
        ) == (
            found.algorithm,
            found.canal_length.value_mm,
            found.canal_length.u_mm,
        )
        return record if same and same_result else record.with_estimate(entry.id, found)

    def save(self, *, who: str | None = None) -> Path:
        """Write the record beside the image.

        Raises
        ------
        RecordError
            Somebody else has written meanwhile, or the folder cannot be written.
        """
        self.cancel()
        record = self.to_record(who=who)
        path = save_record(record, self.radiograph.path, records_dir=self.records_dir)
        self._record, self._on_disk = record, self._kept
        self.saved.emit(path)
        return path

    def _show(self, new: Annotation) -> None:
        self._shown = new
        self.changed.emit(new)


def _points(path: Sequence[Sequence[float]]) -> tuple[Point, ...]:
    """Return points as they will be kept: to a thousandth of a pixel."""
    return tuple((round(float(row), 3), round(float(column), 3)) for row, column in path)


def _content(marks: Annotation) -> Annotation:
    return replace(marks, current=0)


def _annotation(record: Record) -> Annotation:
    """Return the marks of a record; an empty one offers one reference and one canal to mark."""
    references = tuple(
        ReferenceDraft(r.path_px, r.length_mm, r.limit_mm, r.placement, r.name, r.canal)
        for r in record.references
    )
    canals = tuple(
        CanalDraft(
            e.canal.tooth, e.canal.name, e.canal.path_px, e.terminus, e.reference, e.canal.reference_point
        )
        for e in record.canals
    )
    references = references or (ReferenceDraft(),)
    canals = canals or (CanalDraft(reference=references[0].name),)
    return Annotation(references, canals, 0, record.marking)
