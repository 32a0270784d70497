"""From what answers at a place to what it says for a canal: the logarithm of how much oftener a canal answers so.

Counted on simulated images (``tests/reference/tracing_odds.py``), rounded by hand to run smoothly. Fine lines tell a
canal well; a wide faint one is mostly something else; and what does not answer speaks against a canal in the root, but
not in the crown, where the pulp chamber and the edges of enamel answer more than a canal does.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.crown import crown_share

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
"""Parts of a path from a cusp on, from its first click, between which the crown passes into the root."""
NATS = 0.43
"""What a nat of one place adds to evidence of weight 1: neighbouring rows say the same."""
STEP = 0.01
"""Step of the tables that are looked into."""


def odds(weight: FloatArray, sigma: NDArray[np.intp]) -> FloatArray:
    """Return the evidence for a canal at every place.

    Parameters
    ----------
    weight
        What answers there, in units of what goes on around, shape (rows, 61).
    sigma
        Number of the sigma that answers most, shape (rows, 61).
    """
    first, last = (crown_share(len(weight), one) * len(weight) for one in CROWN_ENDS)
    count = int(np.ceil(last))
    share = np.clip((np.arange(count) - first) / max(last - first, 1e-9), 0, 1)[:, None]
    root, crown = _tables()
    column = np.rint((weight - WEIGHTS[0]) / STEP).astype(np.intp)
    column = sigma * root.shape[1] + np.clip(column, 0, root.shape[1] - 1)
    told = root.ravel()[column]
    told[:count] = share * told[:count] + (1 - share) * crown.ravel()[column[:count]]
    return np.asarray(told)


@cache
def _tables() -> tuple[FloatArray, FloatArray]:
    """Return the evidence by sigma and answer, at steps of `STEP`, in the root and in the crown."""
    steps = np.arange(WEIGHTS[0], WEIGHTS[-1] + STEP / 2, STEP)
    root, crown = (
        NATS * np.array([np.interp(steps, WEIGHTS, row) for row in table]) for table in (ROOT, CROWN)
    )
    return root, crown
