"""How a measured canal is told: one place for the picture and the terminal.

A canal length is never written so that it reads as a working length.
"""

from __future__ import annotations

from radlength.length import Estimate
from radlength.quantity import Quantity
from radlength.record import Record

METHODS = {
    "in_canal": "reference in this canal",
    "borrowed": "reference borrowed from another canal",
    "beside": "reference beside the tooth",
    "fiducial": "header, calibrated by an object in the image",
    "geometry": "header, corrected for an assumed magnification",
    "detector": "header pitch over a range of magnifications",
    "undetermined": "header spacing of unknown meaning",
}


def status_words(record: Record) -> str:
    """Return what the record says of confirmation, and whether the case is invented."""
    return f"{record.status} · invented case" if record.invented else record.status


def interval(quantity: Quantity) -> str:
    """Return the 95 % interval alone.

    Examples
    --------
    >>> interval(Quantity(value=20.71, u=0.22, low=20.31, high=21.18))
    '95 % interval 20.3–21.2 mm'
    """
    return f"95 % interval {quantity.low_mm:.1f}–{quantity.high_mm:.1f} mm"


def canal_lines(estimate: Estimate) -> list[tuple[str, int, int]]:
    """Return (text, size, weight) lines of the panel for one canal."""
    length, working = estimate.canal_length, estimate.working_length
    lines = [(estimate.canal.label, 24, 700)]
    if working is not None and estimate.terminus is not None:
        lines += [
            (f"working length {working.value_mm:.1f} mm", 21, 700),
            (f"{interval(working)}; {estimate.terminus.words}", 16, 400),
        ]
    else:
        lines.append(("no working length: no terminus stated", 19, 700))
    lines += [
        (f"canal length {length.value_mm:.1f} mm, to the radiographic apex", 18, 700),
        (interval(length), 16, 400),
        (
            f"straight {estimate.straight_length.value_mm:.1f} mm, polyline "
            f"{estimate.polyline_length.value_mm:.1f} mm, for comparison",
            16,
            400,
        ),
    ]
    if estimate.reference is not None:
        ref = estimate.reference
        lines.append((f"{METHODS[estimate.method]}: {ref.length_mm:g} ±{ref.limit_mm:g} mm", 16, 400))
    else:
        lines.append((METHODS[estimate.method], 16, 400))
    if estimate.magnification is not None:
        lines.append((f"magnification {estimate.magnification}", 16, 400))
    serious = [finding for finding in estimate.findings if finding.severity != "note"]
    lines += [(f"{'!' if f.severity == 'serious' else '?'} {f.sentence}", 16, 400) for f in serious[:4]]
    return lines
