from __future__ import annotations

import json
from itertools import count

import pytest
from helpers.archive_images import NOON

from radlength.dicom.errors import DicomError
from radlength.dicom.ledger import assign, ledger_path, read_ledger


def _assign(path, content, *, kind="sr", image="1.2", uids=None):
    numbers = uids or count(1)
    return assign(
        path,
        kind=kind,
        image=image,
        content_sha256=content,
        new_uid=lambda: f"2.25.{next(numbers)}",
        now=NOON,
    )


def test_the_same_content_keeps_its_uids(tmp_path):
    ledger, uids = tmp_path / "a.json", count(1)
    first, before = _assign(ledger, "x", uids=uids)
    again, still = _assign(ledger, "x", uids=uids)
    assert (again, before, still) == (first, (), ())
    assert read_ledger(ledger) == (first,)


def test_changed_content_is_another_document_of_the_same_series(tmp_path):
    ledger, uids = tmp_path / "a.json", count(1)
    first, _ = _assign(ledger, "x", uids=uids)
    second, before = _assign(ledger, "y", uids=uids)
    assert before == (first,)
    assert second.sop_instance != first.sop_instance
    assert (second.series_instance, second.number) == (first.series_instance, 2)


def test_a_document_withdrawn_by_going_back_is_not_the_latest_any_more(tmp_path):
    """A decision that is taken back must not stay as the newest, verified document of an archive."""
    ledger, uids = tmp_path / "a.json", count(1)
    first, _ = _assign(ledger, "undecided", uids=uids)
    decided, _ = _assign(ledger, "decided", uids=uids)
    third, before = _assign(ledger, "undecided", uids=uids)
    assert before == (first, decided)
    assert third.sop_instance not in (first.sop_instance, decided.sop_instance)


def test_kinds_and_images_are_kept_apart(tmp_path):
    ledger, uids = tmp_path / "a.json", count(1)
    made = [_assign(ledger, "x", kind=k, image=i, uids=uids)[0] for k in ("sr", "pr") for i in ("1", "2")]
    assert len({one.sop_instance for one in made}) == len({one.series_instance for one in made}) == 4
    assert [one.number for one in made] == [1, 2, 1, 2]


@pytest.mark.parametrize(
    "data",
    [b"{", b"[]", b'{"format": "other"}', b'{"format": "radlength-dicom", "version": 2, "documents": []}',
     b'{"format": "radlength-dicom", "version": 1, "documents": [{"kind": "sr"}]}', b"\xff\xfe"],
    ids=["cut", "list", "other", "newer", "entry", "bytes"],
)  # fmt: skip
def test_a_ledger_that_is_not_understood_is_left_and_refused(tmp_path, data):
    ledger = tmp_path / "a.json"
    ledger.write_bytes(data)
    with pytest.raises(DicomError, match="list of UIDs is not understood"):
        _assign(ledger, "x")
    assert ledger.read_bytes() == data


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    with pytest.raises(DicomError, match="the UIDs cannot be kept"):
        _assign(tmp_path / "nowhere" / "a.json", "x")


def test_nothing_of_a_person_is_in_the_ledger(tmp_path):
    ledger = tmp_path / "a.json"
    _assign(ledger, "x")
    keys = set(json.loads(ledger.read_text())["documents"][0])
    assert keys == {"kind", "number", "image", "sop_instance", "series_instance", "content_sha256", "made"}


def test_it_lies_beside_the_record(tmp_path):
    assert ledger_path(tmp_path / "a.dcm", tmp_path / "r") == tmp_path / "r" / "a.dcm.radlength-dicom.json"
