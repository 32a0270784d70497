"""Two records of one image, beside it and in a folder of records: which was read is believed, and the other is told."""

from __future__ import annotations

import os
import shutil
import sys

import pytest
from helpers.records import full_record, radiograph

from radlength.record import load_record, measure_record, record_path, save_record
from radlength.uncertainty import Marking

FULL = full_record()


@pytest.fixture
def image(tmp_path):
    """An image that has a record beside it and another one in a folder of records."""
    (tmp_path / "records").mkdir()
    found = tmp_path / "tooth.tif"
    save_record(FULL.model_copy(), found)
    save_record(FULL.with_marking(Marking(apex_mm=0.7)), found, records_dir=tmp_path / "records")
    return found


def told(record):
    """Return the findings about another record, by canal."""
    return [
        [one for one in found.findings if one.code == "other-record"]
        for _, found in measure_record(record, radiograph())
    ]


def read(image):
    return load_record(image, records_dir=image.parent / "records")


def test_the_one_that_was_read_is_measured_and_the_other_is_told_at_every_canal(image):
    record = read(image)
    assert record.marking.apex_mm == 0.7
    found = told(record)
    assert [len(one) for one in found] == [1] * len(record.canals)
    assert "beside the image lies another record of it, which was not read" in found[0][0].sentence.lower()
    assert found[0][0].severity == "question"


def test_it_is_told_after_an_edit_and_after_saving_too(image):
    edited = read(image).with_marking(Marking(apex_mm=0.4))
    assert all(told(edited))
    save_record(edited, records_dir=image.parent / "records")
    assert all(told(edited))


def test_it_is_told_where_the_first_record_of_a_folder_is_written(image):
    new = FULL.model_copy()
    (image.parent / "more").mkdir()
    save_record(new, image, records_dir=image.parent / "more")
    assert not any(told(new))  # the same bytes
    shutil.rmtree(image.parent / "more")
    (image.parent / "more").mkdir()
    new = FULL.with_marking(Marking(apex_mm=0.7))
    save_record(new, image, records_dir=image.parent / "more")
    assert all(told(new))


def test_one_that_is_damaged_or_may_not_be_read_is_told_too(image):
    record_path(image).write_bytes(b"{")
    assert all(told(read(image)))
    if sys.platform != "win32" and os.geteuid():
        record_path(image).chmod(0)
        assert all(told(read(image)))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names there")
def test_a_pipe_in_its_place_is_told_and_not_waited_for(image):
    record_path(image).unlink()
    os.mkfifo(record_path(image))
    assert all(told(read(image)))


@pytest.mark.parametrize("how", ["none", "copy", "estimated", "link", "same folder"])
def test_nothing_is_told_where_there_is_no_other(image, how):
    beside, other = record_path(image), record_path(image, image.parent / "records")
    beside.unlink()
    if how == "copy":
        shutil.copy(other, beside)
    if how == "estimated":  # a copy, and one of the two was measured again later
        shutil.copy(other, beside)
        record = load_record(image)
        entry, found = measure_record(record, radiograph())[0]
        save_record(record.with_estimate(entry.id, found))
        assert beside.read_bytes() != other.read_bytes()
    if how == "link":
        if sys.platform == "win32":
            pytest.skip("links need a right there")
        beside.symlink_to(other)
    if how == "same folder":
        other.rename(beside)
        assert not any(told(load_record(image, records_dir=image.parent)))
        assert not any(told(load_record(image)))
        return
    assert not any(told(read(image)))
