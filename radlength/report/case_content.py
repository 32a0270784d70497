"""What a report says of one tooth of a case, as plain data: no markup, no layout. Every typed text is harmless."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from radlength._version import __version__
from radlength.clean import clean, typed
from radlength.errors import RadlengthError, ReportError
from radlength.finding import Finding
from radlength.imaging import read_radiograph
from radlength.length import ALGORITHM
from radlength.length.reconcile import end_words
from radlength.length.reconcile_readings import Reading
from radlength.length.trend import LengthTrend
from radlength.quantity import outward
from radlength.record import Case, load_record, stated_radiograph
from radlength.record.case_files import case_file_findings
from radlength.record.case_findings import case_findings
from radlength.record.case_images import file_sha256
from radlength.record.case_models import ImageAdded, LengthAdded, LengthWithdrawn, LocatorReading
from radlength.record.case_state import CanalState, canal_state
from radlength.report.case_chart import case_chart
from radlength.report.catalogue import Words
from radlength.report.content import clean_finding, measured_or_why, told_once
from radlength.report.drawing import Drawing
from radlength.report.overlay import image_drawing
from radlength.trade import CAUTION


@dataclass(frozen=True, slots=True)
class LengthRow:
    """One line of the table of lengths; `stands` is false where a correction or another reference point took over."""

    number: str
    canal: str
    measured: str
    how: str
    length: str
    at_apex: str
    note: str
    stands: bool


@dataclass(frozen=True, slots=True)
class CanalLine:
    """One canal: its reference point, what is noted of it, its status and its decision."""

    label: str
    series: str
    notes: str
    status: str
    decision: str
    decided: bool
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CasePage:
    """Everything a report says of one tooth of a case.

    Parameters
    ----------
    tooth, status
        The tooth, and what the case says of it.
    canals, rows
        The parts of the page, in the order shown.
    charts
        A time line for each canal with a length.
    drawings
        Images with their marks, each with its caption.
    images
        Every image of the case in words, and why one is not shown.
    doubts, made, patient, caution
        As on the page of an image.
    """

    tooth: str
    status: str
    canals: tuple[CanalLine, ...]
    rows: tuple[LengthRow, ...]
    charts: tuple[Drawing, ...]
    drawings: tuple[tuple[str, Drawing], ...]
    images: tuple[str, ...]
    doubts: tuple[Finding, ...]
    made: tuple[str, ...]
    patient: str
    caution: str = CAUTION


def case_pages(
    case: Case,
    folder: str | os.PathLike[str],
    *,
    words: Words | None = None,
    patient: str = "",
) -> tuple[CasePage, ...]:
    """Return a page for each tooth of a case.

    Parameters
    ----------
    case, folder
        The case and where its images lie.
    words
        The language; English without it.
    patient
        Printed as typed; nothing of a person is taken from any file.

    Raises
    ------
    ReportError
        No canal is in the case.
    """
    words = words or Words()
    if not case.canals:
        raise ReportError(
            "no canal is in the case",
            remedy="add one: radlength case add canal --help",
            code="report-empty",
            subject=Path(folder).name,
        )
    files = case_file_findings(case, folder)
    return tuple(_page(case, Path(folder), tooth, words, clean(patient), files) for tooth in case.teeth)


def _page(
    case: Case, folder: Path, tooth: str, words: Words, patient: str, files: tuple[Finding, ...]
) -> CasePage:
    labels = [canal.label for canal in case.canals if canal.label == f"{tooth} {canal.name}"]
    states = [canal_state(case, label) for label in labels]
    shown, told = _images(case, folder, tooth, words)
    others = {canal.label for canal in case.canals} - set(labels)
    everywhere = [finding for finding in (*files, *case_findings(case)) if finding.subject not in others]
    doubts = [*everywhere, *(f for state in states for f in state.findings)]
    status = states[0].status if all(state.status == states[0].status for state in states) else case.status
    return CasePage(
        tooth=clean(tooth, 60),
        status=f"{status} · {words('invented')}" if case.invented else status,
        canals=tuple(_canal(case, state, words) for state in states),
        rows=tuple(row for label in labels for row in _rows(case, label, words)),
        charts=tuple(case_chart(case, state, words) for state in states if state.lengths),
        drawings=shown,
        images=told,
        doubts=told_once(clean_finding(doubt, 120) for doubt in doubts),
        made=_made(case, folder, words),
        patient=patient,
    )


def _canal(case: Case, state: CanalState, words: Words) -> CanalLine:
    series = case.series(state.label)[-1]
    notes = [
        ", ".join(filter(None, (note.state, clean(note.other or "", 60), clean(note.words))))
        for note in case.notes(state.label)
    ]
    made = state.decision
    decision = words("case_undecided", status=state.status)
    if made is not None:
        decision = words(
            "case_decided",
            value=f"{made.value_mm:g}",
            end=end_words(made.landmark, made.short_mm),
            by=clean(made.by, 80),
            day=f"{made.entered:%Y-%m-%d}",
            numbers=", ".join(map(str, made.based_on)),
        )
        if made.why:
            decision += f"; {words('case_because', why=clean(made.why))}"
    return CanalLine(
        label=clean(state.label, 80),
        series=words("case_series", words=clean(series.words, 120), day=f"{series.entered:%Y-%m-%d}"),
        notes=words("case_noted", notes="; ".join(notes)) if notes else "",
        status=state.status,
        decision=decision,
        decided=made is not None,
        changes=tuple(_change(trend, words) for trend in state.trends),
    )


def _change(trend: LengthTrend, words: Words) -> str:
    change = trend.change
    low, high = outward(change.low_mm, change.high_mm, 1)
    return words(
        "case_change",
        names=", ".join(trend.names),
        value=f"{change.value:+z.1f}",
        low=f"{low:+z.1f}",
        high=f"{high:+z.1f}",
    )


def _rows(case: Case, label: str, words: Words) -> Iterator[LengthRow]:
    state = canal_state(case, label)
    moved: tuple[Reading | None, ...] = state.side_by_side.at_apex if state.side_by_side else ()
    at_apex = {event.number: one for event, one in zip(state.lengths, moved, strict=True)}
    present = {event.number for event in case.present_lengths(label)}
    gone = {e.replaces: e for e in case.of_kind(LengthAdded) if e.replaces is not None}
    taken_out = {e.length: e.why for e in case.of_kind(LengthWithdrawn)}
    for event in case.lengths(label, corrected=True):
        one = at_apex.get(event.number)
        by = gone.get(event.number)
        old = ""
        if event.number not in at_apex:
            old = words("case_copy") if event.number in present else words("case_old_series")
        if by is not None:
            old = words("case_replaced", number=by.number, why=clean(by.why or ""))
        elif event.number in taken_out:
            old = words("case_withdrawn", why=clean(taken_out[event.number]))
        yield LengthRow(
            number=str(event.number),
            canal=clean(label, 80),
            measured=f"{event.measured:%Y-%m-%d}",
            how=f"{event.method}, {event.flaring}",
            length=f"{event.length.value_mm:.1f} mm, {end_words(event.landmark, event.short_mm)}",
            at_apex=str(one.length) if one else ("" if old else words("case_not_converted")),
            note="; ".join(filter(None, (old, *_notes(event, words)))),
            stands=not old,
        )


def _notes(event: LengthAdded, words: Words) -> Iterator[str]:
    if event.locator is not None:
        yield _locator(event.locator, words)
    if event.rule:
        source = f" ({clean(event.source, 120)})" if event.source else ""
        yield words("case_rule", rule=clean(event.rule, 160)) + source
    if event.verdict:
        yield clean(event.verdict, 60)


def _locator(reading: LocatorReading, words: Words) -> str:
    parts = [f"size {reading.file_size}" if reading.file_size else "", reading.moisture or ""]
    if reading.metal_contact is not None:
        parts.append("touching metal" if reading.metal_contact else "no metal")
    if reading.stable is not None:
        parts.append("stable" if reading.stable else "not stable")
    more = "".join(f", {part}" for part in parts if part)
    return words(
        "case_locator",
        mark=clean(reading.mark, 40),
        read=f"{reading.read_mm:g}",
        deduction=f"{reading.deduction_mm:g}",
        more=more,
    )


def _images(
    case: Case, folder: Path, tooth: str, words: Words
) -> tuple[tuple[tuple[str, Drawing], ...], tuple[str, ...]]:
    shown: list[tuple[str, Drawing]] = []
    told: list[str] = []
    for image in case.images:
        caption = _caption(image, words)
        told.append(caption)
        try:
            drawing = _drawing(image, folder, tooth, words)
        except RadlengthError as exc:
            told.append(words("case_image_lost", path=clean(image.path, 120), reason=clean(str(exc))))
        else:
            shown.append((caption, drawing))
    return tuple(shown), tuple(told)


def _caption(image: ImageAdded, words: Words) -> str:
    stage = f"{image.stage} ({clean(image.label, 80)})" if image.label else image.stage
    return words(
        "case_image",
        number=image.number,
        path=clean(image.path, 120),
        stage=stage,
        day=f"{image.taken:%Y-%m-%d}",
        view=clean(image.view, 80),
    )


def _drawing(image: ImageAdded, folder: Path, tooth: str, words: Words) -> Drawing:
    """Return an image with its marks of that tooth; without marks where its record is another one now."""
    path = folder / image.path
    if file_sha256(path) != image.file_sha256:
        raise ReportError("it was edited or replaced", code="report-image-edited", subject=path.name)
    radiograph = read_radiograph(path)
    alt = words("image_alt", name=clean(path.name, 120), tooth=clean(tooth, 60))
    if image.record_path is None:
        return image_drawing(radiograph, (), alt)
    record = load_record(path)
    shown = [entry for entry in record.canals if entry.canal.tooth == tooth[:2]]
    found = [measured_or_why(record, entry, radiograph)[0] for entry in shown]
    measured = [estimate for estimate in found if estimate is not None]
    return image_drawing(stated_radiograph(record, radiograph), measured, alt)


def _made(case: Case, folder: Path, words: Words) -> tuple[str, ...]:
    last = max(event.entered for event in case.events)
    command = f"radlength case report {typed(clean(folder.name, 80))} --pdf report.pdf --html report.html"
    return (
        words("software", version=__version__, algorithm=ALGORITHM),
        words("case_of", day=f"{last:%Y-%m-%d %H:%M} UTC", count=len(case.events)),
        words("case_rerun", command=command),
    )
