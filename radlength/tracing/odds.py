"""From what answers at a place to what it says for a canal: the logarithm of how much oftener a canal answers so.

Counted on simulated images (``tests/reference/tracing_odds.py``), rounded by hand to run smoothly. Fine lines tell a
canal well; a wide faint one is mostly something else; and what does not answer speaks against a canal in the root, but
not in the crown, where the pulp chamber and the edges of enamel answer more than a canal does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

WEIGHTS = np.array([-0.68, -0.5, -0.15, 0.1, 0.3, 0.55, 0.85, 1.15, 1.55])
"""Answers, in units of what goes on around."""
ROOT = np.array(
    [
        [-2.2, -2.2, -2.0, -0.3, 1.2, 2.0, 2.8, 3.2, 3.6],
        [-2.3, -2.2, -1.7, 0.2, 1.7, 2.5, 3.3, 4.0, 4.0],
        [-3.0, -2.5, -1.3, 0.4, 2.2, 3.0, 3.5, 4.0, 4.0],
        [-3.5, -3.0, -2.2, -0.8, 0.3, 1.0, 2.0, 3.8, 4.0],
        [-3.4, -3.0, -2.8, -2.3, -1.7, -1.0, 1.2, 3.0, 3.5],
    ]
)
"""Nats of one place, by the sigma that answers most (rows) and how much it does."""
CROWN = np.array(
    [[0, 0, 0, 0, 0.1, 0.5, 1.8, 3.5, 4.0]] * 4 + [[0, 0, -0.1, -0.2, -0.2, -0.1, 0.2, 0.5, 0.8]]
)
CROWN_ENDS = (0.28, 0.40)
"""Parts of a path, from its first click, between which the crown passes into the root."""
NATS = 0.43
"""What a nat of one place adds to evidence of weight 1: neighbouring rows say the same."""


def odds(weight: FloatArray, sigma: NDArray[np.intp]) -> FloatArray:
    """Return the evidence for a canal at every place.

    Parameters
    ----------
    weight
        What answers there, in units of what goes on around, shape (rows, 61).
    sigma
        Number of the sigma that answers most, shape (rows, 61).
    """
    root, crown = _told(weight, sigma, ROOT), _told(weight, sigma, CROWN)
    along = np.arange(len(weight)) / len(weight)
    share = np.clip((along - CROWN_ENDS[0]) / (CROWN_ENDS[1] - CROWN_ENDS[0]), 0, 1)[:, None]
    return np.asarray(NATS * (share * root + (1 - share) * crown))


def _told(weight: FloatArray, sigma: NDArray[np.intp], table: FloatArray) -> FloatArray:
    """Return the values of a table between its columns, for every place in the row of its sigma."""
    column = np.clip(np.searchsorted(WEIGHTS, weight) - 1, 0, len(WEIGHTS) - 2)
    low, high = WEIGHTS[column], WEIGHTS[column + 1]
    part = np.clip((weight - low) / (high - low), 0, 1)
    return np.asarray((1 - part) * table[sigma, column] + part * table[sigma, column + 1])
