"""Measures of pixels on images nobody here made: what is in doubt is written down, with what was seen by eye.

Sources of the images: fixtures/images/ORIGIN.md. None is a dental radiograph; one is a radiograph (of a dog).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers.quality_scenes import doubts

from radlength.imaging import read_radiograph
from radlength.imaging.quality import pixel_measures

IMAGES = Path(__file__).parents[2] / "fixtures" / "images"

SEEN = {
    # a radiograph as it was taken
    "dx_image.dcm": set(),
    # a montage of slices with white page and black ground
    "Tooth036.ExtractedSlices.png": {"clipped_dark", "clipped_bright"},
    # a montage with white page
    "ScanOverviews.png": {"clipped_bright"},
    # photographs made small for the web, with a list of editing steps in the file
    "BMNHE_1105737_angle0.JPG": {"rescaled", "edit_history"},
    "BMNHE_1105737_angle90.JPG": {"rescaled", "edit_history"},
    # frames of a microscope camera
    "C24_Image_835.jpg": set(),
    "C48_Image_969.jpg": set(),
    # an electron micrograph full of noise
    "inf1.tif": {"noise"},
}


@pytest.mark.parametrize(("name", "expected"), SEEN.items(), ids=SEEN.keys())
def test_doubts_about_real_images(name: str, expected: set[str]) -> None:
    assert doubts(pixel_measures(read_radiograph(IMAGES / name))) == expected
