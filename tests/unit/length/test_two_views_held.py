"""Which instruments two views share: one that lies in the canal on both images, and no other."""

from types import SimpleNamespace

import pytest

from radlength.errors import MarkError, ScaleError
from radlength.length import Canal
from radlength.length.two_views import _instruments
from radlength.scale import Reference

PATH = [(0.0, 100.0), (400.0, 100.0), (800.0, 100.0)]


def view(length_mm=20.0, limit_mm=0.1, **change):
    fields = {"placement": "in_canal", "canal": "MB", "name": "file"} | change
    tool = Reference(PATH[:2], length_mm, limit_mm, **fields)
    return SimpleNamespace(canals=(Canal("46", "MB", PATH),), references={"MB": tool})


def test_one_instrument_on_both_images_has_the_wider_of_both_limits():
    for one, other in ((view(limit_mm=0.1), view(limit_mm=0.3)), (view(limit_mm=0.3), view(limit_mm=0.1))):
        assert _instruments(one, other)["MB"].limit_mm == 0.3


@pytest.mark.parametrize(
    "change",
    [{"placement": "beside", "canal": None}, {"canal": "ML"}, {"name": "another"}],
    ids=["beside the tooth", "in another canal", "of another name"],
)
def test_another_thing_on_the_shifted_image_is_refused(change):
    with pytest.raises(MarkError, match="not marked in this canal of the shifted image"):
        _instruments(view(), view(**change))


def test_what_does_not_lie_in_the_canal_of_the_straight_image_is_no_instrument_of_it():
    assert _instruments(view(placement="beside", canal=None), view()) == {}
    assert _instruments(view(canal="ML"), view()) == {}


def test_two_lengths_of_one_instrument_are_refused():
    with pytest.raises(ScaleError, match="the same length"):
        _instruments(view(20.0), view(20.5))
