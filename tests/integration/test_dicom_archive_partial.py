"""A study with objects of other kinds in it: what can be fetched comes, the rest is named, no other is doubted."""

from __future__ import annotations

import pydicom
import pytest
from helpers.archive_images import marked_image
from helpers.archive_servers import HAS_ORTHANC, orthanc
from helpers.cases import run
from pydicom.uid import CTImageStorage

from radlength.dicom import fetch_files, open_archive, send_files, write_documents

pytestmark = HAS_ORTHANC


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """Return an image with a report, and a slice of another kind in its study."""
    folder = tmp_path_factory.mktemp("study")
    image = marked_image(folder).path
    report = write_documents(image, ["sr"])[0].path
    other = pydicom.dcmread(image)
    other.SOPClassUID = other.file_meta.MediaStorageSOPClassUID = CTImageStorage
    other.Modality = "CT"
    other.SOPInstanceUID = other.file_meta.MediaStorageSOPInstanceUID = "2.25.4711"
    other.SeriesInstanceUID = "2.25.4712"
    other.save_as(folder / "slice.dcm")
    return image, report, folder / "slice.dcm"


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with orthanc(tmp_path_factory.mktemp("server")) as one:
        yield one


def test_one_file_that_is_not_given_back_leaves_the_others_checked(study, server):
    sent = send_files(study, open_archive(server.address))
    assert sent.words == "stored 2 of 3"
    assert [outcome.item.path.name for outcome in sent.stored] == [path.name for path in study[:2]]


def test_a_fetch_brings_what_it_can_and_names_the_rest(study, server, tmp_path):
    send_files(study, open_archive(server.address), look="no")
    uid = str(pydicom.dcmread(study[0]).StudyInstanceUID)
    got = fetch_files(open_archive(server.address), tmp_path / "got", study=uid)
    image = str(pydicom.dcmread(study[0]).SOPInstanceUID)
    assert len(got.written) == 2
    assert image in {path.stem for path in got.written}
    assert "not everything came, 1 instance did not: 1 of CT Image Storage" in got.missing
    whole = fetch_files(open_archive(server.web), tmp_path / "whole", study=uid)
    assert (len(whole.written), whole.missing) == (3, "")


def test_the_command_says_so_and_ends_with_1(study, server, tmp_path):
    send_files(study, open_archive(server.address), look="no")
    uid = str(pydicom.dcmread(study[0]).StudyInstanceUID)
    words = ("dicom", "fetch", "--archive", server.address, "--study", uid, "--out", tmp_path / "got")
    done = run(*words)
    assert done.code == 1
    assert "2 fetched" in done.out
    assert "1 of CT Image Storage" in " ".join(done.out.split())
    again = run(*words, "--json")
    assert (again.code, len(again.json["there"])) == (1, 2)
    assert "CT Image Storage" in again.json["missing"]
