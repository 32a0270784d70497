"""Every file of pydicom's own test collection either opens or is refused with a sentence."""

from pathlib import Path

import pydicom.data
import pytest

from radlength.errors import RadlengthError
from radlength.imaging import read_radiograph

FILES = sorted(path for path in Path(pydicom.data.__file__).parent.rglob("*") if path.is_file())


def test_none_raises_anything_else():
    opened, refused = 0, 0
    for path in FILES:
        try:
            radiograph = read_radiograph(path)
        except RadlengthError as exc:
            refused += 1
            assert exc.code
            assert "\n" not in str(exc)
        else:
            opened += 1
            assert radiograph.display().shape == radiograph.shape
    print(f"{opened} opened, {refused} refused")
    assert opened >= 10
    assert refused >= 50


@pytest.mark.parametrize("path", FILES[:3], ids=lambda path: path.name)
def test_the_collection_is_there(path):
    assert path.stat().st_size > 0
