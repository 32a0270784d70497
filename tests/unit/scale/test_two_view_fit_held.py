"""What is expected of the marks' chi-square: the trace of what a linear fit leaves, numpy's hat matrix as oracle."""

from types import SimpleNamespace

import numpy as np
import pytest

from radlength.scale.two_view_checks import fit_of_marks


def test_marks_expect_as_many_as_the_fit_leaves_them():
    """Residuals of a linear fit, (1 - H) e: their expected squares are the diagonal of 1 - H, marks and rest apart."""
    rng = np.random.default_rng(3)
    system = rng.normal(size=(20, 6))
    left = np.eye(20) - system @ np.linalg.pinv(system)
    residuals = left @ rng.normal(size=20)
    solved = SimpleNamespace(marks=14, jacobian=system, residuals=residuals)
    covariance = np.linalg.inv(system.T @ system)
    for part, likely in ((slice(0, 14), False), (slice(14, None), True)):
        chi_square, expected = fit_of_marks(solved, covariance, likely=likely)
        assert chi_square == pytest.approx(np.sum(residuals[part] ** 2))
        assert expected == pytest.approx(np.diag(left)[part].sum())
