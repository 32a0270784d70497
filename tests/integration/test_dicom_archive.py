"""Real archives on this machine: what is sent arrives whole, once, and only where it should."""

from __future__ import annotations

import ssl
import threading
import time
from types import SimpleNamespace

import pydicom
import pytest
import trustme
from helpers.archive_images import write_image
from helpers.archive_servers import HAS_ORTHANC, cutter, orthanc, proxy
from helpers.archive_studies import copies_of, next_seed, study_of

from radlength.dicom import (
    ArchiveError,
    fetch_files,
    look_up,
    open_archive,
    send_files,
)

GREEK = "Παπά^Ζωή"


def _held(server, study) -> list[str]:
    """Return the SOP Instance UIDs of a study, as Orthanc's own interface lists them: one doubled would show."""
    found = [one for one in server.get("/instances?expand") if _study(server, one) == study]
    return sorted(one["MainDicomTags"]["SOPInstanceUID"] for one in found)


def _study(server, instance) -> str:
    parent = server.get(f"/series/{instance['ParentSeries']}")["ParentStudy"]
    return server.get(f"/studies/{parent}")["MainDicomTags"]["StudyInstanceUID"]


@HAS_ORTHANC
def test_store_query_fetch_and_every_byte_of_the_data_sets(tmp_path, server, address):
    kinds = ("sr", "pr", "sc", "derived")
    made, files = study_of(tmp_path, kinds, SpecificCharacterSet="ISO_IR 192", PatientName=GREEK)
    archive, image = open_archive(address), made.dataset()
    sent = send_files(files, archive)
    assert (sent.words, sent.complete, sent.tries) == ("stored 5 of 5", True, 1)
    study = str(image.StudyInstanceUID)
    rows = look_up(archive, "study", {"PatientID": str(image.PatientID)})
    assert [(row["StudyInstanceUID"], row["PatientName"]) for row in rows] == [(study, GREEK)]
    kinds = sorted(row["Modality"] for row in look_up(archive, "series", {"StudyInstanceUID": study}))
    assert kinds == ["IO", "IO", "OT", "PR", "SR"]
    got = fetch_files(archive, tmp_path / "got", study=study)
    assert len(got.written) == 5
    for file in files:
        ours = pydicom.dcmread(file)
        theirs = pydicom.dcmread(tmp_path / "got" / f"{ours.SOPInstanceUID}.dcm")
        assert theirs.to_json_dict() == ours.to_json_dict()
        assert str(theirs.PatientName) == GREEK
    again = fetch_files(archive, tmp_path / "got", study=study)
    assert (len(again.written), len(again.there)) == (0, 5)


@HAS_ORTHANC
def test_sent_twice_it_is_there_once(tmp_path, server, address):
    made, files = study_of(tmp_path)
    archive = open_archive(address)
    for _ in range(2):
        assert send_files(files, archive, look="listed").complete
    held = _held(server, made.dataset().StudyInstanceUID)
    assert held == sorted(str(pydicom.dcmread(file).SOPInstanceUID) for file in files)


@HAS_ORTHANC
def test_an_archive_that_keeps_an_older_file_under_the_same_uid_is_found_out(tmp_path, address):
    """Orthanc answers success and keeps the first: without a look afterwards the change would be lost unnoticed."""
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    archive = open_archive(address)
    assert send_files([path], archive).complete
    ds = pydicom.dcmread(path)
    ds.StudyDescription = "changed"
    ds.save_as(path)
    sent = send_files([path], archive)
    assert [one.state for one in sent.outcomes] == ["stored"]
    assert sent.words == "stored 0 of 1"
    assert not sent.complete


@HAS_ORTHANC
@pytest.mark.parametrize("way", ["dimse", "web"])
def test_an_archive_killed_in_mid_send_loses_and_doubles_nothing(tmp_path, way):
    files = copies_of(tmp_path, 30)
    with orthanc(tmp_path) as one:
        done = []

        def told(outcome):
            done.append(outcome)
            if len(done) == 9:
                one.kill()
                threading.Thread(target=lambda: (time.sleep(0.3), one.start())).start()

        archive = open_archive(one.address if way == "dimse" else one.web)
        sent = send_files(files, archive, tries=12, wait_s=0.05, told=told)
        assert sent.words == "stored 30 of 30"
        assert sent.tries > 1
        held = [i["MainDicomTags"]["SOPInstanceUID"] for i in one.get("/instances?expand")]
        assert sorted(held) == sorted(str(pydicom.dcmread(file).SOPInstanceUID) for file in files)
    assert all(file.exists() for file in files)


