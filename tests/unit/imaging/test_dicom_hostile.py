"""DICOM files made to deceive, damaged frames, missing decoders, and headers that talk too much."""

import io
import subprocess
import sys
import warnings
import zlib

import numpy as np
import pydicom
import pytest
from helpers.image_files import DICOM_VALUES, dicom_dataset, dicom_file
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydicom.dataset import Dataset
from pydicom.encaps import encapsulate
from pydicom.pixels import decoders
from pydicom.uid import (
    DeflatedExplicitVRLittleEndian,
    ExplicitVRBigEndian,
    ExplicitVRLittleEndian,
    ImplicitVRLittleEndian,
    JPEG2000Lossless,
    JPEGBaseline8Bit,
    JPEGExtended12Bit,
    JPEGLosslessSV1,
    JPEGLSLossless,
    RLELossless,
)

from radlength.errors import ImageError, RadlengthError
from radlength.imaging import apart, pixel_hash
from radlength.imaging import dicom_file as opening

DEFLATED = dicom_file(dicom_dataset(syntax=DeflatedExplicitVRLittleEndian))
ELEMENT = b"\x02\x00\x10\x00UI\x16\x001.2.840.10008.1.2.1.99"


@pytest.fixture
def read(read_bytes):
    return lambda data: read_bytes(data if isinstance(data, bytes) else dicom_file(data), "tooth.dcm")


def codes(radiograph):
    return [finding.code for finding in radiograph.findings]


def compressed(syntax, **changes):
    ds = dicom_dataset()
    ds.compress(syntax)
    for keyword, value in changes.items():
        setattr(ds, keyword, value)
    return ds


def jpeg_lossless(folder):
    """JPEG Lossless, first-order prediction, by GDCM: the commonest compressed syntax in radiography."""
    gdcm = pytest.importorskip("gdcm")
    native, coded = folder / "native.dcm", folder / "coded.dcm"
    native.write_bytes(dicom_file())
    reader = gdcm.ImageReader()
    reader.SetFileName(str(native))
    assert reader.Read()
    change = gdcm.ImageChangeTransferSyntax()
    change.SetTransferSyntax(gdcm.TransferSyntax(gdcm.TransferSyntax.JPEGLosslessProcess14_1))
    change.SetInput(reader.GetImage())
    assert change.Change()
    writer = gdcm.ImageWriter()
    writer.SetFile(reader.GetFile())
    writer.SetImage(change.GetOutput())
    writer.SetFileName(str(coded))
    assert writer.Write()
    return coded.read_bytes()


def deflated(meta, body, preamble=True):
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return (bytes(128) + b"DICM") * preamble + meta + packer.compress(body) + packer.flush()


ZEROS = bytes(4_000_000)
LONG_META = b"\x02\x00\x02\x01OB\0\0" + (8000).to_bytes(4, "little") + bytes(8000)


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(deflated(ELEMENT, ZEROS), id="no-group-length"),
        pytest.param(
            deflated(b"\x02\0\0\0UL\x04\0\xff\xff\xff\x7f" + ELEMENT, ZEROS), id="false-group-length"
        ),
        pytest.param(deflated(ELEMENT + LONG_META, ZEROS), id="long-meta"),
        pytest.param(deflated(ELEMENT, ZEROS, preamble=False), id="no-preamble"),
    ],
)
def test_no_meta_group_smuggles_a_bomb_past_the_limit(read, monkeypatch, data):
    monkeypatch.setattr(opening, "MAX_INFLATED_BYTES", 1_000_000)
    with pytest.raises(ImageError, match="inflates to more than 1 MB; one periapical image"):
        read(data)


def test_pydicom_itself_never_inflates(read, monkeypatch):
    def never(*_args, **_options):
        message = "pydicom inflated"
        raise AssertionError(message)

    monkeypatch.setattr(pydicom.filereader.zlib, "decompress", never)
    assert read(DEFLATED).pixel_sha256 == pixel_hash(DICOM_VALUES)


def test_a_deflated_file_cut_off_is_refused(read):
    with pytest.raises(ImageError, match="its deflated part is cut off"):
        read(DEFLATED[:-40])


@pytest.mark.parametrize("syntax", [JPEG2000Lossless, JPEGLSLossless], ids=["jpeg2000", "jpegls"])
def test_a_frame_larger_than_its_header_is_refused_before_it_is_decoded(read, syntax):
    with pytest.raises(ImageError, match="it declares 32 x 96 pixels, its coded frame 64 x 96"):
        read(compressed(syntax, Rows=32))


@pytest.mark.parametrize(
    ("depth", "samples"), [(200, 1), (1, 1), (12, 3)], ids=["200-bit", "1-bit", "colour"]
)
def test_a_frame_of_impossible_samples_never_reaches_a_decoder(read, depth, samples):
    """GDCM 3.2.6 ends the process on the first of these."""
    data = bytearray(dicom_file(compressed(JPEGLSLossless)))
    at = data.index(b"\xff\xf7\0\x0b\x0c\0\x40\0\x60\x01")
    data[at + 4], data[at + 9] = depth, samples
    with pytest.raises(ImageError, match=f"its coded frame holds {samples} samples of {depth} bits a pixel"):
        read(bytes(data))


