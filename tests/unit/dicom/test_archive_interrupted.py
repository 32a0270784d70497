"""Ctrl-C while an archive keeps silent: it ends at once, and no thread stays that would keep the program alive."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import threading
import time

import pydicom
import pytest
from helpers.archive_images import write_image
from pynetdicom import AE, evt
from pynetdicom.dul import DULServiceProvider
from pynetdicom.pdu import A_RELEASE_RQ, P_DATA_TF
from pynetdicom.sop_class import (
    DigitalIntraOralXRayImageStorageForPresentation,
    StudyRootQueryRetrieveInformationModelFind,
    StudyRootQueryRetrieveInformationModelGet,
)

from radlength.dicom import ArchiveError, archive_fetch, fetch_files, look_up, open_archive, send_files

pytestmark = pytest.mark.skipif(os.name == "nt", reason="an interrupt cannot be sent to one's own process")
STORE = DigitalIntraOralXRayImageStorageForPresentation
FIND = StudyRootQueryRetrieveInformationModelFind
GET = StudyRootQueryRetrieveInformationModelGet
SILENT_S, AT_ONCE_S = 90, 30
"""How long an archive of these tests keeps silent, and what is at once beside that, on the busiest machine."""


@pytest.fixture(autouse=True)
def heard():
    """Let Ctrl-C be heard also where the tests run in the background of a shell, which has it passed over."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


class Silence:
    """An archive that says nothing more, until the test is over; who waits for it presses Ctrl-C, or does not."""

    def __init__(self, *, interrupt: bool = True) -> None:
        self.over, self._interrupt, self.kept = threading.Event(), interrupt, False

    def keep(self) -> None:
        """Keep silent, the first time: later there is nobody to be interrupted.

        In the microseconds before a lock is waited for, Python sees an interrupt only when the wait is over (one run in
        a hundred): it is pressed as a person would, while the program already waits.
        """
        if not self.kept and self._interrupt:
            time.sleep(0.3)
            os.kill(os.getpid(), signal.SIGINT)
        self.kept = True
        self.over.wait(SILENT_S)


@contextlib.contextmanager
def archive(silence, *handlers, answer_s=SILENT_S):
    """Run an archive; yields how it is spoken to, with more patience than a test has."""
    ae = AE(ae_title="TEST")
    for one in (STORE, FIND, GET):
        ae.add_supported_context(one, scu_role=True, scp_role=True)
    server = ae.start_server(("127.0.0.1", 0), block=False, evt_handlers=list(handlers))
    server.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 16)
    try:
        port = server.socket.getsockname()[1]
        yield open_archive(f"dicom://TEST@127.0.0.1:{port}", connect_s=SILENT_S, answer_s=answer_s)
    finally:
        silence.over.set()
        server.shutdown()


def _waiting():
    """Return the threads that wait for an archive."""
    ours = (one for one in threading.enumerate() if isinstance(one, DULServiceProvider))
    return [one for one in ours if one.assoc.is_requestor]


def _gone(began):
    """Tell whether none is left, and the whole took less than the archive would have."""
    for one in _waiting():
        one.join(AT_ONCE_S / 2)
    return not _waiting() and time.monotonic() - began < AT_ONCE_S


def test_while_it_does_not_accept_us():
    """Found by hand: the command hung until it was killed."""
    silence, kept = Silence(), []

    def answer_nothing(server):
        server.accept()[0].close()  # somebody knocks first
        asked, _ = server.accept()
        kept.append(asked)
        asked.recv(4096)
        silence.keep()

    with socket.create_server(("127.0.0.1", 0)) as server:
        threading.Thread(target=answer_nothing, args=(server,), daemon=True).start()
        way = open_archive(f"dicom://TEST@127.0.0.1:{server.getsockname()[1]}", connect_s=SILENT_S)
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            look_up(way, "study", {"PatientID": "x"})
        silence.over.set()
        assert _gone(began)
        assert kept[0].recv(4096)[:1] == b"\x07"  # A-ABORT (PS3.8 9.3.8)
        kept[0].close()


