import numpy as np
import pytest
from helpers.shapes import bent_canal

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.length.simulate import simulate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

PATH = bent_canal(22.0, 30.0) * 40 + 50
CANAL = Canal(tooth="45", name="single", path_px=PATH)
CAREFUL = Marking(apex_mm=0.1, stop_mm=0.05, tip_mm=0.05, path_mm=0.05)


def estimate(radiograph=None, **change):
    fields = {"path_px": PATH[:-1], "length_mm": 20.5, "limit_mm": 0.25} | change
    reference = Reference(**fields) if fields["path_px"] is not None else None
    return estimate_length(CANAL, reference, radiograph=radiograph, marking=CAREFUL)


@pytest.mark.parametrize("level", ["length", "clicks"])
@pytest.mark.parametrize(
    "change",
    [
        pytest.param({}, id="in-canal"),
        pytest.param({"limit_mm": 0.5}, id="stamped"),
        pytest.param({"placement": "beside"}, id="beside"),
        pytest.param({"path_px": PATH[:-1] + 0.5}, id="marks-apart"),
    ],
)
def test_first_order_and_monte_carlo_agree(change, level):
    found = estimate(**change)
    drawn = simulate_length(found, level=level, seed=3)
    assert drawn.settled
    assert drawn.low == pytest.approx(found.canal_length.low_mm, abs=0.1 * found.canal_length.lower_arm)
    assert drawn.high == pytest.approx(found.canal_length.high_mm, abs=0.1 * found.canal_length.upper_arm)


def test_the_header_alone_is_drawn_too():
    radiograph = Radiograph.from_array(np.zeros((1200, 900), np.uint8), row_mm=0.026, column_mm=0.026)
    found = estimate(radiograph, path_px=None)
    drawn = simulate_length(found, radiograph=radiograph, seed=3)
    assert drawn.high == pytest.approx(found.canal_length.high_mm, abs=0.15)


def test_the_same_seed_gives_the_same_draws():
    assert simulate_length(estimate(), seed=4) == simulate_length(estimate(), seed=4)


@pytest.mark.parametrize("change", [{"level": "click"}, {"digits": 3}, {"digits": 0}])
def test_another_level_or_more_digits_are_refused(change):
    with pytest.raises(MarkError, match="'clicks' or 'length', to 1 or 2 digits"):
        simulate_length(estimate(), **change)
