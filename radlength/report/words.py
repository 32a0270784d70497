"""How a measured canal is told: one place for the picture and the terminal.

A canal length is never written so that it reads as a working length.
"""

from __future__ import annotations

from radlength.length import Estimate
from radlength.quantity import Quantity, outward
from radlength.record import Record
from radlength.record.models import CONFIRMED

METHODS = {
    "in_canal": "reference in this canal",
    "borrowed": "reference borrowed from another canal",
    "beside": "reference beside the tooth",
    "fiducial": "header, calibrated by an object in the image",
    "geometry": "header, corrected for an assumed magnification",
    "detector": "header pitch over a range of magnifications",
    "undetermined": "header spacing of unknown meaning",
}
STATED_PITCH = "stated pitch over a range of magnifications"
WEIGHTS = {"serious": "serious", "question": "look again", "note": "note"}


def status_words(record: Record, *others: Record) -> str:
    """Return what the record says of confirmation, and whether the case is invented; of several see `joint_status`."""
    status, invented = joint_status(record, *others)
    return f"{status} · invented case" if invented else status


def joint_status(*records: Record) -> tuple[str, bool]:
    """Return (what they say of confirmation, whether the case is invented) of all records that a number rests on.

    They are confirmed where every one is, and invented where one is.
    """
    least = next((record for record in records if record.status != CONFIRMED), records[0])
    return least.status, any(record.invented for record in records)


def interval(quantity: Quantity) -> str:
    """Return the 95 % interval alone.

    Examples
    --------
    >>> interval(Quantity(value=20.71, u=0.22, low=20.31, high=21.18))
    '95 % interval 20.3–21.2 mm'
    >>> interval(Quantity(value=0.6, u=0.3, low=-0.01, high=1.4))
    '95 % interval -0.1–1.4 mm'
    """
    low, high = outward(quantity.low_mm, quantity.high_mm, 1)
    return f"95 % interval {low:z.1f}–{high:z.1f} mm"


def working_words(estimate: Estimate) -> tuple[str, str]:
    """Return the working length and, below it, what it ends at; or that there is none."""
    working = estimate.working_length
    if working is None or estimate.terminus is None:
        return "no working length", "no terminus stated: where to end is the clinician's choice"
    return f"working length {working}", estimate.terminus.words


def canal_words(estimate: Estimate) -> tuple[str, str]:
    """Return the canal length and, below it, what it is."""
    return f"canal length {estimate.canal_length}", f"along the curve {between_words(estimate)}"


def between_words(estimate: Estimate) -> str:
    """Return from where to where the canal length goes, with the reference point as it was named."""
    start = estimate.canal.reference_point or "the reference point"
    return f"from {start} to the marked radiographic apex"


def comparison_words(estimate: Estimate) -> str:
    """Return the lengths that are shown for comparison only."""
    straight, polyline = estimate.straight_length.value_mm, estimate.polyline_length.value_mm
    return f"straight {straight:.1f} mm, polyline {polyline:.1f} mm: for comparison only"


def scale_words(estimate: Estimate) -> str:
    """Return where the scale comes from."""
    reference = estimate.reference
    words = STATED_PITCH if estimate.pitch_stated else METHODS[estimate.method]
    return f"{words}, {reference.length_mm:g} ±{reference.limit_mm:g} mm" if reference else words


def largest_parts(estimate: Estimate, count: int = 3) -> str:
    """Return the largest parts of the uncertainty with their shares."""
    rows = zip(estimate.budget.lines, estimate.budget.shares_percent, strict=True)
    largest = sorted(rows, key=lambda row: -row[1])[:count]
    return ", ".join(f"{line.name} {share:.0f} %" for line, share in largest)