@HAS_ORTHANC
def test_a_lost_answer_over_the_web_is_asked_again_with_the_same_uid(tmp_path, server):
    made, files = study_of(tmp_path)
    with proxy(server.http, losses=2) as (port, seen):
        archive = open_archive(f"http://127.0.0.1:{port}/dicom-web")
        sent = send_files(files, archive, tries=4, wait_s=0.01, look="listed")
    assert sent.complete
    assert sent.tries == 3
    assert sum(line.startswith("POST") for line in seen) == 5
    assert len(_held(server, made.dataset().StudyInstanceUID)) == 3


@HAS_ORTHANC
@pytest.mark.parametrize(
    "cut_after", [100, 300, 450, 600], ids=["accepting", "first answer", "second answer", "last answer"]
)
def test_a_connection_cut_in_the_middle_is_made_again(tmp_path, server, cut_after):
    made, files = study_of(tmp_path)
    send_files(files[:1], open_archive(server.address), look="no")
    with cutter(server.dicom, cut_after=cut_after) as (port, cuts):
        archive = open_archive(f"dicom://ORTHANC@127.0.0.1:{port}")
        sent = send_files(files, archive, tries=5, wait_s=0.01, look="listed")
    assert sent.complete
    assert (len(cuts), sent.tries) == (1, 2)
    assert len(_held(server, made.dataset().StudyInstanceUID)) == 3


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    """A throw-away authority, a certificate for this machine, and another authority that signed nothing."""
    folder = tmp_path_factory.mktemp("tls")
    right, wrong = trustme.CA(), trustme.CA()
    issued = right.issue_cert("127.0.0.1", "localhost")
    right.cert_pem.write_to_path(str(folder / "ca.pem"))
    wrong.cert_pem.write_to_path(str(folder / "wrong.pem"))
    issued.private_key_and_cert_chain_pem.write_to_path(str(folder / "server.pem"))
    issued.private_key_pem.write_to_path(str(folder / "key.pem"))
    for blob in issued.cert_chain_pems[:1]:
        blob.write_to_path(str(folder / "cert.pem"))
    return folder


@pytest.fixture(scope="module")
def secret(tmp_path_factory, authority):
    """An archive behind TLS and a password: its addresses by DIMSE and by web, and its ports for both."""
    tls = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    tls.load_cert_chain(authority / "server.pem")
    with (
        orthanc(
            tmp_path_factory.mktemp("secret"),
            AuthenticationEnabled=True,
            RegisteredUsers={"müller": "geheim-ü"},
            DicomTlsEnabled=True,
            DicomTlsCertificate=str(authority / "cert.pem"),
            DicomTlsPrivateKey=str(authority / "key.pem"),
            DicomTlsTrustedCertificates=str(authority / "ca.pem"),
            DicomTlsRemoteCertificateRequired=False,
        ) as one,
        proxy(one.http, tls=tls) as (port, _),
    ):
        yield SimpleNamespace(dicom=one.dicom, http=port)


@pytest.fixture
def known(monkeypatch):
    monkeypatch.setenv("RADLENGTH_ARCHIVE_USER", "müller")
    monkeypatch.setenv("RADLENGTH_ARCHIVE_PASSWORD", "geheim-ü")


def _tls(server, way) -> str:
    return (
        f"dicoms://ORTHANC@127.0.0.1:{server.dicom}"
        if way == "dimse"
        else f"https://127.0.0.1:{server.http}/dicom-web"
    )


@HAS_ORTHANC
@pytest.mark.parametrize("way", ["dimse", "web"])
def test_over_tls_with_the_right_authority(tmp_path, secret, authority, known, way):
    made, files = study_of(tmp_path)
    archive = open_archive(_tls(secret, way), ca=authority / "ca.pem")
    sent = send_files(files, archive)
    assert sent.complete, sent.outcomes
    got = fetch_files(archive, tmp_path / "got", study=str(made.dataset().StudyInstanceUID))
    assert len(got.written) == 3


@HAS_ORTHANC
@pytest.mark.parametrize("way", ["dimse", "web"])
@pytest.mark.parametrize("trusted", ["wrong.pem", None], ids=["wrong-authority", "system-authorities"])
def test_a_certificate_that_is_not_trusted_is_refused(tmp_path, secret, authority, known, way, trusted):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    archive = open_archive(_tls(secret, way), ca=authority / trusted if trusted else None)
    with pytest.raises(ArchiveError, match=r"certificate is not trusted .*; nothing was sent"):
        send_files([path], archive)


