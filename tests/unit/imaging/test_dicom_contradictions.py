"""A header that states two spacings that cannot both be true gives no scale; which one is stale, nothing tells."""

import numpy as np
import pytest
from helpers.image_files import dicom_dataset, dicom_file


@pytest.fixture
def read(read_bytes):
    return lambda **header: read_bytes(dicom_file(dicom_dataset(**header)), "tooth.dcm")


@pytest.mark.parametrize(
    ("header", "words"),
    [
        pytest.param(
            {"PixelSpacing": [0.04, 0.04]}, "a magnification below 1 is impossible", id="halved-picture"
        ),
        pytest.param(
            {"PixelSpacing": [0.01, 0.01]}, "implies a magnification of 2, too much", id="doubled-picture"
        ),
        pytest.param(
            {"PixelSpacing": [0.019, 0.018]}, "differ by 1.053 down and by 1.111 across", id="squeezed"
        ),
        pytest.param(
            {"NominalScannedPixelSpacing": [0.042, 0.042]},
            "0.02 x 0.02 mm as spacing at the detector and 0.042 x 0.042 mm as spacing of a scan",
            id="detector-and-scan",
        ),
        pytest.param(
            {"NominalScannedPixelSpacing": [0.042, 0.042], "PixelSpacing": [0.02, 0.02]},
            "as spacing of a scan",
            id="two-of-three-agree",
        ),
        pytest.param(
            {"PixelSpacing": [0.01, 0.01], "PixelSpacingCalibrationType": "FIDUCIAL"},
            "implies a magnification of 2",
            id="calibrated-by-two",
        ),
    ],
)
def test_two_spacings_that_contradict_each_other_are_no_scale(read, header, words):
    """The picture may have been resized and one of the two left behind: lengths would be wrong by their ratio."""
    radiograph = read(**header)
    assert radiograph.scale.meaning == "none"
    (found,) = radiograph.findings
    assert found.code == "header-scale-ignored"
    assert words in found.sentence
    assert found.sentence.endswith("Neither is used.")


@pytest.mark.parametrize("kind", ["FIDUCIAL", "GEOMETRY"])
def test_a_spacing_called_calibrated_that_is_the_detectors_was_not_corrected(read, kind):
    """PS3.3 10.7.1.1: Pixel Spacing equals the detector's where it has not been corrected for magnification."""
    radiograph = read(PixelSpacing=[0.02, 0.02], PixelSpacingCalibrationType=kind)
    assert (radiograph.scale.meaning, radiograph.scale.row_mm) == ("detector", 0.02)
    (found,) = radiograph.findings
    assert (found.code, found.severity) == ("header-magnification", "question")
    assert f"calls its spacing calibrated ({kind})" in found.sentence


def test_a_calibration_that_comes_close_to_the_detectors_spacing_is_believed(read):
    """An object measured in the image gives the detector's spacing to every digit only by a miracle."""
    radiograph = read(PixelSpacing=[0.019999, 0.019999], PixelSpacingCalibrationType="FIDUCIAL")
    assert (radiograph.scale.meaning, radiograph.scale.row_mm, radiograph.findings) == (
        "fiducial",
        0.019999,
        (),
    )


def test_spacings_of_detector_and_scan_that_agree_need_no_word(read):
    radiograph = read(NominalScannedPixelSpacing=[0.02, 0.02])
    assert (radiograph.scale.meaning, radiograph.findings) == ("detector", ())


@pytest.mark.parametrize(
    "header",
    [{}, {"ImagerPixelSpacing": None, "PixelSpacing": [1.1, 1.1]}, {"ImagerPixelSpacing": [0.1, 1.1]}],
)
def test_a_picture_larger_than_any_receptor_has_no_scale(read, header):
    """A panoramic or a skull view called something else: its magnification is not that of a periapical image."""
    values = np.zeros((1400, 900), np.uint16)
    radiograph = read(**({"values": values, "ImagerPixelSpacing": [0.1, 0.1]} | header))
    assert radiograph.scale.meaning == "none"
    assert radiograph.findings


def test_what_the_size_of_a_picture_says_is_told(read):
    radiograph = read(values=np.zeros((1400, 2800), np.uint16), ImagerPixelSpacing=[0.1, 0.1], Modality="DX")
    (found,) = radiograph.findings
    assert found.code == "header-scale-ignored"
    assert "the picture is 140 x 280 mm, larger than any intra-oral receptor" in found.sentence


def test_an_occlusal_picture_keeps_its_scale(read):
    """The largest receptor is 57 x 76 mm."""
    radiograph = read(values=np.zeros((570, 760), np.uint16), ImagerPixelSpacing=[0.1, 0.1])
    assert (radiograph.scale.meaning, radiograph.findings) == ("detector", ())


@pytest.mark.parametrize(
    ("detector", "patient"), [(0.0185, 0.019), (0.0195, 0.02), (0.0286, 0.029)], ids=["185", "195", "286"]
)
def test_a_spacing_that_is_the_detectors_rounded_leaves_the_detectors(read, detector, patient):
    radiograph = read(ImagerPixelSpacing=[detector] * 2, PixelSpacing=[patient] * 2)
    assert (radiograph.scale.meaning, radiograph.scale.row_mm) == ("detector", detector)
    (found,) = radiograph.findings
    assert (found.code, found.severity) == ("header-scale-ignored", "question")
    assert f"{patient:g} mm is the detector's, {detector:g} mm, rounded" in found.sentence


@pytest.mark.parametrize(
    ("detector", "patient"),
    [
        pytest.param([0.02, 0.02], [0.0204, 0.0204], id="not-by-rounding"),
        pytest.param([0.0151, 0.0151], [0.02, 0.02], id="by-a-third"),
        pytest.param([0.0195, 0.019], [0.02, 0.02], id="one-side-only"),
    ],
)
def test_a_larger_spacing_that_no_rounding_explains_is_a_contradiction(read, detector, patient):
    radiograph = read(ImagerPixelSpacing=detector, PixelSpacing=patient)
    assert radiograph.scale.meaning == "none"
    assert "a magnification below 1 is impossible" in radiograph.findings[-1].sentence


@pytest.mark.parametrize("patient", [0.0273, 0.027])
def test_a_spacing_corrected_by_the_stated_magnification_is_believed(read, patient):
    """PS3.3 10.7.1.1: it differs from the detector's, so it was corrected; here rounded to four and three decimals."""
    radiograph = read(
        Modality="DX",
        ImagerPixelSpacing=[0.03, 0.03],
        PixelSpacing=[patient] * 2,
        EstimatedRadiographicMagnificationFactor=1.1,
    )
    assert (radiograph.scale.meaning, radiograph.scale.row_mm, radiograph.findings) == (
        "geometry",
        patient,
        (),
    )
