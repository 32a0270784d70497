"""The window tells of another record of its image, as commands do."""

from __future__ import annotations

import pytest
from helpers.batches import add
from helpers.records import radiograph

from radlength.record import record_path
from radlength.session import Session


@pytest.fixture
def session(tmp_path):
    """A session on the record in a folder of records; beside the image lies one with the same marks and other bytes."""
    image, records = tmp_path / "tooth.tif", tmp_path / "records"
    records.mkdir()
    add(image, radiograph())
    data = record_path(image).read_bytes()
    record_path(image, records).write_bytes(data)
    record_path(image).write_bytes(data + b"\n")
    return Session.open(image, records_dir=records)


def told(session):
    found, missing = session.estimate()
    assert found is not None, missing
    return [one.code for one in found.findings].count("other-record")


def test_it_is_told_beside_the_length_and_after_an_edit_and_a_save(session):
    assert told(session) == 1
    session.rename_canal("46", "ML")
    assert told(session) == 1
    session.save()
    assert told(session) == 1


def test_it_is_told_no_more_when_the_other_is_gone(session):
    image = session.radiograph.path
    record_path(image).unlink()
    assert told(Session.open(image, records_dir=session.records_dir)) == 0
