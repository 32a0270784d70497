"""Every file of pydicom's own test collection either opens or is refused with a sentence."""

import warnings
from pathlib import Path

import numpy as np
import pydicom
import pydicom.data
import pytest

from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph

FILES = sorted(path for path in Path(pydicom.data.__file__).parent.rglob("*") if path.is_file())


def test_none_raises_anything_else():
    opened, refusals = 0, []
    for path in FILES:
        try:
            radiograph = read_radiograph(path)
        except RadlengthError as exc:
            refusals.append(exc)
        else:
            opened += 1
            assert radiograph.display().shape == radiograph.shape
    print(f"{opened} opened, {len(refusals)} refused")
    assert opened >= 10
    assert len(refusals) >= 50
    assert all(refusal.code and "\n" not in str(refusal) for refusal in refusals)


def test_as_radiographs_they_have_the_values_that_pydicom_reads(tmp_path):
    """Most of the collection is of other modalities: called intra-oral, the decoders see it too."""
    compared = 0
    for path in FILES:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                ds = pydicom.dcmread(path, force=True)
                ds.Modality = "IO"
                ds.PixelRepresentation = 0
                ds.save_as(tmp_path / "made.dcm")
            except Exception:  # noqa: BLE001, S112
                continue
            try:
                radiograph = read_radiograph(tmp_path / "made.dcm")
            except RadlengthError:
                continue
            oracle = ds.pixel_array & ((1 << ds.BitsStored) - 1)
        np.testing.assert_array_equal(radiograph.stored, oracle, err_msg=path.name)
        compared += 1
    assert compared >= 30


@pytest.mark.parametrize("path", FILES[:3], ids=lambda path: path.name)
def test_the_collection_is_there(path):
    assert path.stat().st_size > 0