def test_more_coded_data_than_pixels_can_need_is_refused(read):
    ds = compressed(RLELossless)
    ds.PixelData = encapsulate([bytes(3_000_000)])
    with pytest.raises(ImageError, match="more coded data than its rows and columns can need"):
        read(ds)


@pytest.mark.parametrize(
    "frame",
    [b"\xff\x4f\xff\x51", b"\xff\xd8\xff\xd9", b"not a frame at all"],
    ids=["cut", "no-header", "words"],
)
def test_a_frame_without_a_size_is_refused(read, frame):
    ds = compressed(JPEG2000Lossless)
    ds.PixelData = encapsulate([frame])
    with pytest.raises(ImageError, match="the file is damaged: its"):
        read(ds)


def test_jpeg_lossless_has_the_hash_of_its_values(read, tmp_path):
    data = jpeg_lossless(tmp_path)
    assert JPEGLosslessSV1.encode() in data
    radiograph = read(data)
    np.testing.assert_array_equal(radiograph.stored, DICOM_VALUES)
    assert radiograph.pixel_sha256 == pixel_hash(DICOM_VALUES)


def test_a_decoder_that_ends_its_process_ends_only_that(read, tmp_path):
    """GDCM 3.2.6 aborts where the table before the scan has lost its marker."""
    data = jpeg_lossless(tmp_path).replace(b"\xff\xc4\x00\x17", b"\xff\x00\x00\x17")
    request = b"gdcm\n" + data
    child = "import sys; from radlength.imaging.apart import answered; answered(sys.stdin.buffer.read())"
    alone = subprocess.run([sys.executable, "-c", child], input=request, capture_output=True, check=False)
    if alone.returncode == 0:
        pytest.skip("this version of GDCM does not abort")
    with pytest.raises(ImageError, match="the file is damaged: its pixels cannot be decoded"):
        read(data)


def test_a_child_answers_with_the_pixels_it_was_given(tmp_path):
    (tmp_path / "coded.dcm").write_bytes(jpeg_lossless(tmp_path))
    answer = apart.answered(b"gdcm\n" + (tmp_path / "coded.dcm").read_bytes())
    np.testing.assert_array_equal(np.load(io.BytesIO(answer)), DICOM_VALUES)


def test_a_child_that_cannot_start_is_a_refusal(read, monkeypatch, tmp_path):
    data = jpeg_lossless(tmp_path)
    monkeypatch.setattr(apart.sys, "executable", str(tmp_path / "no-python"))
    with pytest.raises(ImageError, match="its pixels cannot be decoded"):
        read(data)


@pytest.mark.parametrize(
    ("syntax", "decoder"),
    [
        pytest.param(JPEG2000Lossless, decoders.JPEG2000LosslessDecoder, id="jpeg2000"),
        pytest.param(JPEGLSLossless, decoders.JPEGLSLosslessDecoder, id="jpegls"),
    ],
)
def test_every_decoder_alone_gives_the_same_hash(read, monkeypatch, syntax, decoder):
    data = dicom_file(compressed(syntax))
    plugins = dict(decoder._available)
    found = {}
    for label, function in plugins.items():
        monkeypatch.setattr(decoder, "_available", {label: function})
        found[label] = read(data).pixel_sha256
    assert len(found) >= 2
    assert set(found.values()) == {pixel_hash(DICOM_VALUES)}


@pytest.mark.parametrize(
    ("syntax", "decoder"),
    [
        pytest.param(JPEG2000Lossless, decoders.JPEG2000LosslessDecoder, id="jpeg2000"),
        pytest.param(JPEGLSLossless, decoders.JPEGLSLosslessDecoder, id="jpegls"),
    ],
)
def test_without_a_decoder_the_remedy_is_named(read, monkeypatch, syntax, decoder):
    data = dicom_file(compressed(syntax))
    monkeypatch.setattr(decoder, "_available", {})
    monkeypatch.setattr(decoder, "_unavailable", {"some plugin": ("something",)})
    with pytest.raises(ImageError) as caught:
        read(data)
    assert str(caught.value) == f"tooth.dcm is stored as {syntax.name}; install radlength[dicom] to read it"


def test_jpeg_of_12_bits_is_named_as_not_read(read):
    frame = b"\xff\xd8\xff\xc1\0\x0b\x0c\0\x40\0\x60\x01\x01\x11\0\xff\xd9"
    ds = dicom_dataset(syntax=JPEGExtended12Bit)
    ds.PixelData = encapsulate([frame])
    with pytest.raises(ImageError, match=r"tooth\.dcm is stored as JPEG Extended .*, which is not read"):
        read(ds)


