"""The record of one image: read, edited by making a new one, never changed in place."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, PrivateAttr

from radlength._version import __version__
from radlength.errors import RecordError
from radlength.imaging import Radiograph
from radlength.length import Canal, Confirmation, Estimate, Terminus
from radlength.quantity import Quantity
from radlength.record.checks import check_consistent
from radlength.record.models import (
    FORMAT,
    VERSION,
    CanalEntry,
    Coordinates,
    Frozen,
    HistoryEntry,
    ImageBinding,
    Producer,
    StoredConfirmation,
    StoredEstimate,
    StoredLength,
)
from radlength.scale import Reference
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty import Marking

CONFIRMED = "confirmed on an image"
DECIMALS = 3
"""Points are kept to a thousandth of a pixel."""


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

    format: Literal["radlength-record"] = FORMAT  # type: ignore[assignment]
    version: Literal[1] = VERSION  # type: ignore[assignment]
    caution: Annotated[str, Field(min_length=40)] = CAUTION
    status: Literal["estimate, not confirmed", "confirmed on an image"] = NOT_CONFIRMED  # type: ignore[assignment]
    invented: bool = False
    image: ImageBinding
    coordinates: Coordinates = Coordinates()
    stated_pitch_mm: tuple[float, float] | None = None
    marking: Marking = Marking()
    references: tuple[Reference, ...] = ()
    canals: tuple[CanalEntry, ...] = ()
    estimates: tuple[StoredEstimate, ...] = ()
    confirmations: tuple[StoredConfirmation, ...] = ()
    producer: Producer
    history: tuple[HistoryEntry, ...]

    _image_path: Path | None = PrivateAttr(default=None)
    _seen_sha256: str | None = PrivateAttr(default=None)

    def model_post_init(self, _context: object) -> None:
        """Check what a schema cannot say."""
        check_consistent(self)

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
            Name of the reference by name of the canal. Without it a single reference serves every canal.
        terminus
            Offset for every canal given.
        marking
            Spread of the marks.
        who
            Who made it, optional.
        when
            Time of the entry, now by default.
        """
        named = tuple(
            ref if ref.name else replace(ref, name=f"reference {number}")
            for number, ref in enumerate(references, 1)
        )
        single = named[0].name if len(named) == 1 else None
        chosen = canal_references or {}
        entries = tuple(
            CanalEntry(
                id=uuid.uuid4().hex,
                canal=_rounded_canal(canal),
                reference=chosen.get(canal.name, single),
                terminus=terminus,
            )
            for canal in canals
        )
        record = cls(
            image=_binding(radiograph),
            marking=marking or Marking(),
            references=tuple(map(_rounded_reference, named)),
            canals=entries,
            producer=Producer(version=__version__),
            history=(HistoryEntry(when=when or _now(), who=who, what="record made"),),
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
            f"{'no' if not found else 'more than one'} canal {name_or_id!r}",
            f"one of: {', '.join(e.canal.label for e in self.canals) or 'none is marked'}",
            code="canal-unknown",
            subject=self.image.name,
        )

    def reference_of(self, entry: CanalEntry) -> Reference | None:
        """Return the reference that measures a canal."""
        return next((ref for ref in self.references if ref.name == entry.reference), None)

    def with_reference(self, reference: Reference, *, who: str | None = None) -> Self:
        """Return the record with a reference added, or replaced where one has its name."""
        if not reference.name:
            reference = replace(reference, name=f"reference {len(self.references) + 1}")
        kept = [ref for ref in self.references if ref.name != reference.name]
        verb = "marked again" if len(kept) < len(self.references) else "marked"
        references = (*kept, _rounded_reference(reference))
        return self._with(f"reference {reference.name!r} {verb}", who, references=references)

    def without_reference(self, name: str, *, who: str | None = None) -> Self:
        """Return the record without a reference; its canals fall back on the header scale."""
        canals = tuple(
            entry.model_copy(update={"reference": None}) if entry.reference == name else entry
            for entry in self.canals
        )
        references = tuple(ref for ref in self.references if ref.name != name)
        return self._with(f"reference {name!r} removed", who, references=references, canals=canals)

    def with_canal(
        self,
        canal: Canal,
        *,
        reference: str | None = None,
        terminus: Terminus | None = None,
        who: str | None = None,
    ) -> Self:
        """Return the record with a canal added, or marked again where tooth and name are known."""
        old = next((entry for entry in self.canals if entry.canal.label == canal.label), None)
        entry = CanalEntry(
            id=old.id if old else uuid.uuid4().hex,
            canal=_rounded_canal(canal),
            reference=reference,
            terminus=terminus,
        )
        canals = tuple(entry if e is old else e for e in self.canals) if old else (*self.canals, entry)
        return self._with(f"canal {canal.label} marked{' again' if old else ''}", who, canals=canals)

    def without_canal(self, name_or_id: str, *, who: str | None = None) -> Self:
        """Return the record without a canal; what was measured on it stays."""
        gone = self.entry(name_or_id)
        canals = tuple(entry for entry in self.canals if entry is not gone)
        return self._with(f"canal {gone.canal.label} removed", who, canals=canals)

    def with_marking(self, marking: Marking, *, who: str | None = None) -> Self:
        """Return the record with another spread of marks."""
        return self._with("spread of marks changed", who, marking=marking)

    def with_stated_pitch(self, row_mm: float, column_mm: float, *, who: str | None = None) -> Self:
        """Return the record with a detector pitch stated by the user, in millimetres."""
        pitch = (float(row_mm), float(column_mm))
        return self._with(f"detector pitch stated: {row_mm:g} x {column_mm:g} mm", who, stated_pitch_mm=pitch)

    def with_estimate(self, canal_id: str, estimate: Estimate, *, when: datetime | None = None) -> Self:
        """Return the record with a result added; earlier results stay."""
        entry = self.entry(canal_id)
        stored = StoredEstimate(
            canal=entry.id,
            when=when or _now(),
            algorithm=estimate.algorithm,
            software=f"radlength {__version__}",
            method=estimate.method,
            canal_length=_stored(estimate.canal_length),
            working_length=_stored(estimate.working_length) if estimate.working_length else None,
            terminus=estimate.terminus.words if estimate.terminus else None,
            findings=tuple(finding.code for finding in estimate.findings),
        )
        return self._with(
            f"canal {entry.canal.label} estimated",
            None,
            when=stored.when,
            estimates=(*self.estimates, stored),
        )

    def with_confirmation(
        self,
        canal_id: str,
        confirmation: Confirmation,
        gap_path_px: Sequence[tuple[float, float]],
        *,
        who: str | None = None,
        when: datetime | None = None,
    ) -> Self:
        """Return the record with a length confirmation added."""
        entry = self.entry(canal_id)
        working = confirmation.working_length
        stored = StoredConfirmation(
            canal=entry.id,
            when=when or _now(),
            who=who,
            set_length_mm=confirmation.set_length_mm,
            gap_path_px=_rounded(gap_path_px),
            gap=_stored(confirmation.gap),
            canal_length=_stored(confirmation.canal_length),
            working_length=_stored(working) if working else None,
            rule=confirmation.rule.name,
            verdict=confirmation.verdict,
            findings=tuple(finding.code for finding in confirmation.findings),
        )
        return self._with(
            f"canal {entry.canal.label} confirmed: {confirmation.verdict}",
            who,
            when=stored.when,
            confirmations=(*self.confirmations, stored),
            status=CONFIRMED,
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
                subject=self.image.name,
            )
        what = f"bound to other pixels; before: {self.image.pixel_sha256}"
        return self._with(what, who, image=_binding(radiograph))

    def _with(self, what: str, who: str | None, *, when: datetime | None = None, **changes: Any) -> Self:
        entry = HistoryEntry(when=when or _now(), who=who, what=what)
        producer = Producer(version=__version__)
        changed = self.model_copy(update={**changes, "producer": producer, "history": (*self.history, entry)})
        check_consistent(changed)
        return changed


def _binding(radiograph: Radiograph) -> ImageBinding:
    rows, columns = radiograph.shape
    return ImageBinding(
        name=radiograph.name,
        rows=rows,
        columns=columns,
        pixel_sha256=radiograph.pixel_sha256,
        hash_rule=radiograph.hash_rule,
        orientation=radiograph.facts.orientation,
    )


def _stored(quantity: Quantity) -> StoredLength:
    return StoredLength(
        value_mm=quantity.value_mm, u_mm=quantity.u_mm, low_mm=quantity.low_mm, high_mm=quantity.high_mm
    )


def _rounded(path: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(row), DECIMALS), round(float(column), DECIMALS)) for row, column in path)


def _rounded_canal(canal: Canal) -> Canal:
    return replace(canal, path_px=_rounded(canal.path_px))


def _rounded_reference(reference: Reference) -> Reference:
    return replace(reference, path_px=_rounded(reference.path_px))


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
