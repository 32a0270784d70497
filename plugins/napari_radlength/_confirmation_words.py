"""What a length-confirmation image said, as lines to read: gap, direction, lengths, verdict. Pure: no Qt, no napari."""

from __future__ import annotations

from html import escape

from radlength.quantity import outward
from radlength.record.case_state import quantity_of
from radlength.record.models import StoredConfirmation
from radlength.session import ConfirmationShown
from radlength.trade.repeat import VERDICT_WORDS

HANGING = "margin-left: 16px; text-indent: -16px; margin-top: 2px; margin-bottom: 2px"
"""Lines under each other, each with its first line standing out."""
DOUBTED = "by the gap alone; it confirms nothing, for what is serious below"
ELSEWHERE = (
    "Read on other marks than these: pixels, scale, path, reference or terminus of this canal were changed "
    "since. Confirm the length again."
)


def short_words(shown: ConfirmationShown | None) -> str:
    """Return what must be seen beside the length of the marks: the length that was confirmed is another number."""
    if shown is None:
        return ""
    title = _title(shown.stored)
    if not shown.holds:
        return f"{title}: read on other marks, see Result"
    return f"{title}: {_length(shown.stored)}; by its rule: {shown.stored.verdict}"


def long_words(shown: ConfirmationShown | None) -> str:
    """Return all of it as lines of HTML: what was set, the gap with its direction, what both make, and the verdict."""
    if shown is None:
        return ""
    stored = shown.stored
    doubted = stored.serious and stored.verdict == "accept"
    means = DOUBTED if doubted else VERDICT_WORDS[stored.verdict]
    lines = [
        f"set length {stored.set_length_mm:.2f} mm, stop to tip",
        _gap(stored),
        f"together canal length {quantity_of(stored.canal_length)}, to the radiographic apex",
        _working(stored),
        f"rule '{stored.rule}': {stored.verdict}, {means}",
    ]
    if stored.findings:
        serious = ", one of them serious" * stored.serious
        lines.append(
            f"doubts by name{serious}: {', '.join(one.replace('-', ' ') for one in stored.findings)}"
        )
    if shown.holds:
        lines.append("the gap is drawn on the image in black and white")
    elsewhere = "" if shown.holds else f"<br><b>{escape(ELSEWHERE)}</b>"
    told = "".join(f"<p style='{HANGING}'>{escape(line)}</p>" for line in lines)
    return f"<p><b>{escape(_title(stored))}</b>{elsewhere}</p>{told}"


def _title(stored: StoredConfirmation) -> str:
    return f"Length-confirmation image of {stored.when:%Y-%m-%d}"


def _length(stored: StoredConfirmation) -> str:
    if stored.working_length is None:
        return f"canal length {quantity_of(stored.canal_length)}"
    return f"working length {quantity_of(stored.working_length)}"


def _gap(stored: StoredConfirmation) -> str:
    value, low, high = stored.gap.value_mm, stored.gap.low_mm, stored.gap.high_mm
    if value < 0:
        value, low, high = -value, -high, -low
        where, other = "the tip lies beyond the apex", "short of it"
    else:
        where, other = "the tip lies short of the apex", "beyond it"
    low, high = outward(low, high, 1)
    doubt = f"; within the interval it may lie {other}" if low < 0 else ""
    return f"gap {value:.2f} mm ({low:z.1f} to {high:z.1f}) along the canal, scale corrected: {where}{doubt}"


def _working(stored: StoredConfirmation) -> str:
    if stored.working_length is None:
        return "no working length: nobody had stated where the work ends"
    less = stored.canal_length.value_mm - stored.working_length.value_mm
    return f"working length {quantity_of(stored.working_length)}: {less:.2f} mm less"
