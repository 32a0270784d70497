"""A slow line to an archive is no silent one: what takes longer than an answer may, and moves on, is not given up."""

from __future__ import annotations

import contextlib
import threading
import time

import pydicom
import pytest
from helpers.archive_images import write_image
from pynetdicom import AE, evt
from pynetdicom.pdu import P_DATA_TF
from pynetdicom.sop_class import (
    DigitalIntraOralXRayImageStorageForPresentation,
    StudyRootQueryRetrieveInformationModelGet,
)

from radlength.dicom import fetch_files, open_archive, send_files
from radlength.dicom.archive_line import PIECE

STORE = DigitalIntraOralXRayImageStorageForPresentation
GET = StudyRootQueryRetrieveInformationModelGet
ANSWER_S, SLOW_S = 3.0, 6.0
"""What an answer may take, and what a file takes on its way."""
SIZE = 8_000_000


class Slow:
    """A line that takes its time for every byte of a file."""

    def __init__(self) -> None:
        self.pieces: list[int] = []

    def passes(self, event) -> None:
        if isinstance(event.pdu, P_DATA_TF):
            self.pieces.append(len(event.pdu))
            time.sleep(SLOW_S * len(event.pdu) / SIZE)


@contextlib.contextmanager
def archive(*handlers, most=16_382):
    ae = AE(ae_title="TEST")
    ae.maximum_pdu_size = most
    for one in (STORE, GET):
        ae.add_supported_context(one, scu_role=True, scp_role=True)
    server = ae.start_server(("127.0.0.1", 0), block=False, evt_handlers=list(handlers))
    try:
        yield open_archive(f"dicom://TEST@127.0.0.1:{server.socket.getsockname()[1]}", answer_s=ANSWER_S)
    finally:
        server.shutdown()


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """An image of 8 MB."""
    path = write_image(tmp_path_factory.mktemp("large") / "a.dcm")
    image = pydicom.dcmread(path)
    image.Rows = image.Columns = 2000
    image.PixelData = bytes(SIZE)
    image.save_as(path)
    return path


@pytest.mark.parametrize("most", [16_382, 0], ids=["small pieces", "as large as one likes"])
def test_a_slow_archive_that_goes_on_taking_is_waited_for(large, most):
    """Found by a trial: the time-out of the answer began before the file was on its way."""
    slow, got = Slow(), []

    def keep(event):
        got.append(len(event.dataset.PixelData))
        return 0x0000

    began = time.monotonic()
    with archive((evt.EVT_PDU_RECV, slow.passes), (evt.EVT_C_STORE, keep), most=most) as way:
        sent = send_files([large], way, tries=1)
    assert [one.state for one in sent.outcomes] == ["stored"]
    assert got == [SIZE]
    assert max(slow.pieces) <= (most or PIECE) + 6
    assert time.monotonic() - began > ANSWER_S


def test_a_slow_archive_that_goes_on_giving_is_waited_for(large, tmp_path):
    slow, held = Slow(), pydicom.dcmread(large)

    def give(_event):
        yield 1
        yield 0xFF00, held

    began = time.monotonic()
    with archive((evt.EVT_PDU_SENT, slow.passes), (evt.EVT_C_GET, give), most=0) as way:
        got = fetch_files(way, tmp_path, study=str(held.StudyInstanceUID))
    assert pydicom.dcmread(got.written[0]).PixelData == held.PixelData
    assert max(slow.pieces) <= PIECE + 6
    assert time.monotonic() - began > ANSWER_S


def _ours():
    """Return the threads that speak to an archive; those of the archive of a test are none."""
    speakers = [(one, getattr(one, "assoc", one)) for one in threading.enumerate()]
    return [one for one, link in speakers if getattr(link, "is_requestor", False)]


def test_no_thread_stays_after_a_file_was_stored(tmp_path):
    during = []

    def keep(_event):
        during.extend(_ours())
        return 0x0000

    with archive((evt.EVT_C_STORE, keep)) as way:
        assert send_files([write_image(tmp_path / "a.dcm")], way, look="no").outcomes[0].state == "stored"
        for one in during:
            one.join(ANSWER_S)
        assert len(during) == 2
        assert _ours() == []
