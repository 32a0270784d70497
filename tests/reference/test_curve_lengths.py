"""Curve lengths against closed formulas and scipy.

Sources: arcs and chords of Pruett, Clement & Carnes (1997), J Endod 23:77-85, angles 30, 45, 60 degrees and radii
2 and 5 mm; the ellipse by the complete elliptic integral (scipy.special.ellipeinc); quadrature by
scipy.integrate.quad.
"""

import numpy as np
import pytest
from helpers.shapes import arc, bent_canal
from scipy.integrate import quad
from scipy.special import ellipeinc

from radlength.geometry import fit_curve, polyline_length, straight_length

PRUETT = [(5, 30, 2.6180, 2.5882), (5, 45, 3.9270, 3.8268), (5, 60, 5.2360, 5.0000)]
PRUETT += [(2, 30, 1.0472, 1.0353), (2, 45, 1.5708, 1.5307), (2, 60, 2.0944, 2.0000)]
PRUETT += [(10, 30, 5.2360, 5.1764), (10, 45, 7.8540, 7.6537), (10, 60, 10.4720, 10.0000)]


@pytest.mark.parametrize(("radius", "angle", "length", "chord"), PRUETT, ids=str)
def test_pruett_arcs_and_chords(radius, angle, length, chord):
    path = arc(radius, angle, 12)
    assert fit_curve(path).length == pytest.approx(length, abs=1e-4)
    assert straight_length(path) == pytest.approx(chord, abs=5e-5)


@pytest.mark.parametrize(
    ("chords", "length"),
    [(1, 5.0000), (2, 5.1764), (3, 5.2094), (4, 5.2210), (6, 5.2293), (10, 5.2336)],
    ids=str,
)
def test_a_polyline_of_few_chords_is_short_and_the_curve_beats_it(chords, length):
    path = arc(5, 60, chords + 1)
    assert polyline_length(path) == pytest.approx(length, abs=5e-5)
    if chords > 1:
        true = 5 * np.pi / 3
        assert abs(fit_curve(path).length - true) < abs(polyline_length(path) - true)


def test_twelve_millimetres_straight_then_sixty_degrees():
    """True length 17.236 mm, straight 16.520 mm: the reason to measure along the curve."""
    path = arc(5, 60, 12, lead=12)
    assert straight_length(path) == pytest.approx(16.520, abs=5e-4)
    assert fit_curve(path).length == pytest.approx(17.236, abs=0.02)


@pytest.mark.parametrize("count", [8, 12, 20], ids=str)
def test_a_quarter_ellipse_by_the_elliptic_integral(count):
    t = np.linspace(0, 1.2, count)
    path = np.column_stack([10 * np.sin(t), 6 * np.cos(t)])
    true = 10 * ellipeinc(1.2, 1 - (6 / 10) ** 2)
    assert fit_curve(path).length == pytest.approx(true, rel=2e-4)


def test_quadrature_agrees_with_scipy():
    curve = fit_curve(bent_canal(bend_deg=60) + np.random.default_rng(1).normal(0, 0.1, (12, 2)))
    true, _ = quad(lambda t: float(np.linalg.norm(curve.velocity(t))), 0, 1, epsabs=1e-12)
    assert curve.length == pytest.approx(true, abs=1e-9)
    part, _ = quad(lambda t: float(np.linalg.norm(curve.velocity(t))), 0.2, 0.7, epsabs=1e-12)
    assert curve.length_between(0.2, 0.7) == pytest.approx(part, abs=1e-9)


@pytest.mark.parametrize(
    ("ends_noisy", "bias", "sd"),
    [pytest.param(False, 0.01, 0.04, id="ends-exact"), pytest.param(True, 0.04, 0.16, id="all-noisy")],
)
def test_twelve_trembling_clicks_on_a_bent_canal(ends_noisy, bias, sd):
    """300 trials, clicks of 0.1 mm noise on 21 mm with a bend of 40 degrees over 7 mm."""
    rng = np.random.default_rng(20)
    errors = []
    for _ in range(300):
        noise = rng.normal(0, 0.1, (12, 2))
        if not ends_noisy:
            noise[[0, -1]] = 0
        errors.append(fit_curve(bent_canal() + noise).length - 21)
    print(f"bias {np.mean(errors):+.4f} mm, SD {np.std(errors):.4f} mm")
    assert abs(np.mean(errors)) <= bias
    assert np.std(errors) <= sd
