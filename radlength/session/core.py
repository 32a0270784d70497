"""The marks being edited: the one truth behind every window. Knows no window.

A snapshot is frozen; every edit makes a new one, so undo and redo are a list of snapshots. Layers and widgets are views
of the session: no length, undo step or saved field ever comes from them.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Hashable, Sequence
from pathlib import Path
from typing import ClassVar

from psygnal import Signal

from radlength.errors import MarkError, RadlengthError, RecordError
from radlength.geometry import Point
from radlength.imaging import Radiograph, read_radiograph
from radlength.length import Estimate
from radlength.record import (
    Record,
    check_binding,
    load_record,
    record_path,
    save_record,
    stated_radiograph,
)
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft, points
from radlength.session.editing import Edits
from radlength.session.edits import carried_over
from radlength.session.exchanged import FileRead, sign_of
from radlength.session.keeping import Keeping
from radlength.session.measuring import measured
from radlength.session.owning import told_apart
from radlength.session.polarity import as_traced
from radlength.session.proposal import (
    Proposal,
    What,
    pixel_guess,
    propose_canal,
    propose_carried,
    propose_reference,
    same_clicks,
)
from radlength.session.recorded import annotation_of, record_with, with_record_doubts
from radlength.session.runs import Runs
from radlength.session.unsaved import UnsavedFiles
from radlength.tracing import Tracer
from radlength.trade import NOT_CONFIRMED


class Session(Edits, Keeping):
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
    _KEPT: ClassVar[int] = 50

    def __init__(
        self, radiograph: Radiograph, *, record: Record | None = None, records_dir: Path | None = None
    ) -> None:
        self.radiograph = radiograph
        self.records_dir = records_dir
        self.other_marks: Annotation | None = None
        self._record = record or Record.new(radiograph)
        check_binding(self._record, radiograph)
        self._files = UnsavedFiles()
        self._file = FileRead(sign_of(radiograph.path))
        self._past: list[Annotation] = []
        self._future: list[Annotation] = []
        self._steps = Runs()
        self._shown = self._kept = self._on_disk = annotation_of(self._record)
        self._proposal: Proposal | None = None
        self._again: Callable[[], Proposal] | None = None
        self._estimates: dict[tuple[object, ...], tuple[Estimate | None, str]] = {}
        self._tracers: dict[tuple[float | None, float | None], Tracer] = {}

    @classmethod
    def open(
        cls, path: str | os.PathLike[str], *, records_dir: Path | None = None, show_other: bool = False
    ) -> Session:
        """Return a session on an image file, with its record where there is one.

        Parameters
        ----------
        path, records_dir
            The image, and a folder for records of images on read-only media.
        show_other
            Open an image whose record belongs to other pixels too: those marks are :attr:`other_marks`, to be shown;
            they give no number, and nothing is saved over them.

        Raises
        ------
        ImageError, RecordError
            The image or its record cannot be used.
        """
        sign = sign_of(Path(path))
        radiograph = read_radiograph(path)
        record = (
            load_record(path, records_dir=records_dir) if record_path(path, records_dir).exists() else None
        )
        try:
            session = cls(radiograph, record=record, records_dir=records_dir)
        except RecordError as exc:
            if not show_other or record is None or exc.code != "record-other-pixels":
                raise
            session = cls(radiograph, records_dir=records_dir)
            session.other_marks = annotation_of(record)
        session._file = FileRead(sign)
        return session

    @property
    def annotation(self) -> Annotation:
        """The marks as they stand, the preview of a drag included."""
        return self._shown

    @property
    def is_preview(self) -> bool:
        """Whether what is shown is not kept: a drag, or a proposal."""
        return self._shown is not self._kept

    @property
    def status(self) -> str:
        """What the record says of confirmation; nothing is confirmed while other marks are shown than it holds."""
        return self._record.status if self._shown.content == self._on_disk.content else NOT_CONFIRMED

    @property
    def is_invented(self) -> bool:
        """Whether the record says that its case is invented."""
        return self._record.invented

    @property
    def measured_image(self) -> Radiograph:
        """The image with the pixel pitch that somebody states here, or its record, as lengths use it."""
        pitch = self._kept.pitch_mm
        if pitch is not None and self.may_state_pitch:
            return self.radiograph.with_stated_pitch(pitch, pitch)
        return stated_radiograph(self._record, self.radiograph)

    @property
    def may_state_pitch(self) -> bool:
        """Whether a pixel pitch may be stated: the file has none."""
        return self.radiograph.scale.meaning == "none"

    @property
    def is_dirty(self) -> bool:
        """Whether there are marks that are not in the record file."""
        return self._kept.content != self._on_disk.content

    @property
    def is_unfinished(self) -> bool:
        """Whether closing would lose something: marks that are not in the record file, or a proposal."""
        return self.is_dirty or self._proposal is not None

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to do again."""
        return bool(self._future)

    def apply(self, new: Annotation, *, run: Hashable | None = None) -> None:
        """Make the marks `new`: one undo step, none where nothing changes.

        What is proposed is proposed again where its clicks stay, as when a tooth is chosen or a length is typed.

        Parameters
        ----------
        new
            The marks.
        run
            What small edits one after another are of, such as a point moved by a key: they are one step together,
            as long as each follows the last within a second.

        Raises
        ------
        MarkError
            Marks of another image are proposed, whose clicks stay: they are accepted or discarded first.
        """
        same = same_clicks(self._proposal, self._kept, new)
        if same and self._again is None and new != self._kept:
            raise self._proposal_open()
        again = self._again if same else None
        new = told_apart(self._kept, new) if new != self._kept else new
        if new != self._kept:
            if not self._steps.joins(run):
                self._past = [*self._past[-self._STEPS :], self._kept]
            elif self._past[-1] == new:
                self._past.pop()
                self._steps.end()
            self._future = []
            self._kept = new
        found = self._found(again)
        self._show(found.marks if found is not None else new, found, again)

    def preview(self, new: Annotation) -> None:
        """Show marks while something is dragged; :meth:`apply` keeps them, :meth:`cancel` does not."""
        self._show(new)

    def cancel(self) -> None:
        """Drop a preview."""
        self._show(self._kept)

    def undo(self) -> None:
        """Take the last step back."""
        self._steps.end()
        if self._past:
            self._future.append(self._kept)
            self._kept = self._past.pop()
            self._show(self._kept)

    def redo(self) -> None:
        """Do the step again that was taken back."""
        self._steps.end()
        if self._future:
            self._past.append(self._kept)
            self._kept = self._future.pop()
            self._show(self._kept)

    def estimate(self, index: int | None = None) -> tuple[Estimate | None, str]:
        """Return the estimate of a canal, or ``None`` and a sentence that says what is missing.

        Parameters
        ----------
        index
            Which canal; the current one by default.
        """
        return self._estimate_of(self._shown, self._shown.current if index is None else index)

    def _estimate_of(self, marks: Annotation, index: int) -> tuple[Estimate | None, str]:
        draft = marks.canals[index]
        pitch = marks.pitch_mm or self._record.stated_pitch_mm
        key = (draft, marks.references, marks.marking, pitch, self.radiograph.scale)
        if key not in self._estimates:
            if len(self._estimates) > self._KEPT:
                self._estimates.clear()
            self._estimates[key] = measured(marks, draft, self.measured_image)
        found, missing = self._estimates[key]
        return found and with_record_doubts(found, self._record, marks, draft), missing

    def to_record(self, *, who: str | None = None) -> Record:
        """Return the record with the marks that are kept and a new estimate of every canal that has one.

        What is only shown, a drag or a proposal, is not in it.

        Raises
        ------
        MarkError
            A canal is marked whose tooth nobody has chosen.
        """
        self._refuse_without_tooth()
        kept = self._kept
        return record_with(self._record, kept, lambda index: self._estimate_of(kept, index)[0], who)

    def save(self, *, who: str | None = None) -> Path:
        """Write the record beside the image.

        Raises
        ------
        RecordError
            Somebody else has written meanwhile, the folder is gone or cannot be written, the record that is there
            belongs to other pixels, or the file of the image holds another picture by now.
        MarkError
            Something is proposed and neither accepted nor discarded: what is shown is not what would be written. Or a
            canal is marked whose tooth nobody has chosen.
        """
        self._refuse_without_folder()
        self._file.refuse_exchanged(self.radiograph)
        self._refuse_over_other()
        if self._proposal is not None:
            raise self._proposal_open()
        self.cancel()
        record = self.to_record(who=who)
        path = save_record(record, self.radiograph.path, records_dir=self.records_dir)
        self._record, self._on_disk, self.other_marks = record, self._kept, None
        self._steps.end()
        self.keep_unsaved()
        self.saved.emit(path)
        return path

    def _proposal_open(self) -> MarkError:
        return MarkError(
            "a proposal is shown that is not accepted",
            remedy="accept it or discard it first",
            code="proposal-open",
            subject=self.radiograph.name,
        )

    @property
    def proposal(self) -> Proposal | None:
        """What is proposed and neither accepted nor discarded."""
        return self._proposal

    def propose(self, what: What = "canal", through: Sequence[Sequence[float]] | None = None) -> Proposal:
        """Show what a program makes of clicks; :meth:`accept` keeps it, :meth:`discard` and an edit of clicks drop it.

        Parameters
        ----------
        what
            The current ``"canal"``, traced through its clicks, or the instrument that is its ``"reference"``.
        through
            (row, column) pixels, shape (N, 2); the clicks that are marked by default.

        Raises
        ------
        MarkError
            No canal or instrument can be looked for there. A proposal shown before goes.
        """
        clicks = None if through is None else points(through)
        try:
            found = self._proposed(what, clicks)
        except RadlengthError:
            self.discard()
            raise
        self._show(found.marks, found, lambda: self._proposed(what, clicks))
        return found

    def _proposed(self, what: What, through: tuple[Point, ...] | None) -> Proposal:
        marks = self._kept
        draft: CanalDraft | ReferenceDraft = marks.canal if what == "canal" else marks.reference
        clicks = draft.handles_px if through is None else through
        image = as_traced(self.measured_image, inverted=self.inverted)
        pixel = pixel_guess(marks)
        if what == "canal":
            return propose_canal(marks, clicks, self._tracer(image, pixel)).on(inverted=self.inverted)
        return propose_reference(marks, clicks, image, pixel).on(inverted=self.inverted)

    def propose_marks(self, marks: Annotation, name: str) -> Proposal:
        """Show the marks of another image as a proposal, every point of them told as carried over.

        Parameters
        ----------
        marks
            Marks of the other image.
        name
            Its name.
        """
        found = propose_carried(carried_over(marks, self._kept, self.radiograph.shape), name)
        self._show(found.marks, found)
        return found

    def _found(self, again: Callable[[], Proposal] | None) -> Proposal | None:
        """Return what is proposed now, or ``None`` where nothing can be any more."""
        try:
            return None if again is None else again()
        except RadlengthError:
            return None

    def _tracer(self, image: Radiograph, pixel: float | None) -> Tracer:
        key = pixel, image.scale.row_mm
        if key not in self._tracers:
            self._tracers = {key: Tracer(image, stated_pixel_mm=pixel)}
        return self._tracers[key]

    def accept(self) -> None:
        """Keep what is proposed: one undo step. The record will say what the program placed.

        Raises
        ------
        MarkError
            Nothing is proposed.
        """
        if self._proposal is None:
            raise MarkError("nothing is proposed", remedy="trace first", code="nothing-proposed")
        marks, self._proposal = self._proposal.marks, None
        self.apply(marks)

    def discard(self) -> None:
        """Drop what is proposed; the clicks stay."""
        if self._proposal is not None:
            self._show(self._kept)

    def _show(
        self,
        new: Annotation,
        proposal: Proposal | None = None,
        again: Callable[[], Proposal] | None = None,
    ) -> None:
        self._proposal, self._again = proposal, again
        self._shown = new
        self.changed.emit(new)
