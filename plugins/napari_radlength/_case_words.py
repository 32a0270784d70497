"""What a case says of its canals, as lines to read: lengths in the order of measuring, decisions, what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from napari_radlength._section_result import finding_line
from radlength.length.reconcile import end_words
from radlength.record import Case, canal_state
from radlength.record.case_models import LengthAdded
from radlength.record.case_state import CanalState, quantity_of


def canal_lines(case: Case) -> str:
    """Return every canal of a case with its lengths under each other, each with its method and where it ends."""
    if not case.canals:
        return "<p>No canal is in the case: <i>radlength case add canal</i>.</p>"
    return "".join(_canal(case, canal_state(case, canal.label)) for canal in case.canals)


def canal_doubts(case: Case) -> str:
    """Return the doubts about the canals, each named."""
    lines = []
    for canal in case.canals:
        found = canal_state(case, canal.label).findings
        lines += [f"<p><b>{escape(canal.label)}</b></p>"] if found else []
        lines += map(finding_line, found)
    return "".join(lines)


def missing_words(case: Case, marked: Iterator[str]) -> str:
    """Return which canals that are marked on an image the case does not know."""
    known = {canal.label for canal in case.canals}
    unknown = [label for label in dict.fromkeys(marked) if label not in known]
    return f"Marked here and not in the case: {', '.join(unknown)}." if unknown else ""


def _canal(case: Case, state: CanalState) -> str:
    series = case.series(state.label)[-1]
    lines = [
        f"<b>{escape(state.label)}</b>: {escape(state.status_words)}",
        f"from {escape(series.words)}",
    ]
    lines += [_length(event) for event in state.lengths]
    if not state.lengths:
        lines.append("no length from this reference point yet")
    if state.decision is not None:
        made = state.decision
        lines.append(f"◆ {made.entered:%Y-%m-%d} <b>{made.value_mm:g} mm</b> decided by {escape(made.by)}")
        lines.append(f"&nbsp;&nbsp;ends {escape(end_words(made.landmark, made.short_mm))}")
    gone = len(case.lengths(state.label, corrected=True)) - len(state.lengths)
    if gone:
        lines.append(f"{gone} more: corrected, withdrawn, or from an earlier reference point")
    return f"<p>{'<br>'.join(lines)}</p>"


def _length(event: LengthAdded) -> str:
    ends = end_words(event.landmark, event.short_mm)
    value = quantity_of(event.length)
    return f"● {event.measured:%Y-%m-%d} {value}<br>&nbsp;&nbsp;{escape(event.method)}, ends {escape(ends)}"
