"""DICOM headers as some programs write them: followed, doubted, or refused by name."""

import numpy as np
import pytest
from helpers.image_files import DICOM_VALUES as VALUES
from helpers.image_files import dicom_dataset, dicom_file
from pydicom.dataset import Dataset
from pydicom.uid import ExplicitVRBigEndian, ExplicitVRLittleEndian, JPEG2000Lossless

from radlength.errors import ImageError

FALLING = np.linspace(255, 64, 4096).astype(np.uint8)
FINER = np.linspace(65_000, 16_000, 4096).astype(np.uint16)


@pytest.fixture
def read(read_bytes):
    return lambda dataset: read_bytes(dicom_file(dataset), "tooth.dcm")


def looked_up(bits, data):
    item = Dataset()
    item.LUTDescriptor = [len(FALLING), 0, bits]
    item.LUTData = data
    return [item]


@pytest.mark.parametrize("keyword", ["VOILUTSequence", "ModalityLUTSequence"])
@pytest.mark.parametrize(
    ("syntax", "bits", "data"),
    [
        (ExplicitVRLittleEndian, 8, FALLING.tobytes()),
        (ExplicitVRLittleEndian, 8, FALLING.astype("<u2").tobytes()),
        (ExplicitVRLittleEndian, 16, FINER.astype("<u2").tobytes()),
        (ExplicitVRBigEndian, 8, FALLING.view("<u2").astype(">u2").tobytes()),
        (ExplicitVRBigEndian, 16, FINER.astype(">u2").tobytes()),
    ],
    ids=["two in a word", "one in a word", "16 bit", "two in a word, big endian", "16 bit, big endian"],
)
def test_a_table_is_followed_however_its_entries_are_kept(read, keyword, syntax, bits, data):
    """PS3.3 C.11.1.1.1 and CP-522: 8 bits are kept two in a word; other ways are told by the length."""
    radiograph = read(dicom_dataset(syntax=syntax, **{keyword: looked_up(bits, data)}))
    shown = FALLING[VALUES] / 255 if bits == 8 else FINER[VALUES] / 65_535
    if keyword == "ModalityLUTSequence":  # stretched: the file has no window
        shown = (shown - shown.min()) / (shown.max() - shown.min())
    np.testing.assert_allclose(radiograph.display(), shown, atol=1e-5)
    assert radiograph.facts.photometric == "MONOCHROME1"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"PixelAspectRatio": [2, 1]},
            "pixels are 0.02 down to 0.02 across, and elsewhere 2 to 1; the first is used",
        ),
        (
            {"ImagerPixelSpacing": [0.02, 0.03], "PixelAspectRatio": [1, 1]},
            "pixels are 0.02 down to 0.03 across, and elsewhere 1 to 1",
        ),
    ],
)
def test_proportions_stated_twice_and_unlike_are_a_question(read, changes, words):
    (found,) = [one for one in read(dicom_dataset(**changes)).findings if one.code == "pixels-disputed"]
    assert words in found.sentence


@pytest.mark.parametrize("spacing", [[0.02, 0.03], [0.0201, 0.03]])
def test_proportions_stated_twice_alike_need_no_word(read, spacing):
    radiograph = read(dicom_dataset(ImagerPixelSpacing=spacing, PixelAspectRatio=[2, 3]))
    assert [one.code for one in radiograph.findings] == ["pixels-unequal"]


def test_bits_above_the_stored_ones_are_a_question_unless_a_drawing_lies_there(read):
    """A header that says 12 bits where 16 are used wraps what is bright; PS3.5 8.1.2 once put overlays there."""
    used = dicom_dataset(VALUES * 16)
    radiograph = read(used)
    np.testing.assert_array_equal(radiograph.stored, VALUES * 16 % 4096)
    assert [one.code for one in radiograph.findings] == ["image-high-bits"]
    coded = dicom_dataset()
    coded.compress(JPEG2000Lossless)
    coded.BitsStored, coded.HighBit = 10, 9
    assert [one.code for one in read(coded).findings] == ["image-high-bits"]
    drawn = dicom_dataset(VALUES | 0x8000)
    drawn.add_new(0x60000102, "US", 15)
    radiograph = read(drawn)
    np.testing.assert_array_equal(radiograph.stored, VALUES)
    assert radiograph.findings == ()


@pytest.mark.parametrize(
    ("syntax", "words"),
    [
        ("1.2.840.10008.1.2.999", "is stored as a transfer syntax 1.2.840.10008.1.2.999, which is not read"),
        ("1.2.840.113619.5.2", "is stored as a transfer syntax 1.2.840.113619.5.2, which is not read"),
        ("John^Smith", "is stored as a transfer syntax that is none, which is not read"),
    ],
    ids=["newer standard", "private", "free text"],
)
def test_a_transfer_syntax_that_nobody_here_knows_is_named(read_bytes, syntax, words):
    """The first is one that a later edition of the standard might have, the second a private one."""
    known = dicom_file(dicom_dataset())
    length = len(syntax) + len(syntax) % 2
    old = b"UI\x14\x001.2.840.10008.1.2.1\0"
    new = b"UI" + length.to_bytes(2, "little") + syntax.encode().ljust(length, b"\0")
    with pytest.raises(ImageError, match=words):
        read_bytes(known.replace(old, new), "tooth.dcm")


@pytest.mark.parametrize(
    "header",
    [
        {"WindowCenter": "90000", "WindowWidth": "10"},
        {"WindowCenter": "-90000", "WindowWidth": "10"},
        {"RescaleSlope": "0", "RescaleIntercept": "5"},
    ],
    ids=["window above", "window below", "slope 0"],
)
def test_a_header_that_shows_nothing_is_not_followed(read, header):
    radiograph = read(dicom_dataset(**header))
    assert [one.code for one in radiograph.findings] == ["display-ignored"]
    np.testing.assert_array_equal(radiograph.display(), read(dicom_dataset()).display())


def test_a_plain_picture_is_shown_plain(read):
    assert read(dicom_dataset(VALUES * 0 + 7)).findings == ()