def lossy(quality, comment=b""):
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray((DICOM_VALUES // 16).astype(np.uint8)).save(out, "JPEG", quality=quality, comment=comment)
    ds = dicom_dataset(syntax=JPEGBaseline8Bit, BitsAllocated=8, BitsStored=8, HighBit=7)
    ds.PixelData = encapsulate([out.getvalue()])
    return ds


def test_a_lossy_frame_is_bound_as_it_is_coded(read):
    one, again, other = read(lossy(90)), read(lossy(90)), read(lossy(80))
    assert one.hash_rule == "encoded-frame"
    assert one.facts.lossy
    assert one.pixel_sha256 == again.pixel_sha256 != other.pixel_sha256
    renamed = lossy(90)
    renamed.PatientName = "Somebody^Invented"
    assert read(renamed).pixel_sha256 == one.pixel_sha256


def test_a_preamble_of_another_format_does_not_hide_a_dicom_file(read):
    data = b"II*\0" + dicom_file()[4:]
    assert read(data).facts.format == "dicom"


@pytest.mark.parametrize("syntax", [ImplicitVRLittleEndian, ExplicitVRLittleEndian, ExplicitVRBigEndian])
def test_a_file_without_meta_group_is_read_as_its_encoding_looks(read, syntax):
    ds = dicom_dataset(syntax=syntax)
    del ds.file_meta
    bare = io.BytesIO()
    encoding = {"implicit_vr": syntax.is_implicit_VR, "little_endian": syntax.is_little_endian}
    pydicom.dcmwrite(bare, ds, enforce_file_format=False, **encoding)
    radiograph = read(bare.getvalue())
    np.testing.assert_array_equal(radiograph.stored, DICOM_VALUES)
    assert radiograph.pixel_sha256 == pixel_hash(DICOM_VALUES)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({"HighBit": 15}, "keeps 12 bits below bit 15", id="high-bit"),
        pytest.param({"BitsStored": 5, "HighBit": 4}, "holds values of 5 bits", id="five-bits"),
        pytest.param({"Modality": "OT"}, "has the modality OT", id="other"),
        pytest.param({"Modality": ""}, "has the modality none", id="no-modality"),
        pytest.param({"PhotometricInterpretation": "PALETTE COLOR"}, "PALETTE COLOR", id="palette"),
        pytest.param({"Rows": 10_000}, "declares 10000 x 96", id="ten-thousand"),
    ],
)
def test_more_that_is_refused(read, changes, words):
    with pytest.raises(ImageError, match=words):
        read(dicom_dataset(**changes))


@pytest.mark.parametrize("keyword", ["Modality", "PhotometricInterpretation"])
def test_free_text_in_a_code_never_reaches_a_message(read, keyword):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        data = dicom_file(dicom_dataset(**{keyword: "Nobody^Invented"}))
    with pytest.raises(ImageError, match="unknown") as caught:
        read(data)
    assert "NOBODY" not in str(caught.value).upper()


@pytest.mark.parametrize(
    "changes", [{"Modality": "SC"}, {"Modality": "OT"}, {"Modality": "IO"}], ids=["SC", "OT", "IO"]
)
def test_a_secondary_capture_is_known_by_its_class(read, changes):
    radiograph = read(dicom_dataset(SOPClassUID="1.2.840.10008.5.1.4.1.1.7", **changes))
    assert codes(radiograph) == ["secondary-capture"]


def broken_table():
    item = Dataset()
    item.LUTExplanation = "no table at all"
    return [item]


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"VOILUTSequence": broken_table()}, id="no-table"),
        pytest.param({"RescaleSlope": "nan"}, id="slope-no-number"),
    ],
)
def test_a_broken_way_of_showing_stops_no_measurement(read, changes):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        data = dicom_file(dicom_dataset(**changes))
    radiograph = read(data)
    np.testing.assert_array_equal(radiograph.stored, DICOM_VALUES)
    assert codes(radiograph) == ["display-ignored"]
    assert (radiograph.display().min(), radiograph.display().max()) == (0, 1)


def test_names_of_the_header_appear_nowhere(read):
    radiograph = read(dicom_dataset(ImagerPixelSpacing=[0, 0], PatientID="invented-17"))
    said = repr(radiograph) + repr(radiograph.facts) + repr(radiograph.scale) + repr(radiograph.findings)
    assert "Nobody" not in said
    assert "invented-17" not in said


CODED = [dicom_file(compressed(syntax)) for syntax in (RLELossless, JPEG2000Lossless, JPEGLSLossless)]


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    base=st.sampled_from([*CODED, DEFLATED]),
    edits=st.lists(st.tuples(st.integers(0, 100_000), st.integers(0, 255)), min_size=1, max_size=4),
    cut=st.one_of(st.none(), st.integers(1, 4000)),
)
def test_mutated_coded_files_raise_nothing_but_refusals(read_bytes, base, edits, cut):
    data = bytearray(base)
    for place, value in edits:
        data[place % len(data)] = value
    try:
        radiograph = read_bytes(bytes(data[:cut]), "tooth.jpg")
    except RadlengthError:
        return
    assert radiograph.display().shape == radiograph.shape
