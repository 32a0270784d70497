"""Images that store grey as red, green and blue: reported, copied in grey, never given a presentation of grey."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pydicom
import pytest
from helpers.archive_images import change, mark, write_image
from pydicom.uid import SecondaryCaptureImageStorage

from radlength.dicom import DicomError, deidentify, list_measurements, write_documents
from radlength.imaging import read_radiograph
from radlength.record import load_record, measure_record


@pytest.fixture
def colour(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", bits=8)
    grey = pydicom.dcmread(path).pixel_array
    change(
        path,
        SOPClassUID=SecondaryCaptureImageStorage,
        SamplesPerPixel=3,
        PlanarConfiguration=0,
        PhotometricInterpretation="RGB",
        PresentationLUTShape=None,
        RescaleSlope="-1",
        PixelData=np.dstack([grey] * 3).tobytes(),
    )
    mark(path)
    return path


def test_a_report_says_that_one_of_three_was_read(colour, invoke):
    done = invoke("dicom", "write", colour, "--picture", "--calibrated", "--json")
    assert [one["kind"] for one in done.json["documents"]] == ["sr", "sc", "derived"]
    assert "stored in colour" in done.json["not_written"]["pr"]
    report = done.json["documents"][0]["file"]
    assert {"46 MB", "46 D"} <= {one.group for one in list_measurements(Path(report))}
    doubts = invoke("dicom", "show", report, "--json").json["canals"][0]["doubts"]
    assert any(doubt.startswith("image-grey-in-colour: ") for doubt in doubts)
    assert "no presentation: the image is stored in colour" in " ".join(
        invoke("dicom", "write", colour).out.split()
    )


def test_no_presentation_of_grey_refers_to_colour(colour):
    """PS3.3 A.33.1: it is for images of one sample a pixel."""
    with pytest.raises(DicomError, match="stored in colour"):
        write_documents(colour, ["sr", "pr"])


def test_a_copy_to_give_away_is_grey_and_measures_the_same(colour, tmp_path):
    made = deidentify([colour], tmp_path / "copies")
    copy = pydicom.dcmread(made.images[0])
    assert (copy.SamplesPerPixel, copy.PhotometricInterpretation) == (1, "MONOCHROME2")
    assert not [name for name in ("PlanarConfiguration", "RescaleSlope", "WindowCenter") if name in copy]
    before, after = read_radiograph(colour), read_radiograph(made.images[0])
    assert after.pixel_sha256 == before.pixel_sha256
    np.testing.assert_array_equal(after.display(), before.display())
    lengths = [
        [found.canal_length for _, found in measure_record(load_record(path), image)]
        for path, image in ((colour, before), (made.images[0], after))
    ]
    assert lengths[0] == lengths[1]
