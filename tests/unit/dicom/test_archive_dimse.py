"""What an archive may answer by DIMSE, told from a small one that says whatever a test wants."""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

import pydicom
import pytest
from helpers.archive_images import write_image
from helpers.archive_servers import free_port
from pydicom.dataset import Dataset
from pynetdicom import AE, evt
from pynetdicom.sop_class import (
    CTImageStorage,
    DigitalIntraOralXRayImageStorageForPresentation,
    StorageCommitmentPushModel,
    StudyRootQueryRetrieveInformationModelFind,
    StudyRootQueryRetrieveInformationModelGet,
)

from radlength.dicom import ArchiveError, commit, fetch_files, look_up, open_archive, send_files
from radlength.dicom.archive_model import read_items

STORE = DigitalIntraOralXRayImageStorageForPresentation
FIND = StudyRootQueryRetrieveInformationModelFind
GET = StudyRootQueryRetrieveInformationModelGet


@contextlib.contextmanager
def archive(*handlers, classes=(STORE,), calling=None, answer_s=5.0):
    """Run an archive on a free port; yields how radlength speaks to it."""
    ae = AE(ae_title="TEST")
    for one in classes:
        ae.add_supported_context(one, scu_role=True, scp_role=True)
    if calling:
        ae.require_calling_aet = [calling]
    server = ae.start_server(("127.0.0.1", 0), block=False, evt_handlers=list(handlers))
    try:
        port = server.socket.getsockname()[1]
        yield open_archive(f"dicom://TEST@127.0.0.1:{port}", connect_s=5, answer_s=answer_s)
    finally:
        server.shutdown()


def saying(*statuses):
    """Return a handler of C-STORE that gives one status after the other, the last for ever."""
    left = list(statuses)
    return evt.EVT_C_STORE, lambda _event: left.pop(0) if len(left) > 1 else left[0]


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    return write_image(tmp_path_factory.mktemp("dimse") / "a.dcm")


@pytest.mark.parametrize(
    ("statuses", "state", "tries", "why"),
    [
        ((0x0000,), "stored", 1, ""),
        ((0xB000,), "stored", 1, "with the remark B000"),
        ((0xB006,), "stored", 1, "with the remark B006"),
        ((0xA700, 0xA700, 0x0000), "stored", 3, ""),
        ((0xA700,), "later", 3, "out of resources"),
        ((0xA900,), "refused", 1, "status A900"),
        ((0xC000,), "refused", 1, "status C000"),
        ((0x0122,), "refused", 1, "status 0122"),
    ],
)
def test_what_a_status_means(file, statuses, state, tries, why):
    """PS3.4 B.2.3."""
    with archive(saying(*statuses)) as way:
        sent = send_files([file], way, wait_s=0, look="no")
    assert (sent.outcomes[0].state, sent.tries) == (state, tries)
    assert why in sent.outcomes[0].why


def test_an_archive_that_hangs_up_leaves_it_open(file):
    def hang_up(event):
        event.assoc.abort()
        return 0x0000

    with archive((evt.EVT_C_STORE, hang_up)) as way:
        sent = send_files([file], way, tries=2, wait_s=0, look="no")
    assert [one.state for one in sent.outcomes] == ["unanswered"]
    assert sent.tries == 2


def test_a_stranger_is_told_so(file):
    with (
        archive(saying(0x0000), calling="SOMEBODY") as way,
        pytest.raises(ArchiveError, match="did not accept us"),
    ):
        send_files([file], way, wait_s=0)


def test_a_search_that_fails_is_a_sentence():
    def fail(_event):
        yield 0xA700, None

    with (
        archive((evt.EVT_C_FIND, fail), classes=(FIND,)) as way,
        pytest.raises(ArchiveError, match="the archive could not search: status A700"),
    ):
        look_up(way, "study", {"PatientID": "x"})


def test_a_search_is_bounded_and_shows_only_what_it_should():
    def many(_event):
        for number in range(600):
            row = Dataset()
            row.QueryRetrieveLevel, row.StudyInstanceUID, row.PatientComments = (
                "STUDY",
                f"1.2.{number}",
                "private",
            )
            yield 0xFF00, row

    with archive((evt.EVT_C_FIND, many), classes=(FIND,)) as way:
        found = look_up(way, "study", {"PatientID": "x"})
    assert len(found) == 500
    assert {key for row in found for key in row} == {"StudyInstanceUID"}


