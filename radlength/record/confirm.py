"""A length-confirmation image of a canal that a record knows, read with what the record knows of it."""

from __future__ import annotations

from collections.abc import Sequence

from radlength.geometry import Point
from radlength.imaging import Radiograph
from radlength.length import Confirmation, Estimate, confirm_length
from radlength.record.measure import stated_radiograph
from radlength.record.models import CanalEntry
from radlength.record.record import Record
from radlength.scale import image_scale


def confirm_entry(
    record: Record,
    entry: CanalEntry,
    radiograph: Radiograph,
    set_length_mm: float,
    gap_px: Sequence[Point],
    *,
    estimate: Estimate,
    rule: str,
    beyond: bool = False,
    set_limit_mm: float = 0.25,
) -> Confirmation:
    """Return what a gap says, read with the scale at its canal, the terminus and the marking of the record.

    Parameters
    ----------
    record, entry
        The record, and the canal in it.
    radiograph
        The image of the record.
    set_length_mm, set_limit_mm
        Stop to tip as set, in millimetres, and half-width of the limits it is known to.
    gap_px
        (row, column) points along the canal from the tip to the radiographic apex, shape (N, 2).
    estimate
        What the marks of this canal say, see :func:`radlength.record.measure_entry`.
    rule
        Name of the rule for accepting, see :func:`radlength.trade.repeat_rules`.
    beyond
        The tip lies beyond the apex.

    Raises
    ------
    ScaleError
        No scale of any kind.
    MarkError
        A set length that is impossible, or a gap that cannot be measured.
    TradeError
        No such rule.
    """
    mm_per_px, share = image_scale(
        record.reference_of(entry),
        stated_radiograph(record, radiograph),
        canal_name=entry.canal.label,
        marking=record.marking,
    )
    return confirm_length(
        set_length_mm,
        gap_px,
        mm_per_px=mm_per_px,
        rule=rule,
        beyond=beyond,
        set_limit_mm=set_limit_mm,
        scale_share=share,
        terminus=entry.terminus,
        marking=record.marking,
        tooth=entry.canal.tooth,
        estimate=estimate,
    )
