"""Audit targets at their edges, and the exact interval beside another implementation.

Targets: A at least 95 % digital, 90 % film, at least 100 images (CGDent and PHE 2020; SDCEP). Interval: Clopper and
Pearson 1934, computed by scipy.stats.binomtest.
"""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from radlength.record.quality_audit import audit, clopper_pearson
from radlength.record.quality_grades import Grade


def _grades(acceptable: int, n: int) -> list[Grade]:
    return [Grade(f"{i}.png", f"{i}", "A" if i < acceptable else "N", "invented grader") for i in range(n)]


@pytest.mark.parametrize(
    ("acceptable", "n", "receptor", "met", "small"),
    [
        (95, 100, "digital", True, False),
        (94, 100, "digital", False, False),
        (90, 100, "film", True, False),
        (89, 100, "film", False, False),
        (95, 99, "digital", True, True),
        (94, 99, "digital", False, True),
        (190, 200, "digital", True, False),
        (189, 200, "digital", False, False),
        (19, 20, "digital", True, True),
        (1, 1, "digital", True, True),
        (0, 3, "film", False, True),
    ],
)
def test_targets_at_their_edges(acceptable: int, n: int, receptor: str, met: bool, small: bool) -> None:
    found = audit(_grades(acceptable, n), receptor=receptor)  # type: ignore[arg-type]
    assert (found.met, found.small) == (met, small)
    assert ("sample is small" in found.words) == small
    assert ("does not reach" in found.words) == (not met)


@pytest.mark.parametrize(
    ("successes", "n"), [(0, 10), (10, 10), (19, 20), (95, 100), (94, 100), (3, 7), (990, 1000)]
)
def test_interval_beside_binomtest(successes: int, n: int) -> None:
    other = binomtest(successes, n).proportion_ci(0.95, method="exact")
    assert clopper_pearson(successes, n) == pytest.approx((other.low, other.high), abs=1e-12)


def test_a_sample_that_cannot_tell_says_so() -> None:
    assert "cannot be told" in audit(_grades(95, 100)).words
    assert "cannot be told" not in audit(_grades(50, 100)).words
