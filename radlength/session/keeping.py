"""What a session keeps for after a crash, what it finds that others left, and what its record said of the length."""

from __future__ import annotations

from pathlib import Path

from radlength.errors import ImageError, MarkError, RecordError
from radlength.imaging import Radiograph
from radlength.length import Confirmation
from radlength.record import (
    Record,
    check_binding,
    confirm_entry,
    load_record,
    measure_entry,
    record_path,
    save_record,
)
from radlength.record.store import seen_sha256
from radlength.session.confirming import ConfirmationShown, confirmation_shown, gap_marked
from radlength.session.drafts import Annotation
from radlength.session.exchanged import FileRead
from radlength.session.unsaved import MOST, Unsaved, UnsavedFiles, dump_unsaved, read_unsaved, unsaved_path
from radlength.tracing import Tracer


class Keeping:
    """The part of a session that keeps unsaved marks, and writes over nobody else's."""

    radiograph: Radiograph
    records_dir: Path | None
    other_marks: Annotation | None
    _record: Record
    _kept: Annotation
    _files: UnsavedFiles
    _file: FileRead
    _tracers: dict[tuple[float | None, float | None], Tracer]
    inverted: bool = False

    def say_inverted(self, inverted: bool) -> None:
        """Say that greys are stored the other way round, which the file does not tell; what is traced next knows it.

        The record keeps it in the method of points that are found then and accepted; those accepted before stay.

        Raises
        ------
        ImageError
            The file says so itself: turned once more it would be taken for what it is not.
        """
        if inverted and self.radiograph.facts.photometric == "MONOCHROME1":
            raise ImageError(
                "the file itself says that bone is dark in it",
                remedy="do not say so again",
                code="inverted-twice",
                subject=self.radiograph.name,
            )
        self.inverted = inverted
        self._tracers.clear()

    def is_exchanged(self) -> bool:
        """Return whether the file of the image holds another picture by now than the one whose marks these are."""
        return self._file.is_exchanged(self.radiograph)

    @property
    def is_dirty(self) -> bool:
        """Whether there are marks that are not in the record file."""
        raise NotImplementedError

    @property
    def annotation(self) -> Annotation:
        """The marks as they stand."""
        raise NotImplementedError

    def confirmation(self, index: int | None = None) -> ConfirmationShown | None:
        """Return what the newest length-confirmation image said of a canal, ``None`` where the record keeps none.

        Parameters
        ----------
        index
            Which canal; the current one by default.
        """
        marks = self.annotation
        return confirmation_shown(
            self._record, marks, marks.canals[marks.current if index is None else index]
        )

    def to_record(self, *, who: str | None = None) -> Record:
        """Return the record with the marks that are kept."""
        raise NotImplementedError

    def save(self, *, who: str | None = None) -> Path:
        """Write the record beside the image."""
        raise NotImplementedError

    def cancel(self) -> None:
        """Show what is kept."""
        raise NotImplementedError

    def confirm_length(
        self,
        set_length_mm: float,
        *,
        rule: str,
        beyond: bool = False,
        set_limit_mm: float = 0.25,
        who: str | None = None,
    ) -> Confirmation:
        """Read the image as a length-confirmation image of the current canal, and keep what it says in the record.

        The gap runs from the tip of the instrument marked in this canal to its apex. The marks are saved first. The
        history keeps a confirmation: undo does not take it back. Where it is refused nothing is written.

        Parameters
        ----------
        set_length_mm, set_limit_mm
            Stop to tip as the instrument was set, in millimetres, and half-width of the limits it is known to.
        rule
            Name of the rule for accepting, see :func:`radlength.trade.repeat_rules`.
        beyond
            The tip lies beyond the apex.
        who
            Who confirmed.

        Raises
        ------
        MarkError
            No instrument or no apex is marked, a set length that is impossible, or what :meth:`save` refuses.
        RecordError, ScaleError, TradeError
            The record cannot be written, there is no scale, or no such rule.
        """
        self._refuse_over_other()
        marks = self._kept
        gap, missing = gap_marked(marks)
        if gap is None:
            raise MarkError(
                "the gap is not marked",
                remedy=f"{missing[0].lower()}{missing[1:].rstrip('.')}",
                code="gap-not-marked",
                subject=marks.canal.label,
            )
        record = self.to_record(who=who)
        entry = record.entry(marks.canal.label)
        before = measure_entry(record, entry, self.radiograph)
        done = confirm_entry(
            record,
            entry,
            self.radiograph,
            set_length_mm,
            gap,
            estimate=before,
            rule=rule,
            beyond=beyond,
            set_limit_mm=set_limit_mm,
        )
        self.save(who=who)
        record = self._record.with_confirmation(entry.id, done, gap, who=who)
        save_record(record, self.radiograph.path, records_dir=self.records_dir)
        self._record = record
        self.keep_unsaved()
        self.cancel()
        return done

    @property
    def left_out(self) -> tuple[str, ...]:
        """What is begun and cannot be in a record yet, each with what is missing."""
        marks = self._kept
        references = [one for one in marks.references if one.path_px and one.finished() is None]
        canals = [one for one in marks.canals if one.path_px and one.finished() is None]
        return (
            *(
                f"{one.name} ({'length' if len(one.path_px) > 1 else 'other end'} missing)"
                for one in references
            ),
            *(f"{one.label} ({'one point' if len(one.path_px) < 2 else 'tooth missing'})" for one in canals),
        )

    @property
    def _places(self) -> list[Path]:
        image = self.radiograph.path
        if image is None:
            return []
        return [unsaved_path(image, self.records_dir, number) for number in range(1, MOST + 1)]

    def keep_unsaved(self) -> None:
        """Keep marks that are not in the record in a file of their own, for after a crash; none where all are.

        Raises
        ------
        RecordError
            The folder is gone or cannot be written.
        """
        places = self._places
        if not places:
            return
        if self.is_dirty or self.left_out:
            self._refuse_without_folder()
            self._files.keep(places, dump_unsaved(self._kept, self.radiograph, seen_sha256(self._record)))
        else:
            self._files.drop(places)

    def find_unsaved(self) -> Unsaved | None:
        """Return the newest marks that somebody else kept and never saved, or ``None``.

        Those of other pixels come last. A file that holds what is marked here counts as the session's own.

        Raises
        ------
        RecordError
            There are none for these pixels, and a file that cannot be read.
        """
        refusals, strange = [], None
        for path in self._files.of_others(self._places):
            try:
                found = read_unsaved(path, self.radiograph, seen_sha256(self._record))
            except RecordError as exc:
                refusals.append(exc)
                continue
            if found.marks is None:
                strange = strange or found
            elif found.marks.content != self._kept.content:
                return found
            else:
                self._files.take_over(path)
        if refusals:
            raise refusals[0]
        return strange

    def unsaved(self) -> Annotation | None:
        """Return marks that somebody else kept and never saved, or ``None`` where there are none for these pixels.

        Raises
        ------
        RecordError
            They cannot be read.
        """
        found = self.find_unsaved()
        return None if found is None else found.marks

    def take_over(self, found: Unsaved) -> None:
        """Count unsaved marks of another time as those of this session: they go when it saves or keeps others."""
        self._files.take_over(found.path)

    def _refuse_without_tooth(self) -> None:
        if any(canal.path_px and not canal.tooth for canal in self._kept.canals):
            raise MarkError(
                "a canal is marked and its tooth is not chosen",
                "its ISO 3950 number, two digits",
                "choose the tooth, then save",
                code="tooth-not-chosen",
                subject=self.radiograph.name,
            )

    def _refuse_without_folder(self) -> None:
        """Refuse where the folder of the image is gone, as with a drive: made again it would hold no image."""
        path = self.radiograph.path
        if self.records_dir is None and path is not None and not path.parent.is_dir():
            raise RecordError(
                "the folder of the image is gone; nothing was written, the marks are in this window alone",
                remedy="bring the folder back under its name, then save",
                code="folder-gone",
                subject=self.radiograph.name,
            )

    def _refuse_over_other(self) -> None:
        """Refuse while the record that is there belongs to other pixels; it may have been moved or bound meanwhile."""
        path = self.radiograph.path
        if self.other_marks is not None and path is not None and record_path(path, self.records_dir).exists():
            check_binding(load_record(path, records_dir=self.records_dir), self.radiograph)
