"""Traces on real images: two worms whose lengths were published, and the canal drawn in a micro-CT figure.

Sources: worms with published lengths corrected for curvature (Laromaine, Llobet, Alonso, 2025); micro-CT tooth 036
(Haberthür et al. 2021, BMC Oral Health, doi 10.1186/s12903-021-01551-x). Clicks are a few of the points marked by hand
for other tests. None of these is a periapical radiograph: nothing here shows accuracy on one.

What falls short: on both worms of C48-969 hand and trace are 2 to 3 % below the published length (the hand's ends lie
inside the worm's tips, and a trace keeps the ends it is given); on tooth 036, whose canal is drawn as a bright line,
``polarity="auto"`` follows it only in part and must be told ``"bright"``.
"""

from __future__ import annotations

import json
import sys
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from helpers.traced_scenes import deviations_mm
from test_real_images import SHOWN, WORMS, read

from radlength.geometry import fit_curve
from radlength.imaging import read_radiograph
from radlength.tracing import trace_canal

MICROMETRE_PX = 130 * SHOWN / 200
"""Pixels a micrometre, by the bar of 200 µm."""
WORM_PIXEL_MM = 0.03
"""A worm some 25 pixels wide is shown to the trace as a canal of about 0.8 mm."""


@pytest.mark.parametrize("clicks", [3, 5, 8], ids=["3 clicks", "5 clicks", "8 clicks"])
@pytest.mark.parametrize(("name", "path", "published_um"), WORMS)
def test_a_worm_traced_between_clicks_has_the_length_of_the_hand(name, path, published_um, clicks):
    hand = np.array(path) * SHOWN
    chosen = hand[np.linspace(0, len(hand) - 1, clicks).round().astype(int)]
    trace = trace_canal(read(name), chosen, stated_pixel_mm=WORM_PIXEL_MM)
    found_um, hand_um = trace.curve.length / MICROMETRE_PX, fit_curve(hand).length / MICROMETRE_PX
    print(f"{name}: trace {found_um:.1f}, hand {hand_um:.1f}, published {published_um} µm, {trace.findings}")
    assert found_um == pytest.approx(hand_um, rel=0.012)
    assert found_um == pytest.approx(published_um, rel=0.02 if name.startswith("C24") else 0.04)


@pytest.mark.parametrize("clicks", [5, 8], ids=["5 clicks", "8 clicks"])
def test_canal_drawn_in_the_figure_of_tooth_036(clicks):
    """Pixels of 1/24 mm, by the figure's own bar. The marks follow the drawn line by hand, to about a pixel."""
    marks = json.loads(
        resources.files("radlength").joinpath("demo", "tooth036-projection.marks.json").read_text("utf-8")
    )
    drawn = np.array(marks["canals"][0]["path_px"])
    with resources.as_file(resources.files("radlength").joinpath("demo", "tooth036-projection.png")) as path:
        image = read_radiograph(path)
    chosen = drawn[np.linspace(0, len(drawn) - 1, clicks).round().astype(int)]
    trace = trace_canal(image, chosen, stated_pixel_mm=1 / 24, polarity="bright")
    off = deviations_mm(trace.path_px / 24, drawn / 24)
    print(f"mean {off.mean():.3f}, worst {off.max():.3f} mm")
    assert trace.trusted
    assert off.max() < 0.3
    assert off.mean() < 0.1
