"""Real images: plumbing from pixels to millimetres, with the scale each image carries.

Sources: micro-CT tooth 036 with 10 µm voxels and a drawn bar of 1 mm (Haberthür et al. 2021, BMC Oral Health); ruler
photograph (BIDS Machine Shop, 2018); SEM image (Nunez-Iglesias, 2016); worms with published lengths corrected for
curvature and a set whose burned-in bar is wrong by ten (Laromaine, Llobet, Alonso, 2025); DX image of a dog
(highdicom, 2020). Coordinates were marked by hand on the images. None of this shows the accuracy of a periapical
radiograph.
"""

from pathlib import Path

import numpy as np
import pytest

from radlength.imaging import read_radiograph
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

IMAGES = Path(__file__).parents[2] / "fixtures" / "images"
SHOWN = 1920 / 1456
"""The worms were marked on a picture of 1456 columns."""


def read(name):
    return read_radiograph(IMAGES / name)


def test_tooth_036_has_the_length_its_axis_says():
    """The axis is ticked every 500 voxels of 10 µm at rows 56, 175, 294, 413 and 532: 42 µm a pixel."""
    bar = Reference(path_px=[(604, 437.5), (604, 461.5)], length_mm=1.0, limit_mm=0.02, placement="beside")
    path = [(56.5, 394), (156, 391), (256, 380), (356, 370), (456, 366), (556, 358), (624.5, 354)]
    marking = Marking(apex_mm=0.05, stop_mm=0.05, tip_mm=0.005, path_mm=0.1)
    radiograph = read("Tooth036.ExtractedSlices.png")
    estimate = estimate_length(
        Canal(tooth="33", name="single", path_px=path), bar, radiograph=radiograph, marking=marking
    )
    mm_per_px = 5.0 / np.mean(np.diff([56, 175, 294, 413, 532]))
    true_mm = float(np.hypot(624.5 - 56.5, 394 - 354) * mm_per_px)
    bar_limit_mm = estimate.straight_length.value_mm * 0.5 / 24
    print(f"axis {true_mm:.2f} mm, bar {estimate.straight_length.value_mm:.2f} ± {bar_limit_mm:.2f} mm")
    assert abs(estimate.straight_length.value_mm - true_mm) < bar_limit_mm
    assert estimate.straight_length.low_mm < true_mm < estimate.straight_length.high_mm
    assert 0 < estimate.canal_length.value_mm - estimate.straight_length.value_mm < 0.3


def test_the_bars_of_the_scouts_agree_with_each_other():
    """Each overview carries a bar of 2 mm; 24 panels at the same magnification give the same pixels."""
    grey = read("ScanOverviews.png").stored
    lengths = []
    for row in grey:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], (row < 40).astype(int), [0]])))
        runs = [int(stop - start) for start, stop in edges.reshape(-1, 2) if 8 <= stop - start <= 12]
        if len(runs) >= 6:
            lengths += runs
    assert len(lengths) >= 12
    assert np.ptp(lengths) <= 1.5
    mm_per_px = 2.0 / np.mean(lengths)
    bar = Reference(path_px=[(0, 0), (0, np.mean(lengths))], length_mm=2.0, limit_mm=0.1, placement="beside")
    tooth = Canal(tooth="33", name="single", path_px=[(22, 40), (180, 40)])
    assert estimate_length(tooth, bar).canal_length.value_mm == pytest.approx(158 * mm_per_px)


