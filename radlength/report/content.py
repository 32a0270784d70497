"""What a report says of one tooth, as plain data: no markup, no layout. Every typed text is already harmless."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from radlength._version import __version__
from radlength.clean import clean, typed
from radlength.errors import MarkError, ReportError, ScaleError
from radlength.finding import Finding, worst_first
from radlength.imaging import Radiograph
from radlength.length import ALGORITHM, Estimate
from radlength.quantity import Quantity, outward
from radlength.record import CanalEntry, Record, measure_entry, stated_radiograph
from radlength.record.quality import ImageQuality
from radlength.report.catalogue import Words
from radlength.report.events import Event, confirmation_words, kept_lengths
from radlength.report.words import scale_words
from radlength.trade import CAUTION


@dataclass(frozen=True, slots=True)
class CanalRow:
    """One line of the table of lengths; empty texts where something was not measured, or not confirmed on an image."""

    name: str
    canal_length: str
    canal_interval: str
    working_length: str
    working_interval: str
    ends_at: str
    start: str
    method: str
    confirmed: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """Everything a report says of one tooth.

    Parameters
    ----------
    tooth, image
        Tooth and the name of the image.
    radiograph, estimates
        What the drawings are made from.
    status, decision
        What the record says of confirmation and of a decision; there is never none of the two.
    rows, events, doubts, anatomy, quality, made
        The parts of the page, in the order shown.
    patient
        What the user typed for this print, else empty.
    caution
        The caution.
    """

    tooth: str
    image: str
    radiograph: Radiograph
    estimates: tuple[Estimate, ...]
    status: str
    decision: str
    rows: tuple[CanalRow, ...]
    events: tuple[Event, ...]
    doubts: tuple[Finding, ...]
    anatomy: tuple[str, ...]
    quality: str
    made: tuple[str, ...]
    patient: str
    caution: str = CAUTION


def pages(
    record: Record,
    radiograph: Radiograph,
    *,
    words: Words | None = None,
    patient: str = "",
    quality: ImageQuality | None = None,
) -> tuple[Page, ...]:
    """Return a page for each tooth of a record, in the order of the record.

    Parameters
    ----------
    record, radiograph
        The marks and the image they belong to.
    words
        The language; English without it.
    patient
        Printed as typed; nothing of a person is taken from any file.
    quality
        Computed image quality, if it is to be shown.

    Raises
    ------
    RecordError
        The record belongs to other pixels.
    ReportError
        No canal is marked.
    """
    words = words or Words()
    teeth = dict.fromkeys(entry.canal.tooth for entry in record.canals)
    if not teeth:
        raise ReportError(
            "no canal is marked",
            remedy="mark one: radlength mark --help",
            code="report-empty",
            subject=record.image_name,
        )
    return tuple(_page(record, radiograph, tooth, words, clean(patient), quality) for tooth in teeth)


def _page(
    record: Record,
    radiograph: Radiograph,
    tooth: str,
    words: Words,
    patient: str,
    quality: ImageQuality | None,
) -> Page:
    entries = [entry for entry in record.canals if entry.canal.tooth == tooth]
    measured = [(entry, *measured_or_why(record, entry, radiograph)) for entry in entries]
    estimates = tuple(found for _, found, _ in measured if found is not None)
    doubts = [*radiograph.findings, *(f for e in estimates for f in e.findings)]
    doubts += quality.findings if quality else ()
    anatomy = dict.fromkeys(e.anatomy.words for e in estimates if e.anatomy)
    return Page(
        tooth=tooth,
        image=clean(radiograph.name),
        radiograph=stated_radiograph(record, radiograph),
        estimates=estimates,
        status=f"{record.status} · {words('invented')}" if record.invented else record.status,
        decision=words("no_decision", status=record.status)
        if record.status.startswith("estimate")
        else words("no_decision_confirmed", status=record.status),
        rows=tuple(
            replace(_row(entry, found, reason, words), confirmed=confirmation_words(record, entry, words))
            for entry, found, reason in measured
        ),
        events=kept_lengths(record, [entry.id for entry in entries], words),
        doubts=told_once(map(clean_finding, doubts)),
        anatomy=tuple(anatomy),
        quality=_quality(quality, words),
        made=_made(record, radiograph.name, words),
        patient=patient,
    )


def measured_or_why(record: Record, entry: CanalEntry, radiograph: Radiograph) -> tuple[Estimate | None, str]:
    """Return the estimate of a canal, or why there is none."""
    try:
        return measure_entry(record, entry, radiograph), ""
    except (ScaleError, MarkError) as exc:
        return None, str(exc)


def _row(entry: CanalEntry, found: Estimate | None, reason: str, words: Words) -> CanalRow:
    name = clean(entry.canal.label, 60)
    start = clean(entry.canal.reference_point, 80)
    if found is None:
        refused = words("not_measured", reason=clean(reason))
        return CanalRow(name, refused, "", words("no_working"), "", "", start, "")
    length, working = found.canal_length, found.working_length
    return CanalRow(
        name=name,
        canal_length=words("mm", value=f"{length.value_mm:.1f}"),
        canal_interval=_from_to(length, words),
        working_length=words("mm", value=f"{working.value_mm:.1f}") if working else words("no_working"),
        working_interval=_from_to(working, words) if working else "",
        ends_at=words("ends_at", terminus=clean(found.terminus.words)) if found.terminus else "",
        start=start,
        method=clean(scale_words(found)),
    )


def _from_to(length: Quantity, words: Words) -> str:
    low, high = outward(length.low_mm, length.high_mm, 1)
    return words("from_to", low=f"{low:z.1f}", high=f"{high:z.1f}")


def clean_finding(finding: Finding, subject: int = 60) -> Finding:
    """Return a finding with harmless texts, and so many characters of what it is about."""
    return Finding(
        finding.code,
        clean(finding.sentence, 1000),
        clean(finding.remedy, 1000),
        finding.severity,
        clean(finding.subject, subject) if finding.subject else None,
    )


def told_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings worst first; what is said alike of several canals once, with the name of each.

    Examples
    --------
    >>> [one.subject for one in told_once(Finding("a", "So it is.", "", "note", name) for name in ("46 MB", "46 D"))]
    ['46 MB, 46 D']
    """
    subjects: dict[tuple[Finding, bool], dict[str, None]] = {}
    for finding in findings:
        alike = subjects.setdefault((replace(finding, subject=None), finding.subject is None), {})
        alike.setdefault(finding.subject or "")
    return worst_first(replace(one, subject=", ".join(names) or None) for (one, _), names in subjects.items())


