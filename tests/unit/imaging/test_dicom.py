"""DICOM: which images are read, how they are shown, what is refused."""

import zlib

import numpy as np
import pydicom
import pytest
from helpers.image_files import DICOM_VALUES as VALUES
from helpers.image_files import dicom_dataset as dataset
from helpers.image_files import dicom_file as written
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydicom.dataset import Dataset
from pydicom.uid import (
    DeflatedExplicitVRLittleEndian,
    ExplicitVRBigEndian,
    ImplicitVRLittleEndian,
    JPEG2000Lossless,
    JPEGLSLossless,
    RLELossless,
)

from radlength.errors import ImageError, RadlengthError
from radlength.imaging import pixel_hash, read_radiograph
from radlength.imaging.dicom_teeth import iso_by_code
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.trade import ISO_TEETH


@pytest.fixture
def read(tmp_path):
    def read_dataset(data):
        path = tmp_path / "tooth.dcm"
        path.write_bytes(data if isinstance(data, bytes) else written(data))
        return read_radiograph(path)

    return read_dataset


def test_stored_values_and_facts(read):
    radiograph = read(dataset(ImageLaterality="R", PatientOrientation=["P", "F"]))
    np.testing.assert_array_equal(radiograph.stored, VALUES)
    assert (radiograph.facts.modality, radiograph.facts.bits) == ("IO", 12)
    assert radiograph.facts.image_laterality == "R"
    assert radiograph.facts.patient_orientation == ("P", "F")
    assert radiograph.scale.meaning == "detector"


@pytest.mark.parametrize(
    "syntax",
    [
        pytest.param(ImplicitVRLittleEndian, id="implicit"),
        pytest.param(ExplicitVRBigEndian, id="big-endian"),
        pytest.param(DeflatedExplicitVRLittleEndian, id="deflated"),
        pytest.param(RLELossless, id="rle"),
        pytest.param(JPEG2000Lossless, id="jpeg2000"),
        pytest.param(JPEGLSLossless, id="jpegls"),
    ],
)
def test_the_hash_is_the_same_in_every_lossless_transfer_syntax(read, syntax):
    if syntax.is_encapsulated:
        ds = dataset()
        ds.compress(syntax)
    else:
        ds = dataset(syntax=syntax)
    radiograph = read(ds)
    assert radiograph.pixel_sha256 == pixel_hash(VALUES)
    assert radiograph.hash_rule == "stored-samples"
    assert not radiograph.facts.lossy


def test_unused_high_bits_are_masked(read):
    radiograph = read(dataset(values=VALUES | 0xF000))
    np.testing.assert_array_equal(radiograph.stored, VALUES)


def test_monochrome1_looks_like_its_monochrome2_twin(read):
    window = {"WindowCenter": 2048, "WindowWidth": 4096}
    twin = read(dataset(**window)).display()
    one = read(dataset(values=4095 - VALUES, PhotometricInterpretation="MONOCHROME1", **window)).display()
    np.testing.assert_allclose(one, twin, atol=1.5 / 4095)


def test_a_window_and_a_table_are_for_the_eye_only(read):
    item = Dataset()
    item.LUTDescriptor = [4096, 0, 8]
    item.LUTData = np.repeat(np.arange(255, -1, -1, dtype="<u2"), 16).tobytes()
    for changes in ({"WindowCenter": 500, "WindowWidth": 100}, {"VOILUTSequence": [item]}):
        radiograph = read(dataset(**changes))
        np.testing.assert_array_equal(radiograph.stored, VALUES)
        assert radiograph.display().min() >= 0
        assert radiograph.display().max() <= 1
        assert not np.allclose(radiograph.display(), read(dataset()).display())


@pytest.mark.parametrize("function", ["LINEAR", "LINEAR_EXACT", "SIGMOID"])
def test_window_functions_agree_with_pydicom(read, function):
    """Oracle: pydicom.pixels.apply_windowing (PS3.3 C.11.2.1.2)."""
    ds = dataset(WindowCenter=1500, WindowWidth=800, VOILUTFunction=function)
    oracle = pydicom.pixels.apply_windowing(VALUES, ds) / 4095
    np.testing.assert_allclose(read(ds).display(), oracle, atol=2e-3)


def test_a_panoramic_image_gives_no_length(read):
    radiograph = read(dataset(Modality="PX"))
    assert not radiograph.measurable
    assert "panoramic" in [finding.code for finding in radiograph.findings]
    reference = Reference(path_px=[(1, 1), (20, 1)], length_mm=20.0)
    with pytest.raises(RadlengthError, match="a panoramic image gives no length"):
        estimate_length(
            Canal(tooth="11", name="single", path_px=[(1, 1), (22, 1)]), reference, radiograph=radiograph
        )


def test_a_secondary_capture_is_a_finding(read):
    assert "secondary-capture" in [finding.code for finding in read(dataset(Modality="SC")).findings]