def test_an_archive_without_get_is_told_apart(tmp_path):
    with (
        archive(classes=(STORE,)) as way,
        pytest.raises(ArchiveError, match=r"does not let us fetch \(no C-GET\)"),
    ):
        fetch_files(way, tmp_path, study="1.2.3")


def test_a_fetch_that_fails_is_a_sentence(tmp_path):
    def fail(_event):
        yield 1
        yield 0xA701, None

    with (
        archive((evt.EVT_C_GET, fail), classes=(GET, STORE)) as way,
        pytest.raises(ArchiveError, match="the archive could not fetch: status A701"),
    ):
        fetch_files(way, tmp_path, study="1.2.3")


def test_a_refused_commitment_is_told_from_a_missing_one(file):
    def refuse(_event):
        return 0x0110, None

    with (
        archive((evt.EVT_N_ACTION, refuse), classes=(StorageCommitmentPushModel,)) as way,
        pytest.raises(ArchiveError, match="refuses the request for storage commitment"),
    ):
        commit(way, read_items([file]), port=free_port(), wait_s=1)


def test_an_archive_that_says_nothing_is_not_waited_for_for_ever():
    def sleep(_event):
        time.sleep(2)
        yield 0x0000, None

    with (
        archive((evt.EVT_C_FIND, sleep), classes=(FIND,), answer_s=0.3) as way,
        pytest.raises(ArchiveError, match="the archive did not answer"),
    ):
        look_up(way, "study", {"PatientID": "x"})


def test_what_is_fetched_is_on_the_disk_before_it_has_its_name_and_an_empty_file_is_none(
    file, tmp_path, monkeypatch
):
    """A loss of power leaves a new name with nothing behind it, where what is written was not flushed first."""
    held, done, flush, name = pydicom.dcmread(file), [], os.fsync, Path.replace

    def one(_event):
        yield 1
        yield 0xFF00, held

    monkeypatch.setattr(os, "fsync", lambda number: (done.append("flushed"), flush(number))[1])
    monkeypatch.setattr(Path, "replace", lambda part, place: (done.append(place.name), name(part, place))[1])
    there = tmp_path / f"{held.SOPInstanceUID}.dcm"
    there.touch()
    with archive((evt.EVT_C_GET, one), classes=(GET, STORE)) as way:
        got = fetch_files(way, tmp_path, study=str(held.StudyInstanceUID))
    assert (got.written, got.there) == ((there,), ())
    assert pydicom.dcmread(there).PixelData == held.PixelData
    assert done == ["flushed", there.name]


def test_a_fetch_that_left_something_out_is_not_taken_for_a_whole_one(file, tmp_path):
    """B000 and a count of failed sub-operations: an archive without a search cannot be asked what is missing."""

    other = pydicom.dcmread(file)
    other.SOPClassUID, other.SOPInstanceUID = CTImageStorage, "2.25.4711"

    def some(_event):
        yield 2
        yield 0xFF00, pydicom.dcmread(file)
        yield 0xFF00, other

    with archive((evt.EVT_C_GET, some), classes=(GET, STORE)) as way:
        uid = str(pydicom.dcmread(file).StudyInstanceUID)
        got = fetch_files(way, tmp_path, study=uid)
    assert len(got.written) == 1
    assert "could not fetch everything: status B000" in got.missing


def test_what_stopped_is_fetched_one_by_one_where_the_search_tells_no_kinds(file, tmp_path):
    """SOP Class UID is an optional key of a search (PS3.4 C.6.2.1; from memory)."""
    held = pydicom.dcmread(file)

    def found(event):
        row = Dataset()
        row.QueryRetrieveLevel = event.identifier.QueryRetrieveLevel
        row.SeriesInstanceUID = held.SeriesInstanceUID
        if row.QueryRetrieveLevel == "IMAGE":
            row.SOPInstanceUID = held.SOPInstanceUID
        yield 0xFF00, row

    def one_by_one(event):
        yield 1
        if event.identifier.QueryRetrieveLevel == "IMAGE":
            yield 0xFF00, held
        else:
            yield 0xA900, None

    handlers = ((evt.EVT_C_FIND, found), (evt.EVT_C_GET, one_by_one))
    with archive(*handlers, classes=(FIND, GET, STORE)) as way:
        got = fetch_files(way, tmp_path, study=str(held.StudyInstanceUID))
    assert (len(got.written), got.missing) == (1, "")
