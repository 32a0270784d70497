"""Real archives on this machine: what they take, keep, say they keep, and give back."""

from __future__ import annotations

import pydicom
import pytest
from helpers.archive_images import write_image
from helpers.archive_servers import HAS_ORTHANC, free_port, has_tool, orthanc, storescp
from helpers.archive_studies import copies_of, next_seed, study_of
from pydicom.uid import JPEG2000Lossless, JPEGLSLossless, RLELossless

from radlength.dicom import (
    ArchiveError,
    commit,
    fetch_files,
    open_archive,
    read_items,
    restore_record,
    send_files,
)
from radlength.dicom.archive_send import same_content
from radlength.imaging import read_radiograph
from radlength.record import load_record, measure_record


@HAS_ORTHANC
@pytest.mark.parametrize(
    ("syntax", "plugin"),
    [(JPEG2000Lossless, "pylibjpeg"), (JPEGLSLossless, "pyjpegls"), (RLELossless, "pydicom")],
    ids=["j2k", "jpeg-ls", "rle"],
)
def test_compressed_images_go_as_they_are(tmp_path, address, syntax, plugin):
    path = write_image(tmp_path / "tooth.dcm", seed=next_seed())
    ds = pydicom.dcmread(path)
    ds.compress(syntax, encoding_plugin=plugin)
    ds.save_as(path)
    archive = open_archive(address)
    sent = send_files([path], archive)
    assert sent.complete, sent.outcomes
    got = fetch_files(archive, tmp_path / "got", study=str(ds.StudyInstanceUID))
    assert pydicom.dcmread(got.written[0]).file_meta.TransferSyntaxUID == syntax


@has_tool("storescp")
def test_what_a_receiver_does_not_take_is_said_and_the_rest_stored(tmp_path):
    """dcmtk's receiver takes no compressed files unless told so."""
    plain = write_image(tmp_path / "plain.dcm", seed=1)
    packed = write_image(tmp_path / "packed.dcm", seed=2)
    ds = pydicom.dcmread(packed)
    ds.compress(JPEG2000Lossless, encoding_plugin="pylibjpeg")
    ds.save_as(packed)
    with storescp(tmp_path / "in") as port:
        sent = send_files([packed, plain], open_archive(f"dicom://ANY@127.0.0.1:{port}"), look="no")
        alone = send_files([packed], open_archive(f"dicom://ANY@127.0.0.1:{port}"), look="no")
    assert sent.words == "stored 1 of 2"
    refused = sent.outcomes[0]
    assert refused.state == "refused"
    assert (
        "does not take Digital Intra-Oral X-Ray Image Storage - For Presentation as JPEG 2000" in refused.why
    )
    arrived = next((tmp_path / "in").iterdir())
    assert same_content(arrived.read_bytes(), plain.read_bytes())
    assert alone.outcomes == (refused,)
    with storescp(tmp_path / "all", "+xa") as port:
        assert send_files([packed, plain], open_archive(f"dicom://ANY@127.0.0.1:{port}"), look="no").complete


@has_tool("storescp")
def test_a_receiver_that_cannot_be_asked_leaves_everything_unchecked(tmp_path):
    path = write_image(tmp_path / "plain.dcm")
    with storescp(tmp_path / "in") as port:
        sent = send_files([path], open_archive(f"dicom://ANY@127.0.0.1:{port}"))
    assert sent.words == "stored 0 of 1"
    assert sent.outcomes[0].state == "stored"


@HAS_ORTHANC
def test_an_independent_client_sees_what_was_sent(tmp_path, server):
    from dicomweb_client import DICOMwebClient

    made, files = study_of(tmp_path)
    send_files(files, open_archive(server.address), look="no")
    client = DICOMwebClient(server.web)
    found = client.search_for_instances(str(made.dataset().StudyInstanceUID))
    assert len(found) == 3


@HAS_ORTHANC
def test_marks_come_back_from_the_archive_on_the_image_that_came_back_with_them(tmp_path, address):
    made, files = study_of(tmp_path)
    archive, image = open_archive(address), made.dataset()
    send_files(files, archive, look="no")
    fetch_files(archive, tmp_path / "got", study=str(image.StudyInstanceUID))
    fetched = tmp_path / "got" / f"{image.SOPInstanceUID}.dcm"
    report = tmp_path / "got" / f"{pydicom.dcmread(files[1]).SOPInstanceUID}.dcm"
    restored = load_record(restore_record(report, fetched) and fetched)
    assert [entry.canal for entry in restored.canals] == [entry.canal for entry in made.record.canals]
    before, after = (
        measure_record(record, read_radiograph(path))
        for record, path in ((made.record, made.path), (restored, fetched))
    )
    assert [found.working_length for _, found in after] == [found.working_length for _, found in before]


@HAS_ORTHANC
def test_nothing_of_it_is_a_sentence(tmp_path, address):
    with pytest.raises(ArchiveError, match=r"the archive has nothing of it|could not fetch"):
        fetch_files(open_archive(address), tmp_path / "got", study="1.2.3.4.5.6")


@HAS_ORTHANC
def test_the_archive_is_asked_to_commit_itself(tmp_path):
    port = free_port()
    files = copies_of(tmp_path, 3)
    with orthanc(tmp_path, DicomModalities={"radlength": ["RADLENGTH", "127.0.0.1", port]}) as one:
        archive = open_archive(one.address)
        send_files(files[:2], archive, look="no")
        items = read_items(files)
        said = commit(archive, items, port=port, wait_s=15)
    uids = [item.sop_instance for item in items]
    assert (said.kept, said.failed) == ({*uids[:2]}, {uids[2]})
    assert said.words == "committed 2 of 3"


@has_tool("storescp")
def test_where_no_commitment_is_offered_that_is_said(tmp_path):
    path = write_image(tmp_path / "a.dcm")
    with storescp(tmp_path / "in") as port:
        archive = open_archive(f"dicom://ANY@127.0.0.1:{port}")
        with pytest.raises(ArchiveError, match="offers no storage commitment"):
            commit(archive, read_items([path]), port=free_port(), wait_s=1)


@HAS_ORTHANC
def test_an_answer_that_cannot_reach_us_is_not_waited_for_for_ever(tmp_path, server):
    """The archive knows another port of ours than the one opened."""
    path = write_image(tmp_path / "a.dcm", seed=next_seed())
    archive = open_archive(server.address)
    with pytest.raises(ArchiveError, match=r"no answer about keeping came within 0\.5 s"):
        commit(archive, read_items([path]), port=free_port(), wait_s=0.5)
    with pytest.raises(ArchiveError, match="storage commitment is asked by DIMSE"):
        commit(open_archive(server.web), read_items([path]), port=free_port())
    with pytest.raises(ArchiveError, match="cannot be opened"):
        commit(archive, read_items([path]), port=server.http)
