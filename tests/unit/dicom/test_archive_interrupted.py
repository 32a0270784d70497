"""Ctrl-C while an archive keeps silent: it ends at once, and no thread stays that would keep the program alive."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time

import pytest
from helpers.archive_images import write_image
from pynetdicom import AE, evt
from pynetdicom.dul import DULServiceProvider
from pynetdicom.sop_class import DigitalIntraOralXRayImageStorageForPresentation

from radlength.dicom import look_up, open_archive, send_files

pytestmark = pytest.mark.skipif(os.name == "nt", reason="an interrupt cannot be sent to one's own process")


def _interrupt():
    """Press Ctrl-C as a person would: while the program already waits.

    In the microseconds before a lock is waited for, Python sees an interrupt only when the wait is over (one run in
    a hundred).
    """
    time.sleep(0.3)
    os.kill(os.getpid(), signal.SIGINT)


def _waiting():
    """Return the threads that wait for an archive."""
    ours = (one for one in threading.enumerate() if isinstance(one, DULServiceProvider))
    return [one for one in ours if one.assoc.is_requestor]


def _gone(began):
    """Tell whether none is left a second later, and the whole took less than the archive would have."""
    for one in _waiting():
        one.join(1)
    return not _waiting() and time.monotonic() - began < 4


def test_while_it_does_not_accept_us():
    """Found by hand: the command hung until it was killed."""

    def answer_nothing(server):
        server.accept()[0].close()  # somebody knocks first
        asked, _ = server.accept()
        asked.recv(4096)
        _interrupt()
        kept.append(asked)

    kept = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        threading.Thread(target=answer_nothing, args=(server,), daemon=True).start()
        way = open_archive(f"dicom://TEST@127.0.0.1:{server.getsockname()[1]}", connect_s=20)
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            look_up(way, "study", {"PatientID": "x"})
        assert _gone(began)
        assert kept[0].recv(4096)[:1] == b"\x07"  # A-ABORT (PS3.8 9.3.8)
        kept[0].close()


def test_while_it_does_not_say_whether_it_stored(tmp_path):
    def keep_silent(_event):
        _interrupt()
        time.sleep(5)
        return 0x0000

    ae = AE(ae_title="TEST")
    ae.add_supported_context(DigitalIntraOralXRayImageStorageForPresentation)
    server = ae.start_server(("127.0.0.1", 0), block=False, evt_handlers=[(evt.EVT_C_STORE, keep_silent)])
    try:
        way = open_archive(f"dicom://TEST@127.0.0.1:{server.socket.getsockname()[1]}", connect_s=20)
        file = write_image(tmp_path / "a.dcm")
        began = time.monotonic()
        with pytest.raises(KeyboardInterrupt):
            send_files([file], way)
        assert _gone(began)
    finally:
        server.shutdown()
