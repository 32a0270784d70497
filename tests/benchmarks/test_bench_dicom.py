"""Time of documents and of sending, beside dcmtk's own sender in the same run."""

from __future__ import annotations

import subprocess

import pydicom
import pytest
from helpers.archive_images import marked_image, write_image
from helpers.archive_servers import has_tool, storescp

from radlength.dicom import marked, open_archive, read_source, send_files
from radlength.dicom.write import build
from radlength.imaging import read_radiograph
from radlength.record import load_record

IMAGES = 100


def test_report_and_presentation_of_two_canals(benchmark, tmp_path) -> None:
    path = marked_image(tmp_path).path
    source, record, radiograph = read_source(path), load_record(path), read_radiograph(path)

    def both() -> int:
        what = marked(source, record, radiograph)
        return len([build(kind, what) for kind in ("sr", "pr")])

    assert benchmark(both) == 2


@pytest.fixture(scope="module")
def images(tmp_path_factory):
    folder = tmp_path_factory.mktemp("images")
    ds = pydicom.dcmread(write_image(folder / "first.dcm"))
    ds.Rows, ds.Columns = 1300, 900
    ds.PixelData = bytes(2 * 1300 * 900)
    files = []
    for number in range(IMAGES):
        ds.SOPInstanceUID = ds.file_meta.MediaStorageSOPInstanceUID = f"2.25.77{number}"
        files.append(folder / f"{number}.dcm")
        ds.save_as(files[-1])
    return files


@has_tool("storescp")
@pytest.mark.parametrize("sender", ["radlength", "storescu"])
def test_a_hundred_images_to_a_receiver(benchmark, images, tmp_path, sender) -> None:
    """2.3 MB each, to dcmtk's storescp on this machine."""
    with storescp(tmp_path / "in") as port:

        def send() -> bool:
            if sender == "storescu":
                done = subprocess.run(["storescu", "127.0.0.1", str(port), *map(str, images)], check=True)
                return done.returncode == 0
            return send_files(images, open_archive(f"dicom://ANY@127.0.0.1:{port}"), look="no").complete

        assert benchmark.pedantic(send, rounds=2, warmup_rounds=1)
