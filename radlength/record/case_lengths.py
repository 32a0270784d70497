"""Lengths of a case: stated by a person, or taken from the kept results of an image. Never overwritten."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

from radlength.clean import typed
from radlength.errors import RecordError
from radlength.quantity import Quantity
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_copies import refuse_copy
from radlength.record.case_models import (
    ESTIMATES,
    Flaring,
    FoundInRecord,
    ImageAdded,
    LengthAdded,
    LengthMethod,
    LengthWithdrawn,
    LocatorReading,
)
from radlength.record.made import made, shown
from radlength.record.models import StoredConfirmation, StoredEstimate, StoredLength
from radlength.record.outdated import later_of, marks_changed_since
from radlength.record.record import Record
from radlength.record.stored import now, stored_length
from radlength.trade import repeat_rule, repeat_rules
from radlength.trade.end_points import Landmark
from radlength.uncertainty import Budget, BudgetLine

NOT_KEPT = "not kept with a confirmation"
MARK_SD_MM = 0.1
"""Spread of the reference point on an image where the record says nothing else: the default of a person's marks."""


def stated_length(value_mm: float, limit_mm: float, *, ruler_limit_mm: float = 0.0) -> Quantity:
    """Return a length as a person states it.

    Parameters
    ----------
    value_mm
        Stop to tip, or as reported, in millimetres.
    limit_mm
        It is known to plus or minus this, rectangular, in millimetres.
    ruler_limit_mm
        Limit of the ruler itself, shared by every length read from it, in millimetres.

    Raises
    ------
    RecordError
        A limit that is none: every length has one.

    Examples
    --------
    >>> print(stated_length(21.0, 0.5))
    21.0 mm (20.5–21.5)
    """
    numbers = (value_mm, limit_mm, ruler_limit_mm)
    if not (all(map(math.isfinite, numbers)) and limit_mm > 0 and ruler_limit_mm >= 0):
        raise RecordError(
            f"a length of {value_mm:g} mm known to ±{limit_mm:g} mm",
            "a finite length and a limit above 0: no length is exact",
            "state the limit to which it was read, 0.5 mm on most rulers",
            code="case-limit",
            subject=CASE_NAME,
        )
    lines = [BudgetLine("reading", limit_mm / math.sqrt(3), "rectangular", f"read to ±{limit_mm:g} mm")]
    if ruler_limit_mm:
        lines.append(BudgetLine("ruler", ruler_limit_mm / math.sqrt(3), "rectangular", "limit of the ruler"))
    return Budget(tuple(lines)).around(value_mm)