def test_half_an_answer_is_not_waited_for_without_end():
    """The head of an A-ASSOCIATE-AC that announces 256 bytes (PS3.8 9.3.3), and no more."""
    silence = Silence(interrupt=False)

    def answer_half(server):
        server.accept()[0].close()  # somebody knocks first
        asked, _ = server.accept()
        asked.recv(4096)
        asked.sendall(b"\x02\x00\x00\x00\x01\x00\x00\x01")
        silence.keep()
        asked.close()

    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=answer_half, args=(server,), daemon=True)
        thread.start()
        way = open_archive(f"dicom://TEST@127.0.0.1:{server.getsockname()[1]}", connect_s=1, answer_s=1)
        began = time.monotonic()
        with pytest.raises(ArchiveError, match="the archive did not answer"):
            look_up(way, "study", {"PatientID": "x"})
        assert _gone(began)
        silence.over.set()
        thread.join(AT_ONCE_S)


def test_while_it_does_not_say_whether_it_stored(tmp_path):
    silence = Silence()

    def keep_silent(_event):
        silence.keep()
        return 0x0000

    file = write_image(tmp_path / "a.dcm")
    with archive(silence, (evt.EVT_C_STORE, keep_silent)) as way:
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            send_files([file], way)
        assert _gone(began)


def test_while_it_does_not_say_goodbye():
    silence = Silence()

    def keep_silent(event):
        if isinstance(event.pdu, A_RELEASE_RQ):
            silence.keep()

    handlers = [(evt.EVT_PDU_RECV, keep_silent), (evt.EVT_C_FIND, lambda _event: iter([(0x0000, None)]))]
    with archive(silence, *handlers) as way:
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            look_up(way, "study", {"PatientID": "x"})
        assert _gone(began)


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """An image larger than what systems keep for a connection: 32 MB."""
    path = write_image(tmp_path_factory.mktemp("large") / "a.dcm")
    image = pydicom.dcmread(path)
    image.Rows = image.Columns = 4000
    image.PixelData = bytes(2 * 4000 * 4000)
    image.save_as(path)
    return path


@pytest.mark.parametrize("interrupt", [True, False], ids=["ctrl-c", "time-out"])
def test_while_it_takes_no_more_of_an_image(large, interrupt):
    """Found by hand: a send that the archive stopped reading in the middle never ended, whatever the time-out."""
    silence = Silence(interrupt=interrupt)

    def keep_silent(event):
        if isinstance(event.pdu, P_DATA_TF):
            silence.keep()

    answer_s = SILENT_S if interrupt else 0.5
    with archive(silence, (evt.EVT_PDU_RECV, keep_silent), answer_s=answer_s) as way:
        began = time.monotonic()
        if interrupt:
            with pytest.raises(KeyboardInterrupt):
                send_files([large], way)
        else:
            assert [one.state for one in send_files([large], way, tries=1).outcomes] == ["unanswered"]
        assert _gone(began)


@pytest.mark.parametrize(
    ("stop", "raised"),
    [(KeyboardInterrupt(), KeyboardInterrupt), (OSError(28, "No space left on device"), ArchiveError)],
    ids=["ctrl-c", "full-disk"],
)
def test_while_a_file_that_came_is_written(tmp_path, monkeypatch, stop, raised):
    """Found by hand: the archive, which goes on giving, was asked to end, and waited for as long as for any answer."""
    image = pydicom.dcmread(write_image(tmp_path / "a.dcm"))
    root, over, put, put_whole = str(image.SOPInstanceUID)[:40], Silence(), [], archive_fetch.put_whole

    def give(_event):
        yield 60_000
        for number in range(1, 60_001):
            if over.over.is_set():
                return
            image.SOPInstanceUID = image.file_meta.MediaStorageSOPInstanceUID = f"{root}.{number}"
            yield 0xFF00, image

    def put_three(path, data, **how):
        if len(put) == 3:
            raise stop
        put.append(path)
        put_whole(path, data, **how)

    monkeypatch.setattr(archive_fetch, "put_whole", put_three)
    with archive(over, (evt.EVT_C_GET, give)) as way:
        began = time.monotonic()
        with pytest.raises(raised):
            fetch_files(way, tmp_path / "got", study=str(image.StudyInstanceUID))
        assert _gone(began)
    assert sorted((tmp_path / "got").iterdir()) == sorted(put)
