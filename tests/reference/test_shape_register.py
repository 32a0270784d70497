"""Registration on pairs whose map is known: the number that runs every time; all 200 in ``shape_register_study.py``."""

import pytest
from helpers.pairs import miss_px, pair

from radlength.errors import ImageError
from radlength.phantom import random_scene, shifted_view
from radlength.phantom.render import render
from radlength.shape.registration import register


@pytest.mark.parametrize("seed", [1, 2, 6, 8, 11, 16])
def test_a_pair_comes_back_within_a_tenth_of_a_pixel(seed):
    """8 or 16 bit, noise, another exposure and a changed band: 0.1 pixel root mean square over the image."""
    one, other, matrix = pair(seed, size=400)
    assert miss_px(register(one, other).matrix, matrix, one.shape[0]) <= 0.1


@pytest.fixture(scope="module")
def views():
    """A simulated tooth without and with an instrument, and from 8 degrees further round."""
    numbers = {"kind": "single", "shape_px": (350, 260), "pitch_mm": 0.1}
    before, after = (random_scene(1, instruments=count, **numbers) for count in (0, 1))
    return render(before).pixels, render(after).pixels, render(after, shifted_view(after.view, 8.0)).pixels


def test_the_same_view_of_a_tooth_lies_where_it_was_though_an_instrument_was_put_in(views):
    found = register(views[0], views[1])
    assert miss_px(found.matrix, [[1, 0, 0], [0, 1, 0], [0, 0, 1]], 260) < 0.1
    assert found.worst_px < 0.3


def test_a_view_from_8_degrees_further_round_is_refused(views):
    with pytest.raises(ImageError, match="nothing is compared") as caught:
        register(views[0], views[2])
    assert caught.value.code == "view-changed"