def _quality(quality: ImageQuality | None, words: Words) -> str:
    if quality is None:
        return ""
    if not quality.doubts:
        return words("no_quality_doubt", count=len(quality.measures))
    return "; ".join(clean(f"{m.name.replace('_', ' ')}: {m.why}") for m in quality.doubts)


def _made(record: Record, name: str, words: Words) -> tuple[str, ...]:
    """Return how the page was made; the file's name is that of today, not the one the record was begun with."""
    image = record.image
    return (
        words("software", version=__version__, algorithm=ALGORITHM),
        words("record_of", when=f"{record.history[-1].when:%Y-%m-%d %H:%M} UTC"),
        words(
            "pixels",
            rows=image.rows,
            columns=image.columns,
            sha=image.pixel_sha256[:16] + "…",
            rule=image.hash_rule,
        ),
        words(
            "rerun",
            command=f"radlength report {typed(clean(name))} --pdf report.pdf --html report.html",
        ),
    )


def budget_parts(estimate: Estimate) -> Sequence[tuple[str, float, float]]:
    """Return (name, share in percent, standard uncertainty in millimetres) of each part, largest first."""
    rows = zip(estimate.budget.lines, estimate.budget.shares_percent, strict=True)
    return sorted(((line.name, share, line.u_mm) for line, share in rows), key=lambda row: -row[1])
