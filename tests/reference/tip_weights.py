"""Fit again what the weights of ``radlength/tracing/tip_choice.py`` were rounded from.

``python tests/reference/tip_weights.py --scenes 60``: simulated molars with two instruments, development seeds, every
tip clicked three times. Of the ends found near a click, which is the tip: conditional logit (McFadden 1974), weakly
held to zero. Printed: the weights beside those in use, and how often each chooses rightly on scenes not fitted to.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.object_scenes import radiograph_of, scene_of, tool_of, truth_of

from radlength.tracing import find_instrument, instrument
from radlength.tracing.tip_choice import WEIGHTS, choose, options

FIRST_SEED, LAST_SEED = 2000, 10_000
CLICK_MM, RIGHT_MM, CLICKS = 0.2, 0.15, 3
HELD = 0.05
NAMES = tuple(WEIGHTS)


def choices(seed):
    """Return (what is looked at for each end, which is the tip) for the clicks of a scene."""
    heard, rows = [], []

    def listening(seen, click_mm, better):
        found = options(seen, click_mm, better)
        heard.append(([seen[number].tip_mm for number, _ in found], [told for _, told in found]))
        return choose(seen, click_mm, better)

    image, tool, pitch = radiograph_of(seed), tool_of(seed), scene_of(seed).view.pitch_mm
    rng = np.random.default_rng((seed, 13))
    instrument.choose = listening
    try:
        for path in truth_of(seed).instruments.values():
            for _ in range(CLICKS):
                heard.clear()
                start, tip = (path[at] + rng.normal(0, CLICK_MM, 2) / pitch for at in (0, -1))
                find_instrument(
                    image, start, tip, size=tool.size, taper=tool.taper, tip_form=tool.form, polarity="bright"
                )
                tips, told = heard[0]
                off = np.hypot(*(np.array(tips) - path[-1] * pitch).T)
                if len(off) > 1 and off.min() < RIGHT_MM:
                    table = np.array([[one.get(name, 0.0) for name in NAMES] for one in told])
                    rows.append((table, int(off.argmin())))
    finally:
        instrument.choose = choose
    return rows


def fit(rows):
    """Return the weights under which the tips are likeliest."""

    def cost(weights):
        logs = [table @ weights for table, _ in rows]
        lost = sum(np.logaddexp.reduce(log) - log[right] for log, (_, right) in zip(logs, rows, strict=True))
        return lost + HELD * weights @ weights

    return minimize(cost, np.zeros(len(NAMES)), method="BFGS").x


def right(rows, weights):
    """Return the share of clicks of which the tip is chosen."""
    return np.mean([int((table @ weights).argmax()) == which for table, which in rows])


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=60)
    seeds = (one for one in range(FIRST_SEED, LAST_SEED) if len(scene_of(one).instruments) > 1)
    scenes = [choices(next(seeds)) for _ in range(parser.parse_args().scenes)]
    halves = [[row for scene in scenes[start::2] for row in scene] for start in (0, 1)]
    held = np.mean([right(halves[1 - half], fit(halves[half])) for half in (0, 1)])
    every = halves[0] + halves[1]
    for name, weight in zip(NAMES, fit(every), strict=True):
        print(f"{name:10} {weight:6.2f}   in use {WEIGHTS[name]:6.2f}")
    print(f"{len(every)} clicks; the tip is chosen: fitted on the other half {held:.3f}, ", end="")
    print(f"weights in use {right(every, np.array(list(WEIGHTS.values()))):.3f}")


if __name__ == "__main__":
    main()
