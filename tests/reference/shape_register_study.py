"""Registration on 200 pairs whose map is known, and on pairs that must be refused: prints what was found.

Run: ``python tests/reference/shape_register_study.py [FIRST] [COUNT]``. The pairs are described in
``tests/helpers/pairs.py``. A pair that is off by more than 0.1 pixel must be refused; the smaller number in
``test_shape_register.py`` runs every time.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.pairs import miss_px, pair

from radlength.errors import ImageError
from radlength.shape.registration import register

BOUND_PX = 0.1


def study(first: int = 0, count: int = 200) -> dict[str, float]:
    """Return counts and quantiles over pairs."""
    misses, refused = [], []
    for seed in range(first, first + count):
        one, other, matrix = pair(seed)
        try:
            misses.append(miss_px(register(one, other).matrix, matrix, one.shape[0]))
        except ImageError as exc:
            refused.append((seed, exc.code))
    found = np.array(misses)
    return {
        "pairs": count,
        "within_bound": int((found <= BOUND_PX).sum()),
        "off_and_not_refused": int((found > BOUND_PX).sum()),
        "refused": len(refused),
        "median_px": float(np.median(found)),
        "p98_px": float(np.quantile(found, 0.98)),
        "worst_px": float(found.max()),
    }


if __name__ == "__main__":
    print(study(*map(int, sys.argv[1:])))
