"""What an estimate says beside its length: what is no gap has none, and what stands in it is what its own parts say."""

import numpy as np
import pytest

from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.trade import anatomical_band

MM = 40.0
"""Pixels for a millimetre."""


def straight_canal(name="MB", tooth="26"):
    return Canal(tooth, name, [(row * MM, 100.0) for row in np.linspace(0.0, 22.0, 8)])


def known(placement="in_canal", canal=None, column=100.0):
    return Reference([(0.0, column), (20.0 * MM, column)], 20.0, 0.25, placement, canal=canal)


def test_only_an_instrument_in_its_own_canal_leaves_a_gap():
    """22 mm of canal less 20 mm of instrument: 2 mm; a wire and another canal's instrument have no tip in it."""
    assert estimate_length(straight_canal(), known()).gap_mm == pytest.approx(2.0)
    assert estimate_length(straight_canal(), known(canal="MB")).gap_mm == pytest.approx(2.0)
    for other in (known("beside", column=160.0), known(canal="DB", column=160.0)):
        found = estimate_length(straight_canal(), other)
        assert found.canal_length.value_mm == pytest.approx(22.0)
        assert found.gap_mm is None
        assert found.as_dict()["gap_mm"] is None


def test_plain_data_holds_the_band_of_the_tooth_and_none_where_there_is_none():
    assert estimate_length(straight_canal(), known()).as_dict()["anatomy"] == anatomical_band("26").as_dict()
    milk = estimate_length(straight_canal(tooth="55"), known())
    assert milk.anatomy is anatomical_band("55")
    assert (milk.as_dict()["anatomy"] is None) == (milk.anatomy is None)
