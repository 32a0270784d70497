"""A report read back gives what was marked; what cannot be true is refused."""

from __future__ import annotations

import warnings

import pydicom
import pytest
from helpers.archive_images import decisions, mark, marked_image, write_image
from pydicom.data import get_testdata_file

from radlength.dicom import (
    DicomError,
    elsewhere,
    is_own,
    list_measurements,
    marked,
    read_any,
    read_report,
    read_source,
    record_of,
    restore_record,
    write_documents,
)
from radlength.dicom import codes as c
from radlength.dicom.tree import everything, first
from radlength.errors import RecordError
from radlength.imaging import read_radiograph
from radlength.record import load_record, measure_record, record_path


def _written(tmp_path, **options):
    made = marked_image(tmp_path)
    return made, write_documents(made.path, ["sr"], **options)[0].path


def test_marks_rules_and_lengths_come_back(tmp_path):
    made, path = _written(tmp_path, decisions=decisions("46 MB", "46 D"))
    report, image = read_report(path), read_radiograph(made.path)
    again = record_of(report, image)
    assert again.references == made.record.references
    old, new = made.record.canals, again.canals
    assert [(e.canal, e.reference, e.terminus) for e in new] == [
        (e.canal, e.reference, e.terminus) for e in old
    ]
    for read, (_, found) in zip(report.canals, measure_record(again, image), strict=True):
        for stated, measured in (
            (read.canal_length, found.canal_length),
            (read.working_length, found.working_length),
        ):
            for part in ("value", "u", "low", "high"):
                assert getattr(stated, part) == pytest.approx(getattr(measured, part), abs=1e-9)
        assert read.decided_mm == 20.5
    assert report.verified_by == ("Decider^Invented",)


def test_pixels_stay_pixels(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=None)
    mark(path, references=False, two=False)
    canal = read_report(write_documents(path, ["sr"])[0].path).canals[0]
    assert (canal.canal_length, canal.working_length) == (None, None)
    assert canal.length_px == pytest.approx(221.06, abs=0.1)


def test_a_record_is_restored_on_its_own_image_only(tmp_path):
    made, path = _written(tmp_path)
    kept = load_record(made.path)
    with pytest.raises(RecordError, match="there is a record of the image already, and it is not replaced"):
        restore_record(path, made.path)
    record_path(made.path).unlink()
    restored = load_record(restore_record(path, made.path) and made.path)
    assert [e.canal for e in restored.canals] == [e.canal for e in kept.canals]
    other = write_image(tmp_path / "other.dcm", seed=9)
    with pytest.raises(DicomError, match="the report is about another image"):
        restore_record(path, other)


def _broken(path, change):
    sr = pydicom.dcmread(path)
    canal = next(
        item
        for _, item in everything(sr)
        if item.get("ValueType") == "CONTAINER" and first(item, c.ALGORITHM)
    )
    change(canal)
    sr.save_as(path)
    return path


def _value(item, **values):
    for keyword, value in values.items():
        setattr(item.MeasuredValueSequence[0], keyword, value)


def _unit(item, unit):
    item.MeasuredValueSequence[0].MeasurementUnitsCodeSequence[0].CodeValue = unit


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda g: setattr(first(g, c.TRACKING), "TextValue", "47 MB"),
            "the same tooth as code and in words",
        ),
        (lambda g: _unit(first(first(g, c.PATH_LENGTH), c.ABOVE), "1"), "uncertainty in millimetres"),
        (lambda g: _unit(first(g, c.PATH_LENGTH), "cm"), "uncertainty in millimetres"),
        (
            lambda g: _value(first(first(g, c.PATH_LENGTH), c.ABOVE), FloatingPointValue=-3.0),
            "does not hold the value",
        ),
        (
            lambda g: setattr(first(first(g, c.PATH_LENGTH), c.SOURCE), "GraphicData", [1.0, 2.0, 3.0]),
            "not pairs",
        ),
        (lambda g: delattr(first(g, c.PATH_LENGTH), "ContentSequence"), "does not state its marks"),
        (lambda g: _value(first(g, c.OFFSET), FloatingPointValue=99.0), "a terminus offset of 99.0 mm"),
    ],
    ids=["tooth", "unit", "unit-of-length", "arm", "points", "nothing-below", "offset"],
)
def test_what_cannot_be_true_is_refused(tmp_path, change, words):
    _, path = _written(tmp_path)
    with pytest.raises(DicomError, match=words):
        read_report(_broken(path, change))


def test_a_report_of_another_program_is_listed_and_not_taken_for_ours(tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        foreign = get_testdata_file("test-SR.dcm")
        with pytest.raises(DicomError, match="not a report that radlength wrote"):
            read_report(__import__("pathlib").Path(foreign))


def test_an_image_is_no_report(tmp_path):
    made, _ = _written(tmp_path)
    with pytest.raises(DicomError, match="not a structured report"):
        list_measurements(made.path)


def test_our_numbers_are_listed_with_what_they_hang_on(tmp_path):
    _, path = _written(tmp_path)
    stated = list_measurements(path)
    canal = next(one for one in stated if (one.group, one.name) == ("46 MB", "Path length"))
    assert (canal.unit, canal.graphic, canal.points) == ("mm", "POLYLINE", 6)
    assert canal.site == "Mandibular right first molar tooth"
    assert all("uncertainty" not in one.name for one in stated)


def test_another_viewer_differs_by_bend_and_by_calibration(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=[0.11, 0.11])
    mark(path)
    what = marked(read_source(path), load_record(path), read_radiograph(path))
    one = elsewhere(what)[1]
    assert one.viewer_mm - one.ours_mm == pytest.approx(2.14, abs=0.02)
    assert one.polyline_mm < one.ours_mm
    assert f"{one.viewer_mm - one.ours_mm:+.2f} mm" in one.why
    assert "straight lines between the marks instead of the curve +0.00 mm" in one.why
    assert "Imager Pixel Spacing instead of the calibration +2.15 mm" in one.why


@pytest.mark.parametrize(
    ("spacing", "references", "words"),
    [
        (None, True, "another viewer shows pixels"),
        (None, False, "another viewer shows pixels"),
    ],
    ids=["calibrated", "bare"],
)
def test_without_a_spacing_another_viewer_shows_pixels(tmp_path, spacing, references, words):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=spacing)
    mark(path, references=references, two=False)
    what = marked(read_source(path), load_record(path), read_radiograph(path))
    assert words in elsewhere(what)[0].why


def test_a_report_of_another_program_that_takes_over_a_code_of_ours_is_listed_and_not_ours(tmp_path):
    """PS3.3 C.12.1.1.1: whoever uses a private scheme names it."""
    _, path = _written(tmp_path)
    ds = pydicom.dcmread(path)
    for item in ds.ContentSequence:
        if item.get("TextValue") == "radlength":
            item.TextValue = "something else"
    ds.save_as(path)
    assert not is_own(read_any(path))
    assert {"46 MB", "46 D"} <= {one.group for one in list_measurements(path)}
    with pytest.raises(DicomError, match="not a report that radlength wrote"):
        read_report(path)
