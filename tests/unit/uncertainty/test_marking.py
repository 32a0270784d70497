import pytest

from radlength.errors import MarkError
from radlength.uncertainty import Marking

IMPOSSIBLE = [-0.1, float("nan"), float("inf"), 2.1, "0.1", None, True, [0.1]]


@pytest.mark.parametrize("value", [*IMPOSSIBLE, pytest.param(10**400, id="beyond any float")])
@pytest.mark.parametrize("name", ["apex_mm", "stop_mm", "tip_mm", "path_mm"])
def test_an_impossible_spread_is_refused(name, value):
    with pytest.raises(MarkError, match=f"{name} is .* mm; a standard deviation from 0 to 2 mm"):
        Marking(**{name: value})


def test_the_apex_is_the_least_sure_mark_by_default():
    marking = Marking()
    assert marking.apex_mm > max(marking.stop_mm, marking.tip_mm, marking.path_mm)
