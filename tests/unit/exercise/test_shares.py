"""Shapley values against their own axioms and against all orders of joining."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from radlength.exercise.shares import shapley

GAMES = arrays.arrays(np.float64, (2, 2, 2, 2, 2), elements=st.floats(-50, 50))


def by_all_orders(game):
    players = game.ndim
    shares = np.zeros(players)
    orders = list(permutations(range(players)))
    for order in orders:
        inside = [0] * players
        for player in order:
            before = game[tuple(inside)]
            inside[player] = 1
            shares[player] += game[tuple(inside)] - before
    return shares / len(orders)


@given(GAMES)
def test_it_is_the_mean_over_all_orders_and_adds_up(games):
    shares = shapley(games)
    for game, share in zip(games, shares, strict=True):
        assert share == pytest.approx(by_all_orders(game), abs=1e-9)
        assert share.sum() == pytest.approx(game[1, 1, 1, 1] - game[0, 0, 0, 0], abs=1e-9)


@given(GAMES)
def test_who_adds_nothing_gets_nothing(games):
    games = games.copy()
    games[:, :, 1] = games[:, :, 0]
    assert np.allclose(shapley(games)[:, 1], 0, atol=1e-12)


@given(GAMES)
def test_two_who_are_alike_get_the_same(games):
    alike = (games + games.transpose(0, 2, 1, 3, 4)) / 2
    shares = shapley(alike)
    assert np.allclose(shares[:, 0], shares[:, 1], atol=1e-9)
