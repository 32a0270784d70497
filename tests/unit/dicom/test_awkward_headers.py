"""Headers as offices export them: documents are written all the same, and no false number gets into them."""

from __future__ import annotations

import signal
import sys
import warnings

import pydicom
import pytest
from helpers.archive_images import change, marked_image
from pydicom.dataelem import RawDataElement
from pydicom.tag import Tag
from pydicom.uid import SecondaryCaptureImageStorage

from radlength.dicom import (
    DicomError,
    deidentify,
    elsewhere,
    list_measurements,
    marked,
    read_any,
    read_source,
    write_documents,
)
from radlength.dicom.ledger import ledger_path, read_ledger
from radlength.dicom.source import IDENTITY
from radlength.imaging import read_radiograph

SPACING = Tag(0x00181164)


def raw_spacing(path, value):
    """Write the pitch at the detector as these bytes."""
    ds = pydicom.dcmread(path)
    ds._dict[SPACING] = RawDataElement(SPACING, "DS", len(value), value, 0, False, True)
    ds.save_as(path)


@pytest.mark.parametrize(
    "value", [b"0,03\\0,03 ", b"0.03", b"0\\0 ", b"-1\\-1 ", b"0.03\\0.03\\0.03 "], ids=repr
)
def test_a_spacing_that_is_none_is_left_out_of_the_report(tmp_path, value):
    made = marked_image(tmp_path)
    raw_spacing(made.path, value)
    written = write_documents(made.path, ["sr", "pr", "sc"])
    stated = list_measurements(written[0].path)
    assert {"46 MB", "46 D"} <= {one.group for one in stated}
    assert not [one for one in stated if one.name.endswith("Pixel Spacing")]


def test_a_folder_that_cannot_be_written_gives_no_uid_away(tmp_path):
    """The next document would name one before it that nobody ever had."""
    made = marked_image(tmp_path)
    (tmp_path / "file").touch()
    with pytest.raises(DicomError, match="the document cannot be written"):
        write_documents(made.path, out=tmp_path / "file" / "out")
    assert read_ledger(ledger_path(made.path)) == ()


@pytest.mark.skipif(sys.platform == "win32", reason="sizes of files are limited otherwise there")
def test_a_disk_that_has_no_room_for_the_documents_gives_no_uid_away(tmp_path):
    """Room for the list of UIDs there is; a limit of the size of a file stands for a full disk."""
    import resource

    made = marked_image(tmp_path)
    limit, action = resource.getrlimit(resource.RLIMIT_FSIZE), signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, limit[1]))
    try:
        with pytest.raises(DicomError, match="the document cannot be written"):
            write_documents(made.path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        signal.signal(signal.SIGXFSZ, action)
    assert read_ledger(ledger_path(made.path)) == ()
    assert len(write_documents(made.path)) == 2


def test_no_viewer_measures_by_a_spacing_of_zero(tmp_path):
    made = marked_image(tmp_path)
    raw_spacing(made.path, b"0\\0 ")
    what = marked(read_source(made.path), made.record, read_radiograph(made.path))
    assert {one.viewer_mm for one in elsewhere(what)} == {None}


def test_a_calibrated_copy_states_no_proportions_beside_its_spacing(tmp_path):
    """PixelAspectRatio is of type 1C (PS3.3 C.7.6.3): it shall not be there where Pixel Spacing is."""
    made = marked_image(tmp_path)
    change(made.path, ImagerPixelSpacing=None, PixelAspectRatio=[2, 1])
    copy = read_any(write_documents(made.path, ["derived"])[0].path)
    assert "PixelAspectRatio" not in copy
    row, column = (float(side) for side in copy.PixelSpacing)
    assert row / column == pytest.approx(2.0)


def test_a_calibrated_copy_has_every_attribute_of_type_2_of_patient_and_study(tmp_path):
    made = marked_image(tmp_path)
    change(made.path, PatientName=None, PatientID=None, PatientBirthDate=None, PatientSex=None)
    copy = read_any(write_documents(made.path, ["derived"])[0].path)
    assert [name for name in IDENTITY if name not in copy] == []
    assert str(copy.PatientName) == ""


@pytest.mark.parametrize(
    ("window", "kept"),
    [
        ({"WindowCenter": 128, "WindowWidth": 0}, False),
        ({"WindowCenter": [128, 100], "WindowWidth": [0, 200]}, False),
        ({"WindowCenter": 128, "WindowWidth": 256}, True),
        ({"WindowCenter": [100, 128], "WindowWidth": [200, 256]}, True),
        ({"WindowCenter": 128, "WindowWidth": 0.5, "VOILUTFunction": "LINEAR_EXACT"}, True),
    ],
    ids=["zero", "first of two zero", "usual", "two", "exact"],
)
def test_a_window_that_shows_nothing_is_not_handed_on(tmp_path, window, kept):
    made = marked_image(tmp_path)
    change(made.path, **window)
    state = read_any(write_documents(made.path, ["pr"])[0].path)
    assert ("SoftcopyVOILUTSequence" in state) is kept


@pytest.mark.parametrize("modality", ["io", "SC", "OT"])
def test_what_can_be_read_can_be_copied_without_its_identity(tmp_path, modality):
    made = marked_image(tmp_path)
    kind = {} if modality == "io" else {"SOPClassUID": SecondaryCaptureImageStorage}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a code string in small letters
        change(made.path, Modality=modality, **kind)
    copy = deidentify([made.path], tmp_path / "give").images[0]
    assert read_any(copy).Modality == modality.upper()
    assert read_radiograph(copy).pixel_sha256 == read_radiograph(made.path).pixel_sha256
