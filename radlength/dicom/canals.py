"""What is written down of one image: every canal with its estimate, or its length in pixels where there is no scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from radlength.dicom.decision import Decision, verifying
from radlength.dicom.errors import DicomError
from radlength.dicom.source import Source
from radlength.errors import ScaleError
from radlength.geometry import fit_curve
from radlength.geometry.path import FloatArray
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.record import CanalEntry, Record, measure_entry, stated_radiograph
from radlength.scale import Frame

CURVE_POINTS = 65
"""Points of a drawn curve: the chord between two of them is shorter than the curve by less than 1 in 10 000."""


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredCanal:
    """A canal of a document.

    Parameters
    ----------
    entry
        The marks.
    estimate
        The measurement, or ``None`` where the image has no scale.
    curve_px
        The measured curve, (row, column) points, shape (65, 2).
    length_px
        Its length in pixels, or ``None`` where pixels are not square.
    decision
        What a person decided, or ``None``.
    """

    entry: CanalEntry
    estimate: Estimate | None
    curve_px: FloatArray
    length_px: float | None
    decision: Decision | None

    @property
    def label(self) -> str:
        """Tooth and name."""
        return self.entry.canal.label


@dataclass(frozen=True, slots=True, eq=False)
class Marked:
    """Everything a document is made from."""

    source: Source
    record: Record
    radiograph: Radiograph
    canals: tuple[MeasuredCanal, ...]
    verified_by: tuple[Decision, ...]

    @property
    def frame(self) -> Frame:
        """Size of a pixel."""
        return Frame.of(self.radiograph)


def marked(
    source: Source, record: Record, radiograph: Radiograph, decisions: Sequence[Decision] = ()
) -> Marked:
    """Return what is written down of an image.

    Parameters
    ----------
    source, record, radiograph
        The same image: its file, its marks, its pixels.
    decisions
        What people decided.

    Raises
    ------
    DicomError
        Nothing is marked, or a decision fits no canal.
    RecordError
        The record belongs to other pixels.
    """
    if not record.canals:
        raise DicomError(
            "no canal is marked",
            remedy="mark one: radlength mark --help",
            code="dicom-empty",
            subject=source.path.name,
        )
    verified = verifying(decisions, [entry.canal.label for entry in record.canals])
    decided = {decision.canal: decision for decision in decisions}
    shown = stated_radiograph(record, radiograph)
    canals = tuple(_measured(record, entry, radiograph, shown, decided) for entry in record.canals)
    return Marked(source, record, shown, canals, verified)


def _measured(
    record: Record, entry: CanalEntry, radiograph: Radiograph, shown: Radiograph, decided: dict[str, Decision]
) -> MeasuredCanal:
    frame = Frame.of(shown)
    curve = fit_curve(frame.to_units(entry.canal.path_px))
    square = abs(frame.row / frame.column - 1) < 1e-6
    return MeasuredCanal(
        entry=entry,
        estimate=_estimate(record, entry, radiograph),
        curve_px=curve.resample(CURVE_POINTS) / (frame.row, frame.column),
        length_px=curve.length / frame.row if square else None,
        decision=decided.get(entry.canal.label),
    )


def _estimate(record: Record, entry: CanalEntry, radiograph: Radiograph) -> Estimate | None:
    try:
        return measure_entry(record, entry, radiograph)
    except ScaleError as exc:
        if exc.code != "no-scale":
            raise
        return None
