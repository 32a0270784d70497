"""Doubts about a case as a whole: a clock that went back, stages out of order, what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from radlength.finding import Finding
from radlength.record.case import Case
from radlength.record.case_images import STAGES
from radlength.record.case_models import CanalAdded, Event, ImageAdded, LengthAdded

AHEAD = timedelta(hours=26)
"""A day and a little: stated times come from another time zone at most."""


def case_findings(case: Case) -> tuple[Finding, ...]:
    """Return the doubts about a case as a whole; those of a canal are in its state."""
    return (*_clock(case), *_ahead(case), *_stages(case), *_missing(case))


def _clock(case: Case) -> Iterator[Finding]:
    back = [late for early, late in pairwise(case.events) if late.entered < early.entered]
    if back:
        first = back[0]
        yield Finding(
            "case-clock-back",
            f"Event {first.number} is dated {first.entered:%Y-%m-%d %H:%M} UTC, before the event it follows: the clock "
            "of a computer was set back.",
            "The order of the events counts, not their times; check the clock.",
            "question",
        )


def _ahead(case: Case) -> Iterator[Finding]:
    standing = {one.number for canal in case.canals for one in case.lengths(canal.label)}
    standing |= {one.number for one in case.images}
    for event in (one for one in case.events if one.number in standing):
        if isinstance(event, LengthAdded) and event.measured > event.entered + AHEAD:
            yield _too_late(event, "measured", f"{event.measured:%Y-%m-%d}")
        if isinstance(event, LengthAdded) and event.found is not None:
            yield from _before_its_image(event, case.event(event.found.image, ImageAdded))
        if isinstance(event, ImageAdded) and event.taken > (event.entered + AHEAD).date():
            yield _too_late(event, "taken", f"{event.taken:%Y-%m-%d}")


def _before_its_image(event: LengthAdded, image: ImageAdded) -> Iterator[Finding]:
    if (event.measured + AHEAD).date() < image.taken:
        yield Finding(
            "case-measured-before-image",
            f"Length {event.number} was measured on {event.measured:%Y-%m-%d} on {image.path}, which was taken on "
            f"{image.taken:%Y-%m-%d}.",
            "Check the day of the image, and whether its record was made on another one.",
            "question",
            event.canal,
        )


def _too_late(event: Event, what: str, day: str) -> Finding:
    return Finding(
        "case-time-ahead",
        f"Event {event.number} was {what} on {day}, after it was entered ({event.entered:%Y-%m-%d}).",
        "Check the date, and add it again.",
        "question",
    )


def _stages(case: Case) -> Iterator[Finding]:
    taken = sorted((image for image in case.images if image.stage != "other"), key=lambda image: image.taken)
    for early, late in pairwise(taken):
        if early.taken < late.taken and STAGES.index(late.stage) < STAGES.index(early.stage):
            yield Finding(
                "case-stages-out-of-order",
                f"{late.path} ({late.stage}) was taken after {early.path} ({early.stage}).",
                "Check stage and date of both.",
                "question",
            )


def _missing(case: Case) -> Iterator[Finding]:
    if not case.images:
        yield Finding("case-no-image", "No image is in the case.", "Add an image.", "note")
    for canal in case.of_kind(CanalAdded):
        if not case.lengths(canal.label):
            yield Finding(
                "case-no-length",
                f"No length of {canal.label} is in the case.",
                "Add one: of an image, of an apex locator, or by another method.",
                "question",
                canal.label,
            )
