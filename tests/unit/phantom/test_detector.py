from __future__ import annotations

import numpy as np
import pytest

from radlength.errors import PhantomError
from radlength.phantom.detector import Detector, exposed, stored, toned
from radlength.phantom.materials import BONE, ENERGIES_KEV, SOFT, STEEL, WEIGHTS, transmission

FLAT = np.full((256, 256), 0.5, np.float32)
STILL = Detector(quanta=0, scatter=0, focal_spot_mm=0, mtf_sigma_mm=0)


def test_the_beam_weakens_as_beer_and_lambert_say():
    path = np.array([0.0, 2.0], np.float32)
    passed = transmission({SOFT: path, BONE: path / 2})
    by_hand = sum(
        w * np.exp(-2.0 * s - 1.0 * b) for w, s, b in zip(WEIGHTS, SOFT.per_mm, BONE.per_mm, strict=True)
    )
    assert passed == pytest.approx([1.0, by_hand], rel=1e-6)
    assert sum(WEIGHTS) == pytest.approx(1.0)
    assert np.dot(WEIGHTS, ENERGIES_KEV) == pytest.approx(36.8)


def test_the_beam_hardens():
    thin, thick = transmission({STEEL: np.array([0.1, 0.2], np.float32)})
    assert thick > thin**2


def test_quanta_are_as_noisy_as_poisson():
    detector = Detector(quanta=1000, scatter=0, focal_spot_mm=0, mtf_sigma_mm=0)
    image = exposed(FLAT, detector, 0.0, 0.025, np.random.default_rng(0))
    assert image.mean() == pytest.approx(0.5, rel=1e-3)
    assert image.std() == pytest.approx(np.sqrt(0.5 / 1000), rel=0.02)


def test_larger_pixels_gather_more_quanta():
    detector = Detector(quanta=1000, scatter=0, focal_spot_mm=0, mtf_sigma_mm=0)
    image = exposed(FLAT, detector, 0.0, 0.05, np.random.default_rng(0))
    assert image.std() == pytest.approx(np.sqrt(0.5 / 4000), rel=0.02)


def test_an_edge_blurs_by_penumbra_and_detector():
    edge = np.zeros((64, 400), np.float32)
    edge[:, 200:] = 1
    detector = Detector(quanta=0, scatter=0, mtf_sigma_mm=0.03)
    image = exposed(edge, detector, 0.12, 0.01, np.random.default_rng(0))[32]
    spread = np.diff(image)
    place = np.arange(399)
    mean = (place * spread).sum() / spread.sum()
    sd_mm = np.sqrt(((place - mean) ** 2 * spread).sum() / spread.sum()) * 0.01
    assert sd_mm == pytest.approx(np.hypot(0.12 / np.sqrt(12), 0.03), rel=0.02)


def test_scatter_lifts_evenly():
    detector = Detector(quanta=0, scatter=0.1, focal_spot_mm=0, mtf_sigma_mm=0)
    image = exposed(FLAT, detector, 0.0, 0.025, np.random.default_rng(0))
    np.testing.assert_allclose(image, np.full((256, 256), 0.55, np.float32), rtol=1e-4)


def test_less_exposure_is_whiter():
    grey = toned(np.array([[1.0, 0.5, 0.2, 0.05, 1e-4]], np.float32), STILL)[0]
    assert grey[0] == 0
    assert np.all(np.diff(grey) > 0)
    assert grey[-1] <= 1


def test_gamma_lightens_the_middle_and_keeps_the_ends():
    plain = toned(np.array([[1.0, 0.4]], np.float32), STILL)[0]
    light = toned(np.array([[1.0, 0.4]], np.float32), Detector(gamma=2.0))[0]
    assert light[0] == plain[0] == 0
    assert light[1] == pytest.approx(np.sqrt(plain[1]))


def test_sharpening_overshoots_at_an_edge():
    edge = np.full((64, 64), 0.6, np.float32)
    edge[:, 32:] = 0.3
    plain, sharp = toned(edge, STILL), toned(edge, Detector(sharpen=1.0))
    assert sharp.max() > plain.max() + 0.02
    assert sharp.min() < plain.min() - 0.02


@pytest.mark.parametrize(
    ("bits", "kind", "top"), [(8, np.uint8, 255), (12, np.uint16, 4095), (16, np.uint16, 65535)]
)
def test_bits(bits, kind, top):
    grey = np.array([[0.0, 1.0]], np.float32)
    values = stored(grey, Detector(bits=bits))
    assert values.dtype == kind
    assert values.tolist() == [[0, top]]
    assert stored(grey, Detector(bits=bits, inverted=True)).tolist() == [[top, 0]]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ({"bits": 10}, "10 bits a pixel; 8, 12 or 16"),
        ({"quanta": -1}, "a quanta of -1; 0 or more"),
        ({"scatter": float("nan")}, "a scatter of nan"),
        ({"gamma": 0.0}, "a gamma of 0.0; 0.2 to 5"),
    ],
    ids=["bits", "quanta", "scatter", "gamma"],
)
def test_detectors_that_do_not_exist(call, words):
    with pytest.raises(PhantomError, match=words):
        Detector(**call)
