"""Preview, curvature, and laying one image on another."""

import numpy as np
import pytest
from helpers.bends import bent
from helpers.pairs import miss_px, pair

from radlength.length import Canal, Terminus, estimate_length
from radlength.scale import Reference
from radlength.shape import Wanted, make_preview, measure_curvature, register

REFERENCE = Reference(path_px=[(50, 50), (1050, 50)], length_mm=20.0, limit_mm=0.25)


@pytest.fixture(scope="module")
def canal():
    return Canal("46", "MB", [tuple(p) for p in bent(12, 6, 40, 2, 12) / 0.02 + 50])


def test_a_preview_of_two_options(benchmark, canal):
    estimate = estimate_length(canal, REFERENCE, terminus=Terminus(offset_mm=1.0))
    wanted = Wanted(options=("25/.06", "25/.06@2 + 30/.04"), needle="30G")
    made = benchmark(make_preview, estimate, wanted)
    assert len(made.options) == 2


def test_the_curvature_of_a_canal_with_its_intervals(benchmark, canal):
    found = benchmark(measure_curvature, canal, REFERENCE)
    assert found.form == "one bend"


def test_a_pair_of_images_laid_on_each_other(benchmark):
    one, other, matrix = pair(2)
    found = benchmark.pedantic(register, args=(one, other), rounds=3)
    assert miss_px(found.matrix, matrix, one.shape[0]) < 0.1
    assert np.isfinite(found.u_px)
