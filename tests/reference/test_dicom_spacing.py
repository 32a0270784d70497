"""What a header's spacing means, case by case.

Source: PS3.3 10.7.1 and C.8.7 as quoted there (Pixel Spacing equal to, different from, without Imager Pixel Spacing;
Estimated Radiographic Magnification Factor = SID / SOD); 0.020 / 1.05 = 0.019048 recomputed.
"""

import warnings

import pytest
from pydicom.dataset import Dataset

from radlength.imaging.dicom_spacing import header_scale


def header(**attributes):
    ds = Dataset()
    for keyword, value in attributes.items():
        setattr(ds, keyword, value)
    return header_scale(ds)


@pytest.mark.parametrize(
    ("attributes", "meaning", "row_mm"),
    [
        pytest.param({"ImagerPixelSpacing": [0.02, 0.02]}, "detector", 0.02, id="imager-alone"),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.02, 0.02]}, "detector", 0.02, id="equal"
        ),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.019048, 0.019048]},
            "geometry",
            0.019048,
            id="different",
        ),
        pytest.param(
            {
                "ImagerPixelSpacing": [0.02, 0.02],
                "PixelSpacing": [0.019, 0.019],
                "PixelSpacingCalibrationType": "FIDUCIAL",
            },
            "fiducial",
            0.019,
            id="fiducial",
        ),
        pytest.param({"PixelSpacing": [0.02, 0.02]}, "undetermined", 0.02, id="pixel-spacing-alone"),
        pytest.param({"NominalScannedPixelSpacing": [0.04, 0.04]}, "detector", 0.04, id="scanned-film"),
        pytest.param({}, "none", None, id="nothing"),
    ],
)
def test_five_cases_and_their_neighbours(attributes, meaning, row_mm):
    scale, findings = header(**attributes)
    assert (scale.meaning, scale.row_mm) == (meaning, row_mm)
    assert findings == []
    assert scale.words.endswith(".") or "PS3.3" in scale.words


def test_the_magnification_factor_is_a_hint():
    scale, _ = header(ImagerPixelSpacing=[0.02, 0.02], EstimatedRadiographicMagnificationFactor=1.05)
    assert scale.meaning == "detector"
    assert scale.row_mm / scale.magnification == pytest.approx(0.019048, abs=1e-6)
    by_distance, _ = header(
        ImagerPixelSpacing=[0.02, 0.02], DistanceSourceToDetector=315, DistanceSourceToPatient=300
    )
    assert by_distance.magnification == pytest.approx(1.05)


def test_rows_come_first():
    scale, _ = header(ImagerPixelSpacing=[0.02, 0.03])
    assert (scale.row_mm * 100, scale.column_mm * 100) == pytest.approx((2.0, 3.0))


@pytest.mark.parametrize(
    ("attributes", "words"),
    [
        pytest.param({"ImagerPixelSpacing": [0, 0]}, "must be positive", id="zero"),
        pytest.param({"ImagerPixelSpacing": [-0.02, 0.02]}, "must be positive", id="negative"),
        pytest.param({"ImagerPixelSpacing": 0.02}, "1 value(s), 2 needed", id="single"),
        pytest.param({"ImagerPixelSpacing": [1.0, 1.0]}, "not that of an intra-oral receptor", id="one-millimetre"),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.025, 0.025]},
            "magnification below 1 is impossible",
            id="below-one",
        ),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "EstimatedRadiographicMagnificationFactor": 2.5},
            "not possible for an intra-oral image",
            id="odd-factor",
        ),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "EstimatedRadiographicMagnificationFactor": 0.95},
            "0.95 is not possible for an intra-oral image",
            id="factor-below-one",
        ),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.019, 0.015]},
            "differ by 1.053 down and by 1.333 across",
            id="out-of-proportion",
        ),
        pytest.param(
            {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.01, 0.01]},
            "implies a magnification of 2, too much",
            id="twofold",
        ),
        pytest.param(
            {"PixelSpacing": [1.0, 1.0], "PixelSpacingCalibrationType": "FIDUCIAL"},
            "The patient spacing of 1 x 1 mm is not that of an intra-oral receptor (0.005-0.2)",
            id="one-millimetre-fiducial",
        ),
        pytest.param({"PixelSpacing": [0.02, 0.02, 0.02]}, "3 value(s), 2 needed", id="three"),
        pytest.param({"PixelSpacing": [float("inf"), 0.02]}, "must be positive", id="infinite"),
    ],
)  # fmt: skip
def test_an_unusable_spacing_is_ignored_and_said(attributes, words):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        _, findings = header(**attributes)
    assert [finding.code for finding in findings] == ["header-scale-ignored"]
    assert words in findings[0].sentence


@pytest.mark.parametrize(
    ("corrected", "factor", "meaning", "believed"),
    [
        pytest.param(0.019, 1.05, "geometry", True, id="agree"),
        pytest.param(0.019, 1.3, "geometry", False, id="disagree"),
        pytest.param(0.02, 1.3, "detector", True, id="not-corrected"),
    ],
)
def test_a_factor_is_held_against_the_correction_that_was_made(corrected, factor, meaning, believed):
    scale, findings = header(
        ImagerPixelSpacing=[0.02, 0.02],
        PixelSpacing=[corrected, corrected],
        EstimatedRadiographicMagnificationFactor=factor,
    )
    assert (scale.meaning, scale.row_mm) == (meaning, corrected)
    assert [finding.code for finding in findings] == ([] if believed else ["header-magnification"])


def test_precedence_of_what_a_header_says():
    """FIDUCIAL before GEOMETRY before the detector with a hint (PS3.3 10.7.1.2)."""
    both = {"ImagerPixelSpacing": [0.02, 0.02], "PixelSpacing": [0.019, 0.019]}
    kinds = {kind: header(**both, PixelSpacingCalibrationType=kind)[0] for kind in ("FIDUCIAL", "GEOMETRY")}
    assert [(scale.meaning, scale.row_mm) for scale in kinds.values()] == [
        ("fiducial", 0.019),
        ("geometry", 0.019),
    ]
    assert "valid at its depth near the central ray" in kinds["FIDUCIAL"].words
    assert "at a depth that is not stated" in kinds["GEOMETRY"].words


def test_an_attribute_that_cannot_be_read_stops_nothing():
    class Unreadable(Dataset):
        def get(self, key, default=None):
            if key == "PixelSpacing":
                message = "could not convert string to float"
                raise ValueError(message)
            return super().get(key, default)

    ds = Unreadable()
    ds.ImagerPixelSpacing = [0.02, 0.02]
    scale, findings = header_scale(ds)
    assert (scale.meaning, scale.row_mm) == ("detector", 0.02)
    assert "PixelSpacing is not a number pair" in findings[0].sentence


def test_a_decimal_comma_is_said():
    ds = Dataset()
    ds.add_new("ImagerPixelSpacing", "LO", ["0,03", "0,03"])
    scale, findings = header_scale(ds)
    assert scale.meaning == "none"
    assert "a decimal comma?" in findings[0].sentence


def test_a_factor_that_contradicts_the_distances_is_not_used():
    scale, findings = header(
        ImagerPixelSpacing=[0.02, 0.02],
        EstimatedRadiographicMagnificationFactor=1.2,
        DistanceSourceToDetector=315,
        DistanceSourceToPatient=300,
    )
    assert scale.magnification is None
    assert "1.2 disagrees with SID/SOD 1.0500" in findings[0].sentence
