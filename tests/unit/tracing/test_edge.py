"""The end of a line among other things: how wide the line itself is, and where its height falls."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.object_images import PIXEL_MM, bent, image_of
from scipy.ndimage import gaussian_filter
from scipy.special import ndtr

from radlength.tracing import find_instrument
from radlength.tracing.edge import STEP_MM, WIDTHS_MM, fit_edge, own_width

ACROSS = np.arange(-45, 46) * STEP_MM
AT = np.arange(-150, 76) * STEP_MM
TIP = 640.3


def bump(x, width):
    return np.exp(-0.5 * (x / width) ** 2)


@pytest.mark.parametrize("width", WIDTHS_MM)
def test_a_line_alone_is_as_wide_as_it_is(width):
    assert own_width(bump(ACROSS, width), ACROSS) == width


BESIDE = {
    "in a bright root": 3 * bump(ACROSS, 0.6),
    "between dark rims": -0.6 * bump(ACROSS - 0.35, 0.1) - 0.6 * bump(ACROSS + 0.35, 0.1),
    "next to another": 2 * bump(ACROSS - 0.6, 0.1),
}


@pytest.mark.parametrize("beside", BESIDE.values(), ids=BESIDE)
def test_what_lies_beside_a_line_does_not_make_it_wider(beside):
    assert own_width(bump(ACROSS, 0.08) + beside, ACROSS) <= 0.11


@pytest.mark.parametrize("off_px", [(0, 0), (6, 3), (-7, -4)])
def test_the_end_of_a_thin_root_is_not_the_tip_of_an_instrument_that_goes_past_it(off_px):
    """Half a millimetre past the apex: the width of the root was once taken for that of the instrument."""
    rows, columns = np.mgrid[:700, :240].astype(float)
    away = (columns - bent(rows)) * PIXEL_MM
    grey = 60 + 60 * bump(away, 0.06) * np.clip(TIP - rows + 0.5, 0, 1)
    grey += 60 * bump(away, 0.25) * ndtr((TIP - 0.5 / PIXEL_MM - rows) / 3.0)
    image = image_of(gaussian_filter(grey, 1.2), noise=1.0)
    found = find_instrument(image, (40, bent(40) + 4), (TIP + off_px[0], bent(TIP) + off_px[1]))
    edge_row = found.tip_px[0] - found.offset.mm / PIXEL_MM
    assert abs(edge_row - TIP) * PIXEL_MM < 0.05
    assert found.trusted, found.findings


def test_a_dip_just_past_an_edge_hardly_moves_it():
    """Sharpened pictures fall below what lies around there; the height of the line does not."""
    noise = np.random.default_rng(0).normal(0, 1, AT.size)
    heights = 40 * ndtr(-AT / 0.07) - 20 * bump(AT - 0.22, 0.1) + noise
    assert abs(fit_edge(heights, AT, 0.05, 0.25).place_mm) < 0.012


def behind(seed):
    """Return what bone that changes over a third of a millimetre adds to heights, SD 1."""
    grain = gaussian_filter(np.random.default_rng(seed).normal(size=AT.size), 0.12 / STEP_MM)
    return grain / grain.std()


def test_the_uncertainty_of_an_edge_knows_that_bone_changes_slowly():
    found = [fit_edge(40 * ndtr(-AT / 0.07) + 6 * behind(seed), AT, 0.05, 0.25) for seed in range(60)]
    off = np.array([edge.place_mm / edge.u_mm for edge in found])
    assert np.sqrt(np.mean(off**2)) < 1.2
    assert np.median([edge.u_mm for edge in found]) < 0.08
