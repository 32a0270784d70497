"""What an archive may answer over the web, told from a small server that says whatever a test wants."""

from __future__ import annotations

import base64
import contextlib
import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from helpers.archive_images import write_image

from radlength.dicom import ArchiveError, fetch_files, look_up, open_archive, send_files
from radlength.dicom import archive_web as web
from radlength.dicom.archive_model import read_items


@contextlib.contextmanager
def saying(*answers):
    """Run a server that gives one answer after the other, the last for ever: (status, headers, body)."""
    left, asked = list(answers), []

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def _any(self):
            self.rfile.read(int(self.headers.get("Content-Length", 0)))
            asked.append((self.command, self.path, dict(self.headers)))
            status, headers, body = left.pop(0) if len(left) > 1 else left[0]
            self.send_response(status)
            for name, value in {"Content-Length": len(body), **headers}.items():
                self.send_header(name, str(value))
            self.end_headers()
            self.wfile.write(body)

        do_GET = do_POST = _any  # noqa: N815

        def log_message(self, *_):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield open_archive(f"http://127.0.0.1:{server.server_address[1]}/x", answer_s=5), asked
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)


JSON = {"Content-Type": "application/dicom+json"}


def _failed(uid, reason):
    item = {"00081155": {"vr": "UI", "Value": [uid]}, "00081197": {"vr": "US", "Value": [reason]}}
    return json.dumps({"00081198": {"vr": "SQ", "Value": [item]}}).encode()


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    return write_image(tmp_path_factory.mktemp("web") / "a.dcm")


@pytest.mark.parametrize(
    ("status", "state", "tries"),
    [
        (200, "stored", 1),
        (202, "stored", 1),
        (400, "refused", 1),
        (409, "refused", 1),
        (503, "later", 3),
        (429, "later", 3),
    ],
)
def test_what_a_status_means(file, status, state, tries):
    with saying((status, JSON, b"{}")) as (archive, asked):
        sent = send_files([file], archive, wait_s=0, look="no")
    assert [one.state for one in sent.outcomes] == [state]
    assert len(asked) == sent.tries == tries


@pytest.mark.parametrize("status", [200, 202, 409])
def test_a_failure_in_the_answer_is_a_refusal_whatever_the_status(file, status):
    uid = read_items([file])[0].sop_instance
    with saying((status, JSON, _failed(uid, 0xA700))) as (archive, _):
        sent = send_files([file], archive, wait_s=0, look="no")
    assert (sent.outcomes[0].state, sent.outcomes[0].why) == ("refused", f"failure reason {0xA700}")


def test_a_redirection_is_not_followed_with_the_password(file, monkeypatch):
    monkeypatch.setenv("RADLENGTH_ARCHIVE_TOKEN", "secret")
    words = "leads to another address, which is not followed"
    with saying((200, {}, b"")) as (other, elsewhere):
        there = {"Location": f"{other.address.url}/studies"}
        with saying((302, there, b"")) as (archive, _), pytest.raises(ArchiveError, match=words):
            send_files([file], archive)
        assert elsewhere == []


def test_403_is_told_from_401(file, monkeypatch):
    monkeypatch.setenv("RADLENGTH_ARCHIVE_TOKEN", "secret")
    with (
        saying((403, {}, b"")) as (archive, _),
        pytest.raises(ArchiveError, match="knows us and does not allow this"),
    ):
        send_files([file], archive)


def test_an_answer_that_is_too_large_is_cut_off(monkeypatch):
    monkeypatch.setattr(web, "MOST_BYTES", 1000)
    with (
        saying((200, JSON, b"[" + b" " * 5000 + b"]")) as (archive, _),
        pytest.raises(ArchiveError, match="answer is larger than 0 MB"),
    ):
        look_up(archive, "study", {"PatientID": "x"})


@pytest.mark.parametrize(
    ("status", "body", "found"),
    [(204, b"", []), (200, b"", []), (200, b"[1, 2]", []), (200, b"[]", [])],
    ids=["204", "empty", "numbers", "none"],
)
def test_searches_that_find_nothing(status, body, found):
    with saying((status, JSON, body)) as (archive, _):
        assert look_up(archive, "study", {"PatientID": "x"}) == found