def add_length(
    case: Case,
    canal: str,
    length: Quantity,
    *,
    method: LengthMethod,
    flaring: Flaring,
    landmark: Landmark,
    short_mm: float = 0.0,
    measured: datetime | None = None,
    locator: LocatorReading | None = None,
    rule: str | None = None,
    source: str | None = None,
    ruler: str | None = None,
    ruler_limit_mm: float = 0.0,
    u_reference_mm: float = 0.0,
    views: int | None = None,
    replaces: int | None = None,
    why: str | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with a length of a canal, from its present reference point.

    Parameters
    ----------
    case, canal
        The case, and the canal by its label.
    length
        With its interval, see :func:`stated_length`.
    method, flaring
        How it was found, and whether before or after coronal flaring.
    landmark, short_mm
        It ends so many millimetres short of that landmark.
    measured
        When it was measured; the time of the entry without it.
    locator
        What stood on the apex locator.
    rule, source
        The rule it follows and who published it.
    ruler, ruler_limit_mm
        Name of the ruler, and the part of the limit that every length read from it shares.
    u_reference_mm
        Standard uncertainty of finding the reference point, shared by the series.
    replaces, why
        A correction: number of the length it replaces, and why.

    Raises
    ------
    RecordError
        No such canal, a field that is wrong, a correction without a reason, or a pair of views that gave a length
        already.
    """
    label = case.canal(canal).label
    entered = when or now()
    series = case.series(label)[-1].number
    if views in {pair.number for pair in case.views}:
        refuse_copy(case, label, series=series, views=views, replaces=replaces)
    return case.with_event(
        LengthAdded,
        when=entered,
        who=who,
        canal=label,
        series=series,
        method=method,
        flaring=flaring,
        measured=measured or entered,
        length=stored_length(length),
        landmark=landmark,
        short_mm=short_mm,
        ruler=ruler,
        u_ruler_mm=ruler_limit_mm / math.sqrt(3) if ruler else 0.0,
        u_reference_mm=u_reference_mm,
        rule=rule,
        source=source,
        locator=locator,
        views=views,
        replaces=replaces,
        why=why,
    )


def locator_length(reading: LocatorReading, limit_mm: float, *, ruler_limit_mm: float = 0.0) -> Quantity:
    """Return the length of an apex locator reading: what was read less the deduction."""
    return stated_length(reading.read_mm - reading.deduction_mm, limit_mm, ruler_limit_mm=ruler_limit_mm)


def locator_reading(**fields: Any) -> LocatorReading:
    """Return what stood on an apex locator; see :class:`LocatorReading`.

    Raises
    ------
    RecordError
        A field is wrong.
    """
    return made(LocatorReading, subject="apex locator", **fields)


def add_length_of_image(
    case: Case,
    canal: str,
    record: Record,
    image: int,
    *,
    flaring: Flaring,
    result: str = "newest",
    method: LengthMethod | None = None,
    record_canal: str | None = None,
    ruler: str | None = None,
    ruler_limit_mm: float = 0.0,
    replaces: int | None = None,
    why: str | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with the newest result that the record of an image keeps of a canal.

    Parameters
    ----------
    record, image
        The record and the number of its image in the case.
    result
        ``"estimate"``, ``"confirmation"``, or the newest of both.
    method
        By default a confirmation is a length-confirmation image, an estimate is named after the image's stage, see
        `ESTIMATES`.
    record_canal
        Label in the record where it differs from that in the case (a supernumerary tooth).
    ruler, ruler_limit_mm
        Name of the ruler that the instrument was set or measured with, and its own limit: shared with other lengths.

    Raises
    ------
    RecordError
        No such canal or image, the record keeps no such result, the canal has this result of the image already, the
        result is a confirmation with a serious doubt, or marks were changed after it.
    """
    label = case.canal(canal).label
    taken = case.event(image, ImageAdded)
    entry = record.entry(record_canal or label)
    kept = _newest(record, entry.id, result)
    confirmed = isinstance(kept, StoredConfirmation)
    if isinstance(kept, StoredConfirmation) and kept.serious:
        raise RecordError(
            "a confirmation with a serious doubt confirms nothing",
            "one without, or an estimate",
            "remove the doubt and confirm again, or take the estimate: --result estimate",
            code="case-confirmation-doubted",
            subject=label,
        )
    working = kept.working_length
    found = FoundInRecord(
        image=image,
        canal=entry.id,
        result="confirmation" if confirmed else "estimate",
        when=kept.when,
        algorithm=kept.algorithm or NOT_KEPT,
    )
    if marks_changed_since(record, kept):
        raise RecordError(
            f"marks, scale or terminus of {entry.canal.label} were changed after its {found.result} of "
            f"{kept.when:%Y-%m-%d}",
            "a result of the marks as they are now",
            f"make one: radlength estimate {typed(record.image_name)}, or radlength confirm --help",
            code="case-result-outdated",
            subject=label,
        )
    length = working or kept.canal_length
    entered = when or now()
    series = case.series(label)[-1].number
    refuse_copy(case, label, series=series, found=found, replaces=replaces)
    return case.with_event(
        LengthAdded,
        when=entered,
        who=who,
        canal=label,
        series=series,
        method=method or ("length-confirmation image" if confirmed else ESTIMATES[taken.stage]),
        flaring=flaring,
        measured=kept.when,
        length=length,
        landmark="radiographic apex",
        short_mm=round(kept.canal_length.value_mm - working.value_mm, 6) if working else 0.0,
        ruler=ruler,
        u_ruler_mm=ruler_limit_mm / math.sqrt(3) if ruler else 0.0,
        u_reference_mm=_reference_part(record, length, confirmed=confirmed),
        rule=_rule(kept, entry.terminus.words if entry.terminus else None),
        source=_source(kept),
        verdict=kept.verdict if isinstance(kept, StoredConfirmation) else None,
        found=found,
        replaces=replaces,
        why=why,
    )


def _newest(record: Record, key: str, result: str) -> StoredEstimate | StoredConfirmation:
    """Return the last result of a kind, or of both kinds: their order counts and not a clock."""
    kept: list[StoredEstimate | StoredConfirmation] = []
    if result in ("newest", "confirmation"):
        kept += [one for one in record.confirmations if one.canal == key][-1:]
    if result in ("newest", "estimate"):
        kept += [one for one in record.estimates if one.canal == key][-1:]
    if not kept:
        raise RecordError(
            f"the record keeps no {'result' if result == 'newest' else shown(result)} of this canal",
            "a kept estimate or confirmation",
            f"make one: radlength estimate {typed(record.image_name)}, or radlength confirm --help",
            code="case-no-result",
            subject=record.image_name,
        )
    return later_of(record, kept)


def _rule(kept: StoredEstimate | StoredConfirmation, terminus: str | None) -> str | None:
    if isinstance(kept, StoredConfirmation):
        return f"{kept.rule}; {terminus}" if terminus and kept.working_length else kept.rule
    return kept.terminus


def _source(kept: StoredEstimate | StoredConfirmation) -> str | None:
    """Return who published the rule of a confirmation; the words of a terminus name its source themselves."""
    if isinstance(kept, StoredConfirmation) and kept.rule in repeat_rules():
        return repeat_rule(kept.rule).source
    return None


def _reference_part(record: Record, length: StoredLength, *, confirmed: bool) -> float:
    """Return the part of the reference point: none by the gap method, whose set length begins at the stop."""
    return 0.0 if confirmed else min(record.marking.stop_mm, 0.7 * length.u_mm)


def correct_length(
    case: Case,
    number: int,
    *,
    why: str,
    value_mm: float | None = None,
    limit_mm: float | None = None,
    canal: str | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with a length put right: the old one stays, the new one says which it replaces and why.

    Parameters
    ----------
    number
        Of the length that was wrong.
    why
        The reason.
    value_mm, limit_mm
        The right value and its limit; what is left out stays.
    canal
        The right canal, where it was entered for another.

    Raises
    ------
    RecordError
        No such length, one that was replaced already, nothing that is put right, or a value of an image: that is
        measured again instead.
    """
    old = case.event(number, LengthAdded)
    if value_mm is None and limit_mm is None and canal is None:
        raise RecordError(
            f"nothing of length {number} is put right",
            "another value, limit or canal",
            "say which; one that should not be there at all is withdrawn",
            code="case-correct-nothing",
            subject=CASE_NAME,
        )
    if old.found is not None and (value_mm is not None or limit_mm is not None):
        raise RecordError(
            f"length {number} is a result of an image",
            "its canal may be corrected here, its value not",
            "measure the image again and add that result with --replaces",
            code="case-correct-image",
            subject=CASE_NAME,
        )
    label = case.canal(canal).label if canal is not None else old.canal
    length, locator = old.length, old.locator
    if value_mm is not None or limit_mm is not None:
        right = old.length.value_mm if value_mm is None else value_mm
        limit = _own_limit(old) if limit_mm is None else limit_mm
        ruler = old.u_ruler_mm * math.sqrt(3)
        length = stored_length(stated_length(right, limit, ruler_limit_mm=ruler))
        if locator is not None:
            locator = made(
                LocatorReading,
                subject=CASE_NAME,
                **(locator.model_dump() | {"read_mm": right + locator.deduction_mm}),
            )
    fields = {name: getattr(old, name) for name in LengthAdded.model_fields if name not in _OF_THE_ENTRY}
    fields |= {"canal": label, "length": length, "locator": locator, "replaces": number, "why": why}
    fields["series"] = old.series if label == old.canal else case.series(label)[-1].number
    refuse_copy(case, label, series=fields["series"], found=old.found, views=old.views, replaces=number)
    return case.with_event(LengthAdded, when=when, who=who, **fields)


_OF_THE_ENTRY = {"number", "entered", "who", "kind"}


def withdraw_length(
    case: Case, number: int, *, why: str, who: str | None = None, when: datetime | None = None
) -> Case:
    """Return the case with a length that should not be there taken out of what counts; it stays readable.

    Raises
    ------
    RecordError
        No such length, one that is gone already, or no reason.
    """
    case.event(number, LengthAdded)
    return case.with_event(LengthWithdrawn, when=when, who=who, length=number, why=why)


def _own_limit(old: LengthAdded) -> float:
    return math.sqrt(3 * max(old.length.u_mm**2 - old.u_ruler_mm**2, 0.0))
