"""A record made again from a report gives the same lengths with the same intervals, and says the same of its marks."""

from __future__ import annotations

import re
from dataclasses import replace

import pydicom
import pytest
from helpers.archive_images import INSTRUMENT, MB, NOON, change, marked_image, write_image

from radlength.dicom import (
    DicomError,
    list_measurements,
    marked,
    outdated,
    read_report,
    read_source,
    record_of,
    restore_record,
    write_documents,
)
from radlength.dicom import codes as c
from radlength.dicom.tree import everything
from radlength.geometry import Assist
from radlength.imaging import read_radiograph
from radlength.length import Canal, Terminus
from radlength.record import Record, load_record, measure_record, record_path, save_record
from radlength.scale import Reference
from radlength.uncertainty import Marking

TRACED = Assist(1, 3, "canal trace", "8", 0.75)
CANAL = Canal("46", "MB", MB, "mesiobuccal cusp tip", "second view at 20 degrees", (TRACED,))
FILE = Reference(
    INSTRUMENT,
    21.0,
    0.25,
    "in_canal",
    "file in MB",
    "MB",
    (Assist(2, 2, "instrument tip", "5", 0.9),),
    15.0,
    0.02,
    "cone",
)
CARELESS = Marking(apex_mm=0.9, stop_mm=0.3, tip_mm=0.25, path_mm=0.2)


def _record(path, *, references=(FILE,)):
    new = Record.new(
        read_radiograph(path),
        canals=[CANAL],
        references=references,
        terminus=Terminus(offset_mm=1.0),
        marking=CARELESS,
        when=NOON,
    )
    return new.with_stated_pitch(0.1, 0.1).model_copy(update={"invented": True})


@pytest.mark.parametrize("references", [(FILE,), ()], ids=["instrument", "stated-pitch"])
def test_spread_pitch_shape_and_who_placed_come_back_and_with_them_the_interval(tmp_path, references):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=None)
    record = _record(path, references=references)
    save_record(record, path)
    report = write_documents(path, ["sr"])[0].path
    radiograph = read_radiograph(path)
    again = record_of(read_report(report), radiograph)
    for part in ("marking", "stated_pitch_mm", "invented", "references", "canals"):
        assert getattr(again, part) == getattr(record, part), part
    (_, old), (_, new) = measure_record(record, radiograph)[0], measure_record(again, radiograph)[0]
    assert (new.canal_length, new.working_length) == (old.canal_length, old.working_length)


def test_documents_of_a_restored_record_are_those_of_the_old_one(tmp_path):
    """The marks keep their tracking UIDs, so that the same content is the same document."""
    made = marked_image(tmp_path)
    before = write_documents(made.path, ["sr", "pr"])
    record_path(made.path).unlink()
    restore_record(before[0].path, made.path)
    again = [one.document.number for one in write_documents(made.path, ["pr"])]
    assert again == [1]


def _without(report, *codes):
    sr = pydicom.dcmread(report)
    for _, item in everything(sr):
        kept = [
            one
            for one in item.get("ContentSequence", [])
            if one.ConceptNameCodeSequence[0].CodeValue not in {code[0] for code in codes}
        ]
        if "ContentSequence" in item and len(kept) < len(item.ContentSequence):
            item.ContentSequence = kept
    sr.save_as(report)
    return report


def test_a_report_that_does_not_tell_the_spread_of_its_marks_is_refused(tmp_path):
    made = marked_image(tmp_path)
    report = _without(write_documents(made.path, ["sr"])[0].path, c.ALGORITHM_PARAMETERS)
    with pytest.raises(DicomError, match="does not state the spread of its marks"):
        read_report(report)


def test_an_older_report_without_a_hash_of_the_pixels_is_read(tmp_path):
    made = marked_image(tmp_path)
    report = _without(write_documents(made.path, ["sr"])[0].path, c.PIXEL_HASH)
    record_path(made.path).unlink()
    restored = load_record(restore_record(report, made.path) and made.path)
    assert [one.canal for one in restored.canals] == [one.canal for one in made.record.canals]


def test_other_pixels_under_the_same_uid_get_no_marks(tmp_path):
    made = marked_image(tmp_path)
    report = write_documents(made.path, ["sr"])[0].path
    record_path(made.path).unlink()
    upside_down = made.dataset().pixel_array[::-1].tobytes()
    change(made.path, PixelData=upside_down)
    with pytest.raises(DicomError, match="made on other pixels than this image has"):
        restore_record(report, made.path)
    assert not record_path(made.path).exists()


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (
            lambda r: r.with_terminus("MB", Terminus(offset_mm=0.5)),
            r"MB: the report says a working length of \d",
        ),
        (lambda r: r.with_terminus("MB", None), "the present marks give none"),
        (lambda r: r.with_marking(CARELESS), r"MB: the report says a canal length of \d"),
        (lambda r: r.with_reference(replace(r.references[0], length_mm=20.0)), "a canal length of"),
    ],
    ids=["offset", "no-terminus", "spread", "reference"],
)
def test_a_report_that_is_no_more_what_the_marks_say_is_told(tmp_path, edit, words):
    made = marked_image(tmp_path)
    report = read_report(write_documents(made.path, ["sr"])[0].path)
    source, radiograph = read_source(made.path), read_radiograph(made.path)
    assert outdated(report, marked(source, made.record, radiograph)) == ()
    told = outdated(report, marked(source, edit(made.record), radiograph))
    assert [one for one in told if re.search(words, one)], told


def test_a_listed_length_has_its_interval(tmp_path):
    made = marked_image(tmp_path)
    report = write_documents(made.path, ["sr"])[0].path
    _, found = measure_record(made.record, read_radiograph(made.path))[0]
    stated = {(one.group, one.name): one for one in list_measurements(report)}
    length = stated["46 MB", "Path length"]
    assert (length.low, length.high) == pytest.approx((found.canal_length.low, found.canal_length.high))
    known = stated["file in MB", "Calibration Object Size"]
    assert (known.low, known.high) == pytest.approx((20.75, 21.25))
    assert stated["46 MB", c.OFFSET[2]].low is None
