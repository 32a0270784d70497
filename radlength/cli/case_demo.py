"""``radlength case demo``: an invented case around the bundled premolar, to look at and to try every command on.

It holds no decision: that is a person's, also in a demo.
"""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from radlength.clean import typed
from radlength.cli.case_options import CaseFolder
from radlength.cli.options import Debug, Json
from radlength.cli.talk import said_plainly

if TYPE_CHECKING:
    from radlength.record.case import Case

EXAMPLE = "radlength case demo my-case"
BUNDLED = "invented-premolar"
IMAGE = "working-length.png"
CANAL = "45 single"
SET_MM = 21.0
"""Stop to tip of the instrument in the bundled image."""
DAY = datetime(2026, 1, 12, 9, 0, tzinfo=UTC)


def demo(folder: CaseFolder, as_json: Json = False, debug: Debug = False) -> None:
    """Write an invented case with an image, its marks, and lengths by several methods. No decision is in it."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.cli.case_said import say_saved
        from radlength.record.case_store import save_case

        case = demo_case(folder)
        written = save_case(case, folder)
        say_saved(
            case,
            written,
            f"invented case written; next: radlength case show {typed(folder)}",
            as_json=as_json,
        )


def demo_case(folder: Path) -> Case:
    """Return the invented case, its image and record written into a folder; the case itself is not saved yet.

    Parameters
    ----------
    folder
        A new or empty folder.

    Raises
    ------
    RecordError
        The folder holds something.
    """
    from radlength.errors import RecordError
    from radlength.record.case import Case
    from radlength.record.case_canals import add_canal, note_canal
    from radlength.record.case_images import add_image

    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise RecordError(
            "the folder for the demo holds something",
            "a new or an empty folder",
            code="case-demo-folder",
            subject=folder.name,
        )
    begin = _marked_image(folder)
    case = add_image(
        Case.new(invented=True), folder, IMAGE, stage="working length", taken=DAY.date(), when=DAY
    )
    case = add_canal(
        case, "45", "single", reference_point="buccal cusp tip", image=1, point_px=begin, when=DAY
    )
    case = note_canal(case, CANAL, "other", words="bends in its last third", when=DAY)
    return _lengths(case, folder)


def _marked_image(folder: Path) -> tuple[float, float]:
    """Write the bundled image with its record, estimated and confirmed; return the marked reference point."""
    from radlength.cli.marks_file import record_from_marks
    from radlength.imaging import read_radiograph
    from radlength.length import confirm_length
    from radlength.record import measure_entry, save_record
    from radlength.scale import image_scale

    bundled = resources.files("radlength").joinpath("demo")
    image = folder / IMAGE
    with resources.as_file(bundled.joinpath(f"{BUNDLED}.png")) as source:
        shutil.copyfile(source, image)
    radiograph = read_radiograph(image)
    with resources.as_file(bundled.joinpath(f"{BUNDLED}.marks.json")) as marks:
        record = record_from_marks(marks, radiograph)
    entry = record.canals[0]
    reference = record.reference_of(entry)
    mm_per_px, share = image_scale(reference, radiograph, canal_name=entry.canal.label)
    tip, apex = (reference.path_px if reference else entry.canal.path_px)[-1], entry.canal.path_px[-1]
    done = confirm_length(
        SET_MM,
        [tip, apex],
        mm_per_px=mm_per_px,
        scale_share=share,
        rule="tip within 1 mm",
        terminus=entry.terminus,
        marking=record.marking,
    )
    measured = measure_entry(record, entry, radiograph)
    record = record.with_estimate(entry.id, measured, when=DAY + timedelta(minutes=5))
    record = record.with_confirmation(entry.id, done, [tip, apex], when=DAY + timedelta(minutes=10))
    save_record(record, image)
    return entry.canal.path_px[0]


def _lengths(case: Case, folder: Path) -> Case:
    from radlength.record.case_lengths import (
        add_length,
        add_length_of_image,
        correct_length,
        locator_length,
        locator_reading,
        stated_length,
    )
    from radlength.record.store import load_record

    later = DAY + timedelta(minutes=20)
    case = add_length(
        case,
        CANAL,
        stated_length(22.0, 1.0),
        method="pre-operative estimate",
        flaring="before flaring",
        landmark="radiographic apex",
        short_mm=1.0,
        measured=DAY - timedelta(days=3),
        when=DAY,
    )
    record = load_record(folder / IMAGE)
    case = add_length_of_image(case, CANAL, record, 1, flaring="before flaring", when=later)
    case = add_length(
        case,
        CANAL,
        stated_length(12.0, 0.5, ruler_limit_mm=0.1),
        method="tactile",
        flaring="before flaring",
        landmark="apical constriction",
        ruler="steel ruler",
        ruler_limit_mm=0.1,
        when=later,
    )
    case = correct_length(
        case, case.events[-1].number, value_mm=21.0, why="two digits were typed wrong", when=later
    )
    for read_mm, size, flaring, day in (
        (22.0, 10, "before flaring", later),
        (21.5, 20, "after flaring", later + timedelta(days=7)),
    ):
        reading = locator_reading(
            mark="0.0",
            read_mm=read_mm,
            deduction_mm=0.5,
            file_size=size,
            moisture="moist",
            metal_contact=False,
            stable=True,
        )
        case = add_length(
            case,
            CANAL,
            locator_length(reading, 0.25, ruler_limit_mm=0.1),
            method="apex locator",
            flaring=flaring,  # type: ignore[arg-type]
            landmark="apical foramen",
            short_mm=0.5,
            locator=reading,
            ruler="steel ruler",
            ruler_limit_mm=0.1,
            rule="half a millimetre short of the mark",
            source="clinician's own",
            when=day,
        )
    return case
