"""What a case says of its canals, as lines to read: lengths in the order of measuring, decisions, what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from napari_radlength._confirmation_words import HANGING
from napari_radlength._section_result import finding_line
from radlength.finding import Finding
from radlength.length.reconcile import end_words
from radlength.record import Case, canal_state
from radlength.record.case_models import Decision, LengthAdded
from radlength.record.case_state import quantity_of

MOST_SHOWN = 8
"""Lengths of a canal that are told one by one, the last ones."""
MOST_COMPARED = 200
"""More lengths of a canal than that take too long to be compared in a window."""


def canal_lines(case: Case) -> str:
    """Return every canal of a case with its lengths under each other: number, method, and where each ends."""
    if not case.canals:
        return "<p>No canal is in the case. On the command line: <i>radlength case add canal --help</i></p>"
    return "".join(_canal(case, canal.label) for canal in case.canals)


def canal_doubts(case: Case) -> str:
    """Return the doubts about the canals, each named."""
    lines = []
    for canal in case.canals:
        found = _doubts(case, canal.label)
        lines += [f"<p><b>{escape(canal.label)}, to look at:</b></p>"] if found else []
        lines += map(finding_line, found)
    return "".join(lines)


def missing_words(case: Case, marked: Iterator[str]) -> str:
    """Return which canals that are marked on an image the case does not know."""
    known = {canal.label for canal in case.canals}
    unknown = [label for label in dict.fromkeys(marked) if label not in known]
    return f"Marked here and not in the case: {', '.join(unknown)}." if unknown else ""


def _doubts(case: Case, label: str) -> tuple[Finding, ...]:
    count = len(case.present_lengths(label))
    if count <= MOST_COMPARED:
        return canal_state(case, label).findings
    return (
        Finding(
            "case-not-compared",
            f"{count} lengths are too many to be compared in the window.",
            "Compare them on the command line: radlength case show --help",
            "question",
            label,
        ),
    )


def _canal(case: Case, label: str) -> str:
    lengths, made = case.present_lengths(label), case.decision(label)
    lines = [f"<b>{escape(label)}</b>: {escape(case.status_of(label))}"]
    lines.append(f"from {escape(case.series(label)[-1].words)}")
    for note in case.notes(label):
        beside = f" {note.other if note.canal == label else note.canal}" if note.other else ""
        lines.append(f"noted: {escape(note.state + beside)}{escape(f', {note.words}') if note.words else ''}")
    if not lengths:
        lines.append("no length from this reference point yet")
    earlier = len(lengths) - MOST_SHOWN
    events = [f"{earlier} earlier, told by <i>radlength case show</i>"] if earlier > 0 else []
    events += [_length(event) for event in lengths[-MOST_SHOWN:]]
    if made is not None:
        events.append(_decision(made))
    gone = len(case.lengths(label, corrected=True)) - len(lengths)
    if gone:
        events.append(f"{gone} more: corrected, withdrawn, or from an earlier reference point")
    return f"<p>{'<br>'.join(lines)}</p>" + "".join(f"<p style='{HANGING}'>{one}</p>" for one in events)


def _decision(made: Decision) -> str:
    ends = escape(end_words(made.landmark, made.short_mm))
    return f"◆ {made.entered:%Y-%m-%d} <b>{made.value_mm:g} mm</b> decided by {escape(made.by)}, ends {ends}"


def _length(event: LengthAdded) -> str:
    ends = end_words(event.landmark, event.short_mm)
    value = quantity_of(event.length)
    when = f"{event.measured:%Y-%m-%d}, no. {event.number}"
    return f"● {when}: <b>{value}</b> {escape(event.method)}, ends {escape(ends)}"