@HAS_ORTHANC
def test_a_certificate_for_another_name_is_refused(tmp_path, secret, authority, known, monkeypatch):
    import socket

    real = socket.getaddrinfo
    monkeypatch.setattr(
        socket,
        "getaddrinfo",
        lambda host, *a, **k: real("127.0.0.1" if host == "archive.example" else host, *a, **k),
    )
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    for scheme, port in (("https", secret.http), ("dicoms", secret.dicom)):
        where = (
            f"https://archive.example:{port}/dicom-web"
            if scheme == "https"
            else f"dicoms://ORTHANC@archive.example:{port}"
        )
        with pytest.raises(ArchiveError, match="certificate is not trusted"):
            send_files([path], open_archive(where, ca=authority / "ca.pem"))


@HAS_ORTHANC
def test_a_port_without_tls_is_told_from_silence(tmp_path, server):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    with pytest.raises(ArchiveError, match="does not speak TLS with us"):
        send_files([path], open_archive(f"dicoms://ORTHANC@127.0.0.1:{server.dicom}", connect_s=2), tries=1)


@HAS_ORTHANC
def test_an_archive_that_asks_for_our_certificate_gets_it_or_a_sentence_is_said(tmp_path, authority):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    with orthanc(
        tmp_path,
        DicomTlsEnabled=True,
        DicomTlsCertificate=str(authority / "cert.pem"),
        DicomTlsPrivateKey=str(authority / "key.pem"),
        DicomTlsTrustedCertificates=str(authority / "ca.pem"),
        DicomTlsRemoteCertificateRequired=True,
    ) as one:
        where, ca = f"dicoms://ORTHANC@127.0.0.1:{one.dicom}", authority / "ca.pem"
        ours = {"certificate": authority / "cert.pem", "key": authority / "key.pem"}
        assert send_files([path], open_archive(where, ca=ca, **ours)).complete
        with pytest.raises(ArchiveError, match="a certificate of ours where it asks for one"):
            send_files([path], open_archive(where, ca=ca), tries=1)


@HAS_ORTHANC
@pytest.mark.parametrize(
    ("user", "password", "words"),
    [
        ("müller", "falsch", "does not accept this name and password"),
        ("", "", "asks for a name and a password"),
    ],
    ids=["wrong", "none"],
)
def test_a_wrong_password_is_refused_with_a_sentence(
    tmp_path, secret, authority, monkeypatch, user, password, words
):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    if user:
        monkeypatch.setenv("RADLENGTH_ARCHIVE_USER", user)
        monkeypatch.setenv("RADLENGTH_ARCHIVE_PASSWORD", password)
    archive = open_archive(_tls(secret, "web"), ca=authority / "ca.pem")
    with pytest.raises(ArchiveError, match=words) as caught:
        send_files([path], archive)
    assert "falsch" not in str(caught.value) + repr(caught.value.__dict__)


@HAS_ORTHANC
def test_a_token_opens_and_a_wrong_one_does_not(tmp_path, server, monkeypatch):
    _, files = study_of(tmp_path)
    with proxy(server.http, token="right") as (port, _):  # noqa: S106 - invented
        where = f"http://127.0.0.1:{port}/dicom-web"
        monkeypatch.setenv("RADLENGTH_ARCHIVE_TOKEN", "right")
        assert send_files(files, open_archive(where)).complete
        monkeypatch.setenv("RADLENGTH_ARCHIVE_TOKEN", "wrong")
        with pytest.raises(ArchiveError, match="does not accept this name and password, or this token"):
            send_files(files, open_archive(where))


@HAS_ORTHANC
def test_who_is_not_known_is_not_accepted(tmp_path, server):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    for where, calling in (
        (server.address, "STRANGER"),
        (server.address.replace("ORTHANC", "OTHER"), "RADLENGTH"),
    ):
        with pytest.raises(ArchiveError, match=r"the archive did not accept us|did not answer"):
            send_files([path], open_archive(where, calling=calling), tries=1)


def test_tls_verification_has_no_switch():
    """Neither the address nor an option nor the environment turns it off."""
    from radlength.dicom.archive_address import parse_address
    from radlength.dicom.archive_tls import context_of
    from radlength.dicom.archive_web import WebArchive

    context = context_of(parse_address("dicoms://A@archive.example:2762"))
    assert context.verify_mode is ssl.CERT_REQUIRED
    assert context.check_hostname is True
    archive = WebArchive(parse_address("https://archive.example/x"))
    assert archive._session.verify is True
    assert archive._session.trust_env is False