def test_the_ruler_reads_the_same_in_both_orientations():
    """Ruler ticks 3 cm and 8 cm: 50 mm; the butterfly's span is the length to be measured."""
    lying, standing = (read(f"BMNHE_1105737_angle{angle}.JPG") for angle in (0, 90))
    assert (lying.facts.orientation, standing.facts.orientation) == (1, 6)
    np.testing.assert_array_equal(np.rot90(standing.stored), lying.stored)
    ticks, span = [(292.0, 20.8), (292.0, 354.4)], [(139.0, 28.0), (150.0, 348.0)]

    def turned(path):
        return [(column, 344 - row) for row, column in path]

    def length(path, known, radiograph):
        ruler = Reference(path_px=known, length_mm=50.0, limit_mm=0.2, placement="beside")
        return estimate_length(Canal(tooth="33", name="single", path_px=path), ruler, radiograph=radiograph)

    one, two = length(span, ticks, lying), length(turned(span), turned(ticks), standing)
    assert one.canal_length.value_mm == pytest.approx(two.canal_length.value_mm, abs=1e-9)
    assert one.canal_length.u_mm == pytest.approx(two.canal_length.u_mm, abs=1e-9)
    assert one.canal_length.value_mm == pytest.approx(48, abs=1)


def test_a_resolution_tag_that_lies_gives_no_scale():
    radiograph = read("inf1.tif")
    assert radiograph.scale.meaning == "none"
    assert radiograph.scale.row_mm is None


def test_unequal_spacing_keeps_the_proportions_of_a_pixel():
    radiograph = read("dx_image.dcm")
    assert radiograph.scale.column_mm / radiograph.scale.row_mm == pytest.approx(1.2012 / 1.2, rel=1e-4)
    assert radiograph.scale.meaning == "none"
    assert "header-scale-ignored" in [finding.code for finding in radiograph.findings]


WORMS = [
    pytest.param(
        "C24_Image_835.jpg",
        [(337, 642), (331, 665), (326, 695), (322, 740), (321, 780), (315, 815), (308, 845), (301, 868), (296, 887)],
        387.2727,
        id="C24-835",
    ),
    pytest.param(
        "C48_Image_969.jpg",
        [(323, 501), (380, 486), (440, 465), (500, 440),
         (555, 413), (605, 383), (655, 362), (705, 352), (755, 347), (803, 348)],
        807.099,
        id="C48-969-left",
    ),
    pytest.param(
        "C48_Image_969.jpg",
        [(22, 1065), (70, 1052), (120, 1039), (170, 1027), (220, 1008),
         (265, 987), (310, 956), (350, 930), (390, 908), (432, 893)],
        704.7725,
        id="C48-969-right",
    ),
]  # fmt: skip


def worm(name, path, bar_um, pitch_mm=None):
    """Measure with 1 µm shown as 0.05 mm, so that the lengths are those of teeth."""
    radiograph = read(name)
    if pitch_mm:
        radiograph = radiograph.with_stated_pitch(pitch_mm, pitch_mm)
    bar = Reference(
        path_px=np.array([(795, 1316.5), (795, 1446.5)]) * SHOWN,
        length_mm=bar_um * 0.05,
        limit_mm=0.01,
        placement="beside",
    )
    canal = Canal(tooth="33", name="single", path_px=np.array(path) * SHOWN)
    return estimate_length(canal, bar, radiograph=radiograph)


@pytest.mark.parametrize(("name", "path", "published_um"), WORMS)
def test_a_worm_traced_by_hand_against_its_published_length(name, path, published_um):
    found_um = worm(name, path, 200).canal_length.value_mm / 0.05
    print(f"{name}: {found_um:.1f} µm, published {published_um}")
    assert found_um == pytest.approx(published_um, rel=0.03)


def test_a_bar_wrong_by_ten_is_a_magnification_finding():
    """The bar says 20 µm and is 200 µm; the published scale is 0.855 pixels a micrometre."""
    name, path, _ = WORMS[0].values
    pitch_mm = 0.05 / 0.855 * 1.05
    right, wrong = worm(name, path, 200, pitch_mm), worm(name, path, 20, pitch_mm)
    assert "magnification-odd" not in [finding.code for finding in right.findings]
    assert [f.severity for f in wrong.findings if f.code == "magnification-odd"] == ["serious"]
    assert wrong.magnification.value == pytest.approx(10 * right.magnification.value)