@pytest.mark.parametrize(
    ("status", "kind", "body"),
    [
        (404, "text/html", b"<html>not here</html>"),
        (200, "text/html", b"<html>welcome</html>"),
        (200, "", b"welcome"),
    ],
    ids=["wrong path", "page", "text"],
)
def test_a_web_server_that_is_no_archive_is_told_from_one_that_has_nothing(file, status, kind, body):
    words = "what answers at this address is no archive; the root of its DICOMweb services"
    with (
        saying((status, {"Content-Type": kind}, body)) as (archive, _),
        pytest.raises(ArchiveError, match=words),
    ):
        look_up(archive, "study", {"PatientID": "x"})
    with saying((status, {"Content-Type": kind}, body)) as (archive, _):
        sent = send_files([file], archive, wait_s=0, look="no")
    assert (sent.words, sent.outcomes[0].state) == ("stored 0 of 1", "refused")


def test_a_study_that_an_archive_does_not_know_is_none_that_is_listed(file):
    """PS3.18 leaves 404 open where a study of that UID is not there."""
    with saying((404, JSON, b"")) as (archive, _):
        assert archive.listed(read_items([file])) == set()


def test_an_archive_that_answers_in_xml_has_stored(file):
    with saying((200, {"Content-Type": "application/dicom+xml"}, b"<NativeDicomModel/>")) as (archive, _):
        assert send_files([file], archive, wait_s=0, look="no").words == "stored 1 of 1"


def test_a_search_that_fails_is_a_sentence():
    with (
        saying((500, JSON, b"")) as (archive, _),
        pytest.raises(ArchiveError, match="could not search: it answers 500"),
    ):
        look_up(archive, "study", {"PatientID": "x"})


def test_a_list_that_comes_in_pages_is_read_to_its_end(file, monkeypatch):
    monkeypatch.setattr(web, "MOST_FOUND", 2)
    item = read_items([file])[0]
    rows = [
        [{"00080018": {"Value": [uid]}} for uid in page]
        for page in (["1", "2"], ["3", item.sop_instance], ["4"])
    ]
    with saying(*((200, JSON, json.dumps(page).encode()) for page in rows)) as (archive, asked):
        assert archive.listed([item]) == {item.sop_instance}
    assert ["offset=0" in asked[0][1], "offset=2" in asked[1][1], "offset=4" in asked[2][1]] == [True] * 3


def test_an_archive_that_ignores_pages_does_not_loop(file, monkeypatch):
    monkeypatch.setattr(web, "MOST_FOUND", 2)
    item = read_items([file])[0]
    same = json.dumps([{"00080018": {"Value": ["1"]}}, {"00080018": {"Value": ["2"]}}]).encode()
    with saying((200, JSON, same)) as (archive, asked):
        assert archive.listed([item]) == set()
    assert len(asked) == 2


def test_more_than_one_file_for_one_is_refused(file, tmp_path):
    item, data = read_items([file])[0], file.read_bytes()
    part = b"--b\r\nContent-Type: application/dicom\r\n\r\n" + data + b"\r\n"
    kind = {"Content-Type": 'multipart/related; type="application/dicom"; boundary=b'}
    with (
        saying((200, kind, part + part + b"--b--")) as (archive, _),
        pytest.raises(ArchiveError, match="sent 2 files where one was asked for"),
    ):
        fetch_files(archive, tmp_path / "o", study=item.study, series=item.series, instance=item.sop_instance)
    with saying((200, kind, part + b"--b--")) as (archive, _):
        got = fetch_files(
            archive, tmp_path / "o", study=item.study, series=item.series, instance=item.sop_instance
        )
    assert got.written[0].read_bytes() == data


def test_a_fetch_that_fails_is_a_sentence(file, tmp_path):
    item = read_items([file])[0]
    with (
        saying((404, {}, b"")) as (archive, _),
        pytest.raises(ArchiveError, match="could not fetch: it answers 404"),
    ):
        fetch_files(archive, tmp_path, study=item.study, series=item.series, instance=item.sop_instance)


def test_name_and_password_go_as_utf8(file, monkeypatch):
    """RFC 7617 2.1: requests itself would use Latin-1."""
    monkeypatch.setenv("RADLENGTH_ARCHIVE_USER", "ζωή")
    monkeypatch.setenv("RADLENGTH_ARCHIVE_PASSWORD", "μυστικό")
    with saying((200, JSON, b"{}")) as (archive, asked):
        send_files([file], archive, look="no")
    scheme, _, coded = asked[0][2]["Authorization"].partition(" ")
    assert (scheme, base64.b64decode(coded).decode()) == ("Basic", "ζωή:μυστικό")
