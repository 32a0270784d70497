"""Shapley values: an error shared out among its causes so that the order in which they act does not matter."""

from __future__ import annotations

from math import factorial

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def shapley(values: FloatArray) -> FloatArray:
    """Return the share of every player.

    Parameters
    ----------
    values
        Worth of every coalition, shape (M, 2, ..., 2): M games, and one axis a player, 1 where the player is in.

    Returns
    -------
    ndarray
        Shape (M, players). The shares of a game add up to the worth of all less the worth of none.

    Notes
    -----
    Shapley, "A value for n-person games" (1953): the mean of what a player adds, over all orders of joining.

    Examples
    --------
    >>> shapley(np.array([[[0.0, 1.0], [2.0, 4.0]]]))
    array([[2.5, 1.5]])
    """
    players = values.ndim - 1
    shares = np.empty((len(values), players))
    for player in range(players):
        added = np.diff(values, axis=player + 1).squeeze(player + 1)
        shares[:, player] = (added * _weights(players - 1)).reshape(len(values), -1).sum(axis=1)
    return shares


def _weights(others: int) -> FloatArray:
    """Return the share of orders in which exactly a coalition of the others has joined before, shape (2, ..., 2)."""
    size = np.indices((2,) * others).sum(axis=0)
    orders = np.array([factorial(k) * factorial(others - k) for k in range(others + 1)])
    return np.asarray(orders[size] / factorial(others + 1))
