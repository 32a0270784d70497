"""The record of one image: read, edited by making a new one, never changed in place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, PrivateAttr

from radlength._version import __version__
from radlength.errors import RecordError
from radlength.geometry import Point
from radlength.imaging import Radiograph
from radlength.imaging.pitch import LARGEST_MM, SMALLEST_MM, refuse_pitch
from radlength.length import Canal, Confirmation, Estimate, Terminus
from radlength.record.checks import check_consistent
from radlength.record.confirmed import claims_too_much, confirmation_status, marks_digest
from radlength.record.entries import canal_entry, new_entries, new_id
from radlength.record.made import made, shown
from radlength.record.models import (
    COORDINATES,
    FORMAT,
    VERSION,
    CanalEntry,
    ConfirmationStatus,
    Coordinates,
    EntryId,
    Frozen,
    HistoryEntry,
    ImageBinding,
    Producer,
    StoredConfirmation,
    StoredEstimate,
)
from radlength.record.stored import (
    before,
    binding,
    now,
    rounded_reference,
    stored_confirmation,
    stored_estimate,
)
from radlength.scale import Reference
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty import Marking

PitchMm = Annotated[float, Field(ge=SMALLEST_MM, le=LARGEST_MM)]
"""Pitch of an intra-oral detector that may be stated, in millimetres."""


class Record(Frozen):
    """Everything marked and measured on one image.

    Parameters
    ----------
    image
        The image by its pixels.
    marking
        Spread of the marks.
    references
        Things of known length, each with its own name.
    canals
        Canals, each tooth and name once.
    estimates, confirmations
        Results as they were found; only added to.
    history
        Every change; only added to.

    Notes
    -----
    Every ``with_...`` returns a new record with one more entry of history.
    """

    format: Literal["radlength-record"]
    version: Literal[2]
    caution: Annotated[str, Field(min_length=40, max_length=2000)]
    status: ConfirmationStatus
    invented: bool = False
    image: ImageBinding
    coordinates: Coordinates
    stated_pitch_mm: tuple[PitchMm, PitchMm] | None = None
    marking: Marking = Marking()
    references: tuple[Reference, ...] = ()
    canals: tuple[CanalEntry, ...]
    estimates: tuple[StoredEstimate, ...] = ()
    confirmations: tuple[StoredConfirmation, ...] = ()
    producer: Producer
    history: tuple[HistoryEntry, ...]

    _image_path: Path | None = PrivateAttr(default=None)
    _seen_sha256: str | None = PrivateAttr(default=None)
    _seen_entries: tuple[tuple[Any, ...], ...] = PrivateAttr(default=())
    _other_beside: bool = PrivateAttr(default=False)

    def model_post_init(self, _context: object) -> None:
        """Check what a schema cannot say; an older program may have called confirmed what was changed later."""
        if claims_too_much(vars(self)):
            object.__setattr__(self, "status", NOT_CONFIRMED)
        check_consistent(self)

    @property
    def image_name(self) -> str:
        """Name of the image file: as it was found, for it may have got another one since the record was made."""
        return self.image.name if self._image_path is None else self._image_path.name

    @classmethod
    def new(
        cls,
        radiograph: Radiograph,
        *,
        canals: Sequence[Canal] = (),
        references: Sequence[Reference] = (),
        canal_references: Mapping[str, str] | None = None,
        terminus: Terminus | None = None,
        marking: Marking | None = None,
        who: str | None = None,
        when: datetime | None = None,
    ) -> Self:
        """Return a record of an image.

        Parameters
        ----------
        radiograph
            The image; the record is bound to its pixels.
        canals, references
            Marks. A reference without a name gets one.
        canal_references
            Name of the reference by label (``46 MB``) or name (``MB``) of the canal. Without it a single reference
            serves every canal.
        terminus
            Offset for every canal given.
        marking
            Spread of the marks.
        who
            Who made it, optional.
        when
            Time of the entry, now by default.

        Raises
        ------
        RecordError
            Names that are there twice or nowhere, or points outside the image.
        """
        subject = radiograph.name
        named = tuple(
            ref if ref.name else replace(ref, name=f"reference {number}")
            for number, ref in enumerate(references, 1)
        )
        entries = new_entries(
            canals,
            chosen=canal_references or {},
            otherwise=named[0].name if len(named) == 1 else None,
            terminus=terminus,
            subject=subject,
        )
        record = made(
            cls,
            subject=subject,
            format=FORMAT,
            version=VERSION,
            caution=CAUTION,
            status=NOT_CONFIRMED,
            image=binding(radiograph),
            coordinates=COORDINATES,
            marking=marking or Marking(),
            references=tuple(map(rounded_reference, named)),
            canals=entries,
            producer=Producer(version=__version__),
            history=(made(HistoryEntry, subject=subject, when=when or now(), who=who, what="record made"),),
        )
        record._image_path = radiograph.path
        return record

    def entry(self, name_or_id: str) -> CanalEntry:
        """Return the canal with that id, label (``46 MB``) or name.

        Raises
        ------
        RecordError
            No such canal, or several teeth have one of that name.
        """
        found = [e for e in self.canals if name_or_id in (e.id, e.canal.label, e.canal.name)]
        if len(found) == 1:
            return found[0]
        raise RecordError(
            f"{'no' if not found else 'more than one'} canal {shown(name_or_id)!r}",
            f"one of: {', '.join(e.canal.label for e in self.canals) or 'none is marked'}",
            code="canal-unknown",
            subject=self.image_name,
        )

    def reference_of(self, entry: CanalEntry) -> Reference | None:
        """Return the reference that measures a canal."""
        return next((ref for ref in self.references if ref.name == entry.reference), None)

    def with_reference(self, reference: Reference, *, who: str | None = None) -> Self:
        """Return the record with a reference added, or replaced where one has its name."""
        if not reference.name:
            reference = replace(reference, name=self._free_name())
        old = next((ref for ref in self.references if ref.name == reference.name), None)
        new = rounded_reference(reference)
        what = f"reference {shown(reference.name)!r} marked"
        if old is None:
            return self._with(what, who, references=(*self.references, new))
        references = tuple(new if ref is old else ref for ref in self.references)
        return self._with(f"{what} again", who, details=before(old), references=references)

    def _free_name(self) -> str:
        taken = {ref.name for ref in self.references}
        return next(name for n in count(len(taken) + 1) if (name := f"reference {n}") not in taken)

    def without_reference(self, name: str, *, who: str | None = None) -> Self:
        """Return the record without a reference; its canals fall back on the header scale.

        Raises
        ------
        RecordError
            No reference has that name.
        """
        gone = next((ref for ref in self.references if ref.name == name), None)
        if gone is None:
            raise RecordError(
                f"no reference {shown(name)!r}",
                f"one of: {', '.join(ref.name for ref in self.references) or 'none is marked'}",
                code="reference-unknown",
                subject=self.image_name,
            )
        canals = tuple(
            entry.model_copy(update={"reference": None}) if entry.reference == name else entry
            for entry in self.canals
        )
        references = tuple(ref for ref in self.references if ref is not gone)
        what = f"reference {name!r} removed"
        return self._with(what, who, details=before(gone), references=references, canals=canals)

    def with_canal(
        self,
        canal: Canal,
        *,
        reference: str | None = None,
        terminus: Terminus | None = None,
        who: str | None = None,
        new_key: EntryId | None = None,
    ) -> Self:
        """Return the record with a canal added, or marked again where tooth and name are known.

        The reference and the terminus are those given: what is left out is none. A canal that is added has the id
        `new_key`, or one of its own.
        """
        old = next((entry for entry in self.canals if entry.canal.label == canal.label), None)
        key = old.id if old else new_key or new_id()
        entry = canal_entry(key, canal, reference, terminus, subject=self.image_name)
        label = shown(canal.label)
        if old is None:
            return self._with(f"canal {label} marked", who, canals=(*self.canals, entry))
        canals = self._replaced(old, entry)
        return self._with(f"canal {label} marked again", who, details=before(old), canals=canals)

    def with_names(self, names: Mapping[str, tuple[str, str]], *, who: str | None = None) -> Self:
        """Return the record with other teeth and names of canals; their ids, and what was measured on them, stay.

        Parameters
        ----------
        names
            Tooth and name by the id of the canal; all of them change at once, so that two may change places.
        who
            Who renamed them.
        """
        new = {
            key: replace(self.entry(key).canal, tooth=tooth, name=name)
            for key, (tooth, name) in names.items()
        }
        said = "; ".join(
            f"{shown(self.entry(key).canal.label)} is {shown(one.label)}" for key, one in new.items()
        )
        canals = tuple(
            entry.model_copy(update={"canal": new[entry.id]}) if entry.id in new else entry
            for entry in self.canals
        )
        return self._with(f"canals renamed: {said}", who, canals=canals)

    def without_canal(self, name_or_id: str, *, who: str | None = None) -> Self:
        """Return the record without a canal; what was measured on it stays."""
        gone = self.entry(name_or_id)
        canals = tuple(entry for entry in self.canals if entry is not gone)
        return self._with(f"canal {gone.canal.label} removed", who, details=before(gone), canals=canals)

    def with_terminus(self, name_or_id: str, terminus: Terminus | None, *, who: str | None = None) -> Self:
        """Return the record with another terminus of a canal; ``None`` takes it away."""
        old = self.entry(name_or_id)
        new = old.model_copy(update={"terminus": terminus})
        what = f"terminus of {old.canal.label}: {terminus.words if terminus else 'none'}"
        return self._with(what, who, details=before(old.terminus), canals=self._replaced(old, new))

    def _replaced(self, old: CanalEntry, new: CanalEntry) -> tuple[CanalEntry, ...]:
        return tuple(new if entry is old else entry for entry in self.canals)

    def with_marking(self, marking: Marking, *, who: str | None = None) -> Self:
        """Return the record with another spread of marks."""
        return self._with("spread of marks changed", who, details=before(self.marking), marking=marking)

    def with_stated_pitch(self, row_mm: float, column_mm: float, *, who: str | None = None) -> Self:
        """Return the record with a detector pitch stated by the user, in millimetres.

        Raises
        ------
        RecordError
            A pitch that no intra-oral detector has.
        """
        refuse_pitch(row_mm, column_mm, refusal=RecordError, subject=self.image_name)
        pitch = (float(row_mm), float(column_mm))
        what = f"detector pitch stated: {row_mm:g} x {column_mm:g} mm"
        return self._with(what, who, details=before(self.stated_pitch_mm), stated_pitch_mm=pitch)

    def with_estimate(self, canal_id: str, estimate: Estimate, *, when: datetime | None = None) -> Self:
        """Return the record with a result added; earlier results stay.

        Raises
        ------
        RecordError
            No such canal, or the result is of another one.
        """
        entry = self.entry(canal_id)
        if estimate.canal.label != entry.canal.label:
            raise RecordError(
                f"an estimate of {estimate.canal.label} given for {entry.canal.label}",
                "the estimate of the canal itself",
                code="estimate-of-another-canal",
                subject=self.image_name,
            )
        stored = stored_estimate(entry.id, estimate, when or now(), subject=self.image_name)
        what = f"canal {entry.canal.label} estimated"
        return self._with(what, None, when=stored.when, estimates=(*self.estimates, stored))

    def with_confirmation(
        self,
        canal_id: str,
        confirmation: Confirmation,
        gap_path_px: Sequence[Point],
        *,
        who: str | None = None,
        when: datetime | None = None,
    ) -> Self:
        """Return the record with a length confirmation added."""
        entry = self.entry(canal_id)
        stored = stored_confirmation(
            entry.id, confirmation, gap_path_px, when or now(), who=who, subject=self.image_name
        ).model_copy(update={"marks_sha256": marks_digest(vars(self), entry)})
        return self._with(
            f"canal {entry.canal.label} confirmed: {confirmation.verdict}",
            who,
            when=stored.when,
            confirmations=(*self.confirmations, stored),
        )

    def rebind(self, radiograph: Radiograph, *, who: str | None = None) -> Self:
        """Return the record bound to other pixels of the same size: an explicit act, kept in the history.

        Raises
        ------
        RecordError
            Rows or columns differ.
        """
        if radiograph.shape != (self.image.rows, self.image.columns):
            raise RecordError(
                f"made on {self.image.rows} x {self.image.columns} pixels, this image has "
                f"{radiograph.shape[0]} x {radiograph.shape[1]}",
                "an image of the same size",
                code="rebind-size",
                subject=self.image_name,
            )
        what = f"bound to other pixels; before: {self.image.pixel_sha256}"
        return self._with(what, who, details=before(self.image), image=binding(radiograph))

    def _with(
        self,
        what: str,
        who: str | None,
        *,
        details: str | None = None,
        when: datetime | None = None,
        **changes: Any,
    ) -> Self:
        """Return the record with fields changed, checked whole, and one entry of history."""
        subject = self.image_name
        entry = made(HistoryEntry, subject=subject, when=when or now(), who=who, what=what, details=details)
        fields = dict(self) | {"producer": Producer(version=__version__), "caution": CAUTION} | changes
        fields |= {"history": (*self.history, entry)}
        fields["status"] = confirmation_status(fields)
        try:
            changed = made(type(self), subject=subject, **fields)
        except RecordError as exc:  # the new record does not know yet where its image was found
            raise RecordError(exc.wrong, exc.allowed, exc.remedy, code=exc.code, subject=subject) from exc
        changed._image_path, changed._seen_sha256 = self._image_path, self._seen_sha256
        changed._seen_entries, changed._other_beside = self._seen_entries, self._other_beside
        return changed
