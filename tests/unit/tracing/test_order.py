"""Medians and quantiles by sorting, against NumPy's."""

import numpy as np
import pytest

from radlength.tracing.order import median, quantiles_of_rows


@pytest.mark.parametrize("shape", [(1, 1), (7, 81), (134, 81), (40, 60)])
def test_they_are_numpys(shape):
    values = np.random.default_rng(shape).normal(50, 20, shape).astype(np.float32)
    assert median(values) == np.median(values)
    for share in (0.0, 0.25, 0.4, 0.77, 1.0):
        found = quantiles_of_rows(values, share)
        assert found.shape == shape[:1]
        np.testing.assert_allclose(found, np.quantile(values, share, axis=1), rtol=1e-5)
