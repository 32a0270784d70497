"""DICOM files that store grey as red, green and blue: read where the three are equal, refused where they are not."""

import io

import numpy as np
import pytest
from helpers.image_files import dicom_dataset, dicom_file
from PIL import Image
from pydicom.encaps import encapsulate
from pydicom.uid import (
    ExplicitVRBigEndian,
    ExplicitVRLittleEndian,
    JPEG2000Lossless,
    JPEGBaseline8Bit,
    JPEGLSLossless,
    RLELossless,
)

from radlength.errors import ImageError
from radlength.imaging import pixel_hash

GREY = np.random.default_rng(5).integers(0, 256, (64, 96)).astype(np.uint8)
RGB = np.dstack([GREY] * 3)
HALF = np.full_like(GREY, 128)


@pytest.fixture
def read(read_bytes):
    return lambda dataset: read_bytes(dicom_file(dataset), "tooth.dcm")


def colour(values, interpretation="RGB", planes=0, **changes):
    dataset = dicom_dataset(
        values=values[..., 0],
        SOPClassUID="1.2.840.10008.5.1.4.1.1.7",
        Modality="OT",
        SamplesPerPixel=3,
        PhotometricInterpretation=interpretation,
        PlanarConfiguration=planes,
        BitsAllocated=8,
        BitsStored=8,
        HighBit=7,
        **changes,
    )
    dataset.PixelData = (np.moveaxis(values, -1, 0) if planes else values).tobytes()
    dataset["PixelData"].VR = "OB"
    return dataset


@pytest.mark.parametrize(
    ("values", "interpretation", "planes"),
    [
        pytest.param(RGB, "RGB", 0, id="pixel-by-pixel"),
        pytest.param(RGB, "RGB", 1, id="plane-by-plane"),
        pytest.param(np.dstack([GREY, HALF, HALF]), "YBR_FULL", 0, id="luminance-and-no-chrominance"),
    ],
)
def test_three_equal_channels_are_read_as_grey_and_said(read, values, interpretation, planes):
    """PS3.3 C.7.6.3.1.2: in YBR_FULL, half of the range in CB and CR is no colour."""
    radiograph = read(colour(values, interpretation, planes))
    np.testing.assert_array_equal(radiograph.stored, GREY)
    assert radiograph.pixel_sha256 == pixel_hash(GREY)
    assert [one.code for one in radiograph.findings] == ["secondary-capture", "image-grey-in-colour"]
    assert radiograph.facts.photometric == "MONOCHROME2"


@pytest.mark.parametrize(
    "syntax", [RLELossless, JPEG2000Lossless, JPEGLSLossless], ids=["rle", "j2k", "jpegls"]
)
def test_three_equal_channels_are_read_from_every_lossless_syntax(read, syntax):
    dataset = colour(RGB)
    dataset.compress(syntax)
    radiograph = read(dataset)
    np.testing.assert_array_equal(radiograph.stored, GREY)
    assert radiograph.pixel_sha256 == pixel_hash(GREY)


def test_a_window_means_nothing_beside_colour(read):
    """PS3.3 C.11.2.1.2: windows are for MONOCHROME1 and MONOCHROME2 only."""
    shown = read(colour(RGB, WindowCenter=10, WindowWidth=2)).display()
    np.testing.assert_allclose(shown, (GREY - GREY.min()) / (int(GREY.max()) - GREY.min()), atol=1e-6)


@pytest.mark.parametrize("channel", [0, 1, 2])
def test_one_pixel_of_colour_is_refused(read, channel):
    values = RGB.copy()
    values[3, 4, channel] ^= 1
    with pytest.raises(
        ImageError, match=r"^tooth\.dcm is not one grey image \(0\.016 % of its pixels have colour\)"
    ):
        read(colour(values))


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"PhotometricInterpretation": "MONOCHROME2"}, id="three-samples-called-grey"),
        pytest.param({"PhotometricInterpretation": "PALETTE COLOR"}, id="palette"),
        pytest.param({"NumberOfFrames": 2}, id="frames"),
        pytest.param({"SamplesPerPixel": 1}, id="rgb-on-one-sample"),
    ],
)
def test_what_contradicts_itself_is_still_refused(read, changes):
    dataset = colour(RGB)
    for keyword, value in changes.items():
        setattr(dataset, keyword, value)
    with pytest.raises(ImageError, match="is not one grey image"):
        read(dataset)


@pytest.mark.parametrize("syntax", [ExplicitVRLittleEndian, ExplicitVRBigEndian], ids=["little", "big"])
def test_bits_above_the_stored_ones_are_looked_for_in_every_sample(read, syntax):
    values = np.dstack([GREY.astype(np.uint16)] * 3)
    values[-1, -1] |= 0x1000
    dataset = dicom_dataset(values[..., 0], syntax, SamplesPerPixel=3, PhotometricInterpretation="RGB")
    dataset.PlanarConfiguration = 0
    dataset.PixelData = values.astype(">u2" if syntax == ExplicitVRBigEndian else "<u2").tobytes()
    radiograph = read(dataset)
    np.testing.assert_array_equal(radiograph.stored, GREY)
    assert [one.code for one in radiograph.findings] == ["image-grey-in-colour", "image-high-bits"]


def test_a_jpeg_of_a_grey_picture_in_colour(read):
    """Oracle: the same stream decoded by Pillow."""
    smooth = np.add.outer(np.arange(64), np.arange(96)).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(np.dstack([smooth] * 3)).save(out, "JPEG", quality=90)
    dataset = colour(RGB, "YBR_FULL_422", LossyImageCompression="01")
    dataset.file_meta.TransferSyntaxUID = JPEGBaseline8Bit
    dataset.PixelData = encapsulate([out.getvalue()])
    radiograph = read(dataset)
    np.testing.assert_array_equal(radiograph.stored, np.asarray(Image.open(out))[..., 0])
    assert radiograph.facts.lossy
    assert radiograph.hash_rule == "encoded-frame"
