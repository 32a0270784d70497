import pytest
from helpers.two_view_scenes import CAREFUL, marking, pair

from radlength.scale.two_views import solve_two_views


@pytest.mark.parametrize("marker", [True, False], ids=["marker", "declared"])
def test_two_view_solve(benchmark, marker):
    """Target: under 60 ms."""
    cases = [pair(770000 + k, marker=marker, declared=20.0)[1] for k in range(10)]
    result = benchmark(
        lambda: [solve_two_views(one, marking=marking(CAREFUL), reference_mm=0.03) for one in cases]
    )
    assert len(result) == 10
    assert benchmark.stats.stats.median / 10 < 0.060
