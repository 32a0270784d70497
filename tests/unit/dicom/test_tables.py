"""Lookup tables of the image in what is made of it: the same picture, however the image keeps them."""

from __future__ import annotations

import numpy as np
import pydicom
import pytest
from helpers.archive_images import mark, write_image
from pydicom.dataset import Dataset
from pydicom.uid import ExplicitVRBigEndian

from radlength.dicom import deidentify, write_documents
from radlength.imaging import read_radiograph
from radlength.imaging.dicom_display import table_of

SHOWN = ("WindowCenter", "WindowWidth", "RescaleSlope", "RescaleIntercept", "RescaleType")


def _image(path, keyword, bits, *, big, one_in_a_word=False):
    """Write an image that a falling table turns to its negative."""
    write_image(path)
    ds = pydicom.dcmread(path)
    values = np.linspace((1 << bits) - 1, 0, 4096)
    kind = ">u2" if big else "<u2"
    packed = bits == 8 and not one_in_a_word
    words = values.astype("u1").view("<u2").astype(kind) if packed else values.astype(kind)
    item = Dataset()
    item.add_new("LUTDescriptor", "US", [4096, 0, bits])
    item.add_new("LUTData", "OW", words.tobytes())
    setattr(ds, keyword, [item])
    for name in SHOWN:
        del ds[name]
    if big:
        ds.PixelData = ds.pixel_array.astype(">u2").tobytes()
        turned = Dataset()
        turned.file_meta = ds.file_meta
        for element in ds:
            turned.add(element)
        turned.file_meta.TransferSyntaxUID = ExplicitVRBigEndian
        ds = turned
    pydicom.dcmwrite(path, ds, implicit_vr=False, little_endian=not big, enforce_file_format=True)
    mark(path)
    return path


CASES = pytest.mark.parametrize(
    ("bits", "big", "one_in_a_word"),
    [
        pytest.param(12, False, False, id="12-bit"),
        pytest.param(12, True, False, id="12-bit-big-endian"),
        pytest.param(8, False, False, id="8-bit-two-in-a-word"),
        pytest.param(8, False, True, id="8-bit-one-in-a-word"),
        pytest.param(16, True, False, id="16-bit-big-endian"),
    ],
)


@CASES
@pytest.mark.parametrize("keyword", ["VOILUTSequence", "ModalityLUTSequence"])
def test_a_copy_to_give_away_looks_like_the_original(tmp_path, keyword, bits, big, one_in_a_word):
    """Else bone is dark in it, and whoever traces in it is told the opposite."""
    path = _image(tmp_path / "tooth.dcm", keyword, bits, big=big, one_in_a_word=one_in_a_word)
    before = read_radiograph(path)
    after = read_radiograph(deidentify([path], tmp_path / "copies").images[0])
    assert (before.facts.photometric, after.facts.photometric) == ("MONOCHROME1", "MONOCHROME1")
    np.testing.assert_array_equal(after.display(), before.display())
    np.testing.assert_array_equal(after.stored, before.stored)


@CASES
def test_a_presentation_has_the_table_of_the_image_in_8_or_16_bits(tmp_path, bits, big, one_in_a_word):
    """PS3.3 C.11.8 knows no other; its output is a share of full white."""
    path = _image(tmp_path / "tooth.dcm", "VOILUTSequence", bits, big=big, one_in_a_word=one_in_a_word)
    made = pydicom.dcmread(write_documents(path, ["pr"])[0].path)
    (item,) = made.SoftcopyVOILUTSequence[0].VOILUTSequence
    most = 255 if bits == 8 else 65_535
    assert list(item.LUTDescriptor) == [4096, 0, 8 if bits == 8 else 16]
    values, _ = table_of(item)
    np.testing.assert_allclose(values / most, np.linspace(1, 0, 4096), atol=1 / ((1 << bits) - 1))


def test_a_table_that_begins_below_zero_stays_so(tmp_path):
    """PS3.3 C.11.2.1.1: the first value is one after the rescale."""
    path = write_image(tmp_path / "tooth.dcm", RescaleIntercept="-100")
    ds = pydicom.dcmread(path)
    item = Dataset()
    item.add_new("LUTDescriptor", "SS", [4096, -100, 12])
    item.add_new("LUTData", "OW", np.linspace(4095, 0, 4096).astype("<u2").tobytes())
    ds.VOILUTSequence = [item]
    ds.save_as(path)
    mark(path)
    before = read_radiograph(path)
    after = read_radiograph(deidentify([path], tmp_path / "copies").images[0])
    np.testing.assert_array_equal(after.display(), before.display())
    made = pydicom.dcmread(write_documents(path, ["pr"])[0].path)
    assert list(made.SoftcopyVOILUTSequence[0].VOILUTSequence[0].LUTDescriptor) == [4096, -100, 16]


def _of_bytes(tmp_path, descriptor, told):
    """Write an image with a table, and turn its descriptor into the bytes of another program."""
    path = write_image(tmp_path / "tooth.dcm", RescaleIntercept="-100")
    ds = pydicom.dcmread(path)
    item = Dataset()
    item.add_new("LUTDescriptor", "US", descriptor)
    item.add_new("LUTData", "OW", np.arange(descriptor[0]).astype("<u2").tobytes())
    ds.VOILUTSequence = [item]
    ds.save_as(path)
    head = b"\x28\x00\x02\x30"
    written = head + b"US\x06\x00" + np.array(descriptor, "<u2").tobytes()
    data = path.read_bytes()
    assert data.count(written) == 1
    path.write_bytes(data.replace(written, head + told))
    mark(path)
    return path


@pytest.mark.parametrize(
    ("descriptor", "told"),
    [
        pytest.param([4096, 0, 12], b"US\x06\x00" + np.array([4096, 0, 0], "<u2").tobytes(), id="of-no-bits"),
        pytest.param(
            [40_000, 7, 16],
            b"SS\x06\x00" + np.array([40_000 - 65_536, -100, 16], "<i2").tobytes(),
            id="longer-than-signed-numbers-tell",
        ),
    ],
)
def test_a_table_that_cannot_be_told_truly_is_left_out(tmp_path, descriptor, told):
    """A table that began at -100 would begin at 65436 in the copy: another picture, and nothing says so."""
    path = _of_bytes(tmp_path, descriptor, told)
    copy = pydicom.dcmread(deidentify([path], tmp_path / "copies").images[0])
    assert "VOILUTSequence" not in copy
    made = pydicom.dcmread(write_documents(path, ["pr"])[0].path)
    assert all("VOILUTSequence" not in one for one in made.get("SoftcopyVOILUTSequence", []))


def test_entries_above_8_bits_stay_white(tmp_path):
    """A word that holds 300 is shown white; its low byte is 44, nearly black."""
    path = write_image(tmp_path / "tooth.dcm")
    ds = pydicom.dcmread(path)
    item = Dataset()
    item.add_new("LUTDescriptor", "US", [4096, 0, 8])
    item.add_new("LUTData", "OW", np.linspace(0, 3000, 4096).astype("<u2").tobytes())
    ds.VOILUTSequence = [item]
    ds.save_as(path)
    before = read_radiograph(path)
    after = read_radiograph(deidentify([path], tmp_path / "copies").images[0])
    np.testing.assert_array_equal(after.display(), before.display())
