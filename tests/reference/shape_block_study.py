"""Planted transportation on invented training blocks: prints by how much it comes back wrong.

Run: ``python tests/reference/shape_block_study.py [COUNT]``. 0.15 mm planted at every level, 8 and 16 bit in turn,
noise of 0.5 to 2 % of full scale, another turn, size, shift and lean each time, and clicks with a standard deviation
of 0.1 mm along the canal. Walls are found by the program.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.blocks import marks, ruler, sides

from radlength.errors import RadlengthError
from radlength.shape.compare import compare_canal

LEVELS = (2, 3, 5, 7, 9, 11)
PLANTED_MM = 0.15


def study(count: int = 10) -> dict[str, float]:
    """Return figures over blocks and levels."""
    errors, refused = [], 0
    for seed in range(count):
        rng = np.random.default_rng(700 + seed)
        numbers = {
            "turn_deg": rng.uniform(-4, 4),
            "scale": rng.uniform(0.97, 1.03),
            "shift_px": tuple(rng.uniform(-15, 15, 2)),
            "lean": rng.uniform(-0.03, 0.03),
            "noise": rng.uniform(0.005, 0.02),
            "bits": (8, 16)[seed % 2],
        }
        both, matrix = sides(seed, planted_mm=PLANTED_MM, **numbers)
        clicked = marks(matrix, rng, sd_mm=0.1)
        both = [
            replace(side, canal=replace(side.canal, path_px=[tuple(p) for p in path]))
            for side, path in zip(both, clicked, strict=True)
        ]
        try:
            found = compare_canal(*both, ruler(), kind="block", levels_mm=LEVELS)
        except RadlengthError:
            refused += 1
            continue
        errors += [level.transportation_mm - PLANTED_MM for level in found.levels]
    away = np.abs(errors)
    return {
        "blocks": count,
        "refused": refused,
        "levels": len(errors),
        "within_0.03_mm": int((away <= 0.03).sum()),
        "bias_mm": float(np.mean(errors)),
        "sd_mm": float(np.std(errors)),
        "worst_mm": float(away.max()),
    }


if __name__ == "__main__":
    print(study(*map(int, sys.argv[1:])))
