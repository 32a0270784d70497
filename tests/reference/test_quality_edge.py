"""Modulation transfer beside its closed form, and sharpness from a wire beside the blur it was made with.

Outside checks: the transfer of a Gaussian blur of SD s is exp(-2 pi^2 s^2 f^2) (Fourier transform of a Gaussian,
any table); the edge method is that of IEC 62220-1 (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from helpers.quality_scenes import PITCH_MM, marked, scene, slanted

from radlength.errors import ImageError
from radlength.imaging.quality.chord import fit_chord
from radlength.imaging.quality.sharpness import wire_profiles
from radlength.imaging.quality.slanted import edge_transfer
from radlength.phantom.detector import Detector
from radlength.phantom.projection import Camera, unsharpness_mm

SHARE = 0.03


@pytest.mark.parametrize("angle_deg", [1.5, 3.0, 5.0, 12.0, 87.0, -4.0], ids=lambda angle: f"{angle} deg")
@pytest.mark.parametrize("blur_px", [0.7, 1.0, 1.5, 2.5], ids=lambda blur: f"blur {blur} px")
def test_transfer_of_a_known_blur_within_three_percent(blur_px: float, angle_deg: float) -> None:
    grey, ends = slanted(blur_px, angle_deg=angle_deg)
    found = edge_transfer(grey, ends)
    true = np.exp(-2 * (np.pi * blur_px * found.per_px) ** 2)
    assert np.abs(found.transfer - true).max() < SHARE
    counted = true > 0.1
    assert counted.sum() >= 4
    np.testing.assert_allclose(found.transfer[counted], true[counted], rtol=SHARE)


@pytest.mark.parametrize("blur_px", [1.0, 1.5, 2.5], ids=lambda blur: f"blur {blur} px")
def test_frequencies_of_a_noisy_edge_within_three_percent(blur_px: float) -> None:
    grey, ends = slanted(blur_px, noise=80.0)
    found = edge_transfer(grey, ends)
    half = np.sqrt(np.log(2) / 2) / (np.pi * blur_px)
    assert found.falls_to(0.5) == pytest.approx(half, rel=SHARE)
    assert np.abs(found.transfer - np.exp(-2 * (np.pi * blur_px * found.per_px) ** 2)).max() < SHARE


def test_an_edge_along_the_pixels_is_refused() -> None:
    with pytest.raises(ImageError, match="slanted by"):
        edge_transfer(slanted(1.0, angle_deg=0.0)[0], [(20.0, 120.0), (220.0, 120.0)])


def test_no_step_is_refused() -> None:
    flat = np.random.default_rng(0).integers(900, 1100, (240, 240)).astype(np.uint16)
    with pytest.raises(ImageError, match="no step"):
        edge_transfer(flat, [(20.0, 115.0), (220.0, 125.0)])


@pytest.mark.parametrize("mtf_sigma_mm", [0.03, 0.045, 0.06, 0.09], ids=lambda size: f"{size} mm")
@pytest.mark.parametrize("which", ["file", "wire"])
def test_blur_from_a_round_wire(which: str, mtf_sigma_mm: float) -> None:
    """Within 30 %, as measured over 30 simulated scenes (0.76 to 1.27 times the truth)."""
    case = marked(Detector(mtf_sigma_mm=mtf_sigma_mm))
    camera = Camera.of(scene().view)
    far = float(np.linalg.norm(camera.detector_mm)), float(np.linalg.norm(camera.source_mm))
    true_px = np.hypot(mtf_sigma_mm, unsharpness_mm(0.7, *far) / np.sqrt(12)) / PITCH_MM
    profiles = wire_profiles(case.radiograph, getattr(case, which))
    assert profiles is not None
    found = fit_chord(profiles, ground=2 if which == "file" else 1)
    assert found is not None
    assert found.blur_px == pytest.approx(true_px, rel=0.3)
    assert found.residual < 0.05