@pytest.mark.parametrize(
    "turned",
    [
        pytest.param({"PhotometricInterpretation": "MONOCHROME1"}, id="tag"),
        pytest.param({"PresentationLUTShape": "INVERSE"}, id="presentation"),
        pytest.param({"RescaleSlope": "-1", "RescaleIntercept": "4095"}, id="slope"),
        pytest.param(
            {"RescaleSlope": "-1", "RescaleIntercept": "4095", "WindowCenter": "2048", "WindowWidth": "4096"},
            id="slope-and-window",
        ),
    ],
)
def test_a_picture_that_is_turned_is_shown_and_known_as_turned(read, turned):
    """PS3.3 C.11.1.1.2 (output = m * stored + b), C.11.6.1.2 (INVERSE), C.7.6.3.1.2 (MONOCHROME1)."""
    radiograph = read(dataset(**turned))
    window = {name: value for name, value in turned.items() if name.startswith("Window")}
    shown, plain = radiograph.display(), read(dataset(**window)).display()
    np.testing.assert_allclose(shown, 1 - plain, atol=1.5 / 4095)
    assert radiograph.facts.photometric == "MONOCHROME1"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({"PixelData": None}, r"tooth\.dcm is not one grey image \(no pixels\)", id="no-pixels"),
        pytest.param({"Rows": None}, "does not state its rows and columns", id="no-rows"),
        pytest.param(
            {"SamplesPerPixel": 3}, r"^tooth\.dcm is not one grey image \(samples 3, frames 1\)", id="colour"
        ),
        pytest.param(
            {"NumberOfFrames": 5},
            "frames 5\\); one frame of grey values, MONOCHROME1 or .*; export it as one",
            id="frames",
        ),
        pytest.param({"PhotometricInterpretation": "RGB"}, "is not one grey image", id="rgb-on-one-sample"),
        pytest.param({"Modality": "CT"}, "has the modality CT; IO, DX, CR, PX", id="modality"),
        pytest.param({"PixelRepresentation": 1}, "holds signed values", id="signed"),
        pytest.param({"BitsStored": 17}, "holds values of 17 bits in 16", id="bits"),
        pytest.param({"Rows": 20_000}, "declares 20000 x 96 pixels; less than 10000", id="absurd-rows"),
        pytest.param({"Rows": 2400}, "damaged", id="pixels-missing"),
    ],
)
def test_what_is_not_one_grey_radiograph_is_refused(read, changes, words):
    with pytest.raises(ImageError, match=words) as caught:
        read(dataset(**changes))
    assert "Nobody" not in str(caught.value)


def test_a_missing_decoder_is_named(read, monkeypatch):
    ds = dataset()
    ds.compress(JPEG2000Lossless)

    def no_decoder(_self):
        message = "Unable to decompress 'JPEG 2000' pixel data because all plugins are missing dependencies"
        raise RuntimeError(message)

    data = written(ds)
    monkeypatch.setattr(Dataset, "pixel_array", property(no_decoder))
    with pytest.raises(
        ImageError, match=r"^tooth\.dcm is stored as JPEG 2000 .*; install radlength\[dicom\] to read it"
    ):
        read(data)


def test_a_deflated_bomb_is_refused_before_it_is_inflated(read):
    start = written(dataset(syntax=DeflatedExplicitVRLittleEndian))
    offset = 144 + int.from_bytes(start[140:144], "little")
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    bomb = b"".join(packer.compress(b"\0" * 10_000_000) for _ in range(30)) + packer.flush()
    with pytest.raises(ImageError, match="inflates to more than 250 MB"):
        read(start[:offset] + bomb)


def test_tooth_codes_of_the_header_become_iso_3950(read):
    assert sorted(iso_by_code().values()) == sorted(ISO_TEETH)
    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = "866005003", "SCT", "tooth"
    radiograph = read(dataset(PrimaryAnatomicStructureSequence=[item], ImageLaterality="R"))
    assert radiograph.facts.tooth_codes == ("46",)


@pytest.mark.parametrize(
    ("tooth", "header", "codes"),
    [
        pytest.param("46", {"ImageLaterality": "R"}, [], id="side-agrees"),
        pytest.param("36", {"ImageLaterality": "R"}, ["laterality"], id="side-differs"),
        pytest.param("46", {"PatientOrientation": ["A", "F"]}, [], id="right-side-as-seen"),
        pytest.param("36", {"PatientOrientation": ["A", "F"]}, ["orientation-mirrored"], id="mirrored"),
        pytest.param("46", {"PatientOrientation": ["P", "F"]}, ["orientation-mirrored"], id="mirrored-right"),
        pytest.param("46", {"PatientOrientation": ["R", "F"]}, ["orientation-mirrored"], id="from-behind"),
        pytest.param("46", {"PatientOrientation": ["A", "H"]}, ["orientation-upside-down"], id="upside-down"),
    ],
)
def test_a_wrong_side_is_a_finding(read, tooth, header, codes):
    radiograph = read(dataset(**header))
    reference = Reference(path_px=[(1, 5), (20, 5)], length_mm=20.0)
    canal = Canal(tooth=tooth, name="MB", path_px=[(1, 5), (22, 5)])
    found = estimate_length(canal, reference, radiograph=radiograph).findings
    sides = ("laterality", "orientation-mirrored", "orientation-upside-down", "tooth-not-in-header")
    assert [finding.code for finding in found if finding.code in sides] == codes


GOOD = written(dataset())


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    edits=st.lists(st.tuples(st.integers(0, 900), st.integers(0, 255)), min_size=1, max_size=6),
    cut=st.one_of(st.none(), st.integers(1, 1500)),
)
def test_mutated_files_raise_nothing_but_refusals(read, edits, cut):
    data = bytearray(GOOD)
    for place, value in edits:
        data[place] = value
    words = ""
    try:
        words = str(read(bytes(data[:cut])).findings)
    except RadlengthError as exc:
        words = str(exc)
    assert "Nobody" not in words


def test_a_panoramic_image_of_another_modality_gives_no_length(read):
    """PS3.3 C.8.11.5: Positioner Type PANORAMIC is one of the defined terms of DX images."""
    radiograph = read(dataset(Modality="DX", PositionerType="PANORAMIC"))
    assert not radiograph.measurable
    assert "panoramic" in [finding.code for finding in radiograph.findings]
    assert read(dataset(Modality="DX", PositionerType="COLUMN")).measurable
