"""Invented cases: the published two-stage example, a full one, and one of a thousand events."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import tifffile
from helpers.records import GAP, radiograph, small_record

from radlength.length import Terminus, confirm_length
from radlength.record import (
    Case,
    add_canal,
    add_image,
    add_length,
    add_length_of_image,
    load_record,
    measure_record,
    save_record,
    stated_length,
)
from radlength.record.case_decide import decide
from radlength.record.case_lengths import locator_length, locator_reading

NOON = datetime(2026, 1, 2, 12, 0, tzinfo=UTC)
APEX, FORAMEN = "radiographic apex", "apical foramen"


def with_canal(case: Case | None = None, tooth: str = "46", name: str = "MB") -> Case:
    """Return a case with one canal."""
    case = case or Case.new(invented=True)
    return add_canal(case, tooth, name, reference_point="mesiobuccal cusp", when=NOON)


def with_length(case: Case, value_mm: float = 21.0, canal: str = "46 MB", **more) -> Case:
    """Return the case with a tactile length, or another where the keywords say so."""
    fields = {"method": "tactile", "flaring": "before flaring", "landmark": APEX, "when": NOON} | more
    return add_length(case, canal, stated_length(value_mm, fields.pop("limit_mm", 0.5)), **fields)


def with_locator(case: Case, read_mm: float = 21.5, canal: str = "46 MB", **more) -> Case:
    """Return the case with an apex locator reading of half a millimetre's deduction."""
    state = {"moisture": "moist", "metal_contact": False, "stable": True} | more.pop("state", {})
    reading = locator_reading(mark="0.0", read_mm=read_mm, deduction_mm=0.5, file_size=15, **state)
    fields = {"method": "apex locator", "flaring": "before flaring", "landmark": FORAMEN, "when": NOON} | more
    length = locator_length(reading, 0.5)
    return add_length(case, canal, length, short_mm=0.5, locator=reading, **fields)


def with_decision(case: Case, value_mm: float = 21.0, canal: str = "46 MB", **more) -> Case:
    """Return the case with a decision that an invented person makes."""
    fields = {
        "landmark": APEX,
        "short_mm": 0.0,
        "by": "invented person",
        "based_on": [event.number for event in case.present_lengths(canal)],
        "when": NOON,
    }
    return decide(case, canal, value_mm=value_mm, **(fields | more))


def write_marked_image(folder: Path, name: str = "tooth.tif") -> Path:
    """Write the invented image with a record that keeps an estimate and a confirmation."""
    path = folder / name
    tifffile.imwrite(path, radiograph().stored)
    image = radiograph(name=name)
    record = small_record(image)
    entry, found = measure_record(record, image)[0]
    record = record.with_estimate(entry.id, found, when=NOON)
    done = confirm_length(
        21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm", terminus=Terminus(offset_mm=1.0)
    )
    save_record(record.with_confirmation(entry.id, done, GAP, when=NOON + timedelta(hours=1)), path)
    return path


def full_case(folder: Path) -> Case:
    """Return a case with an image, two canals, lengths by three methods, and nothing decided."""
    write_marked_image(folder)
    case = Case.new(invented=True)
    case = add_image(case, folder, "tooth.tif", stage="working length", taken=date(2026, 1, 2), when=NOON)
    case = with_canal(with_canal(case), name="D")
    record = load_record(folder / "tooth.tif")
    case = add_length_of_image(
        case, "46 MB", record, 1, flaring="before flaring", result="estimate", when=NOON
    )
    case = add_length_of_image(case, "46 MB", record, 1, flaring="before flaring", when=NOON)
    case = with_locator(case)
    return with_length(case, canal="46 D")


def long_case(count: int = 1000) -> Case:
    """Return a case of that many events."""
    case = with_canal()
    step = case.events[-1]
    case = with_length(case)
    first = case.events[-1]
    more = tuple(
        first.model_copy(update={"number": number, "measured": NOON + timedelta(minutes=number)})
        for number in range(len(case.events) + 1, count + 1)
    )
    assert step.number == 2
    return Case(**{name: getattr(case, name) for name in Case.model_fields} | {"events": case.events + more})
