import math

import pytest

from radlength.errors import MarkError
from radlength.geometry import Assist, check_assists
from radlength.length import Canal


@pytest.mark.parametrize(
    "change",
    [
        {"first": -1},
        {"first": 5},
        {"method": " "},
        {"version": ""},
        {"confidence": 1.01},
        {"confidence": math.nan},
    ],
    ids=str,
)
def test_an_assist_that_says_nothing_sensible_is_refused(change):
    fields = {"first": 1, "last": 4, "method": "canal trace", "version": "1", "confidence": 0.9}
    with pytest.raises(MarkError, match="places in order"):
        Assist(**fields | change)


@pytest.mark.parametrize(
    "places", [((1, 4), (4, 5)), ((0, 9), (2, 3)), ((3, 10),)], ids=["touching", "inside", "past the end"]
)
def test_points_are_claimed_once_and_only_where_there_are_any(places):
    assists = [Assist(first, last, "canal trace", "1", 1.0) for first, last in places]
    with pytest.raises(MarkError, match="places from 0 to 9"):
        check_assists(assists, 10, subject="46 MB")


def test_assists_come_in_order_of_the_path():
    late, early = Assist(5, 6, "canal trace", "1", 0.5), Assist(1, 2, "canal trace", "1", 0.5)
    assert check_assists([late, early], 8, subject="x") == (early, late)


def test_a_canal_whose_path_is_shorter_than_its_assists_is_refused():
    with pytest.raises(MarkError, match="46 MB"):
        Canal("46", "MB", [(0, 0), (9, 9)], assists=(Assist(1, 2, "canal trace", "1", 1.0),))
