"""What the signs of a trace say together: the fit behind ``radlength/tracing/together.py``.

Run it with ``python tests/reference/tracing_together.py``: scenes for development, of the objects study from seed 2000
on, an instrument in each, and of the tracing study from seed 1001 on. Every canal is clicked three times through five
and through three points, as the tracing study clicks, and made hard in a way each time. A logistic model is fitted to
tell traces that fail, hard ones with them, from traces of scenes as they are that hold; those that noise, an even area
or the border of the corridor question already are left out. The weights in use were rounded by hand from a fit to
seeds 2000 to 2149 and 1001 to 1303, made hard by clicks beside the root and by one wrong click, with a limit that
questions 3 % of the good ones in vain. How far a trace bends away from the clicks and how much a long line stands out
added nothing to them on scenes held out.
Held out: five times a fifth of the scenes, weights fitted and limit set on the others.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.traced_scenes import HARD, cases, clicks_mm, deviations_mm, spoilt
from tracing_study import LIMIT_MM, thick_cases

from radlength.tracing import trace_canal
from radlength.tracing.doubt import STRUCTURE
from radlength.tracing.together import LIMIT, WEIGHTS, looks

FIRST_SEEDS = {"thick": 2000, "usual": 1001}
DRAWS = 3
FALSE_FLAGS = 0.045
"""Aimed at, the mean of both populations."""
APART = ("trace-flat", "trace-saturated", "trace-left-corridor")
RIDGE = 1e-3
FOLDS = 5


@dataclass(frozen=True)
class Row:
    """One trace: its scene, clicks, whether it failed and was questioned now, and what the model looks at."""

    population: str
    seed: int
    clicks: int
    plain: bool
    failed: bool
    flagged: bool
    alone: bool
    apart: bool
    told: tuple[float, ...]


def scene_rows(given):
    """Return the rows of one scene."""
    population, seed = given
    rows = []
    for number, case in enumerate(thick_cases(seed) if population == "thick" else cases(seed)):
        for count in (5, 3):
            for draw in range(DRAWS):
                rng = np.random.default_rng((seed, number, count, draw)[: 4 if draw else 3])
                clicks = clicks_mm(case, count, rng)
                how = HARD[(seed + draw) % len(HARD)]
                rows.append(_row(population, case, count, True, case.radiograph, clicks))
                rows.append(_row(population, case, count, False, *spoilt(case, clicks, how, rng)))
    return rows


def _row(population, case, count, plain, radiograph, clicks):
    trace = trace_canal(radiograph, clicks / case.pixel_mm)
    failed = deviations_mm(trace.path_px * case.pixel_mm, case.truth_mm).max() > LIMIT_MM
    codes = {one.code for one in trace.findings if one.severity != "note"}
    apart = trace.signs.structure < STRUCTURE or not codes.isdisjoint(APART)
    alone = bool(codes - {"trace-signs-together"})
    looked = looks(trace.signs)
    told = tuple(looked[name] for name in WEIGHTS)
    return Row(population, case.seed, count, plain, bool(failed), bool(codes), alone, apart, told)


def rows_of(scenes, workers):
    """Return the rows of so many scenes of each population that are used: failures, and what holds as it is."""
    jobs = [(name, first + i) for name, first in FIRST_SEEDS.items() for i in range(scenes[name])]
    if workers == 1:
        found = [row for job in jobs for row in scene_rows(job)]
    else:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            found = [row for rows in pool.map(scene_rows, jobs, chunksize=4) for row in rows]
    return [row for row in found if row.failed or row.plain]


def fitted(rows):
    """Return the weights of a logistic model (Newton's method, a small ridge)."""
    used = [row for row in rows if not row.apart]
    told = np.array([row.told for row in used])
    failed = np.array([row.failed for row in used], dtype=float)
    ridge = RIDGE * np.eye(told.shape[1])
    weights = np.zeros(told.shape[1])
    for _ in range(12):
        share = 1 / (1 + np.exp(-np.clip(told @ weights, -30, 30)))
        slope = told.T @ (failed - share) - ridge @ weights
        weights += np.linalg.solve((told.T * (share * (1 - share))) @ told + ridge, slope)
    return weights


def limit_for(rows, weights, share=FALSE_FLAGS):
    """Return the sum above which, with signs that speak alone, a share of good traces is questioned."""
    good = [row for row in rows if not row.failed]
    many = {name: sum(row.population == name for row in good) for name in FIRST_SEEDS}
    part = np.array([1 / many[row.population] / len(FIRST_SEEDS) for row in good])
    sums = np.array([np.inf if row.alone else np.dot(row.told, weights) for row in good])
    order = np.argsort(-sums)
    return float(sums[order][np.searchsorted(np.cumsum(part[order]), share)])


def told_by(rows, weights, limit):
    """Return which rows the model and the signs that speak alone question."""
    return np.array([row.alone or np.dot(row.told, weights) > limit for row in rows])


def held_out(rows):
    """Return which rows are questioned by weights and a limit from other scenes."""
    seeds = sorted({row.seed for row in rows})
    fold = dict(zip(seeds, np.random.default_rng(1).integers(0, FOLDS, len(seeds)), strict=True))
    found = np.zeros(len(rows), dtype=bool)
    for number in range(FOLDS):
        others = [row for row in rows if fold[row.seed] != number]
        here = np.array([fold[row.seed] == number for row in rows])
        weights = fitted(others)
        limit = limit_for(others, weights)
        found[here] = told_by([row for row in rows if fold[row.seed] == number], weights, limit)
    return found


def line(name, rows, flagged):
    """Return one line of the table."""
    failed, plain = np.array([row.failed for row in rows]), np.array([row.plain for row in rows])
    clicks = np.array([row.clicks for row in rows])
    thick = np.array([row.population == "thick" for row in rows])
    parts = [flagged[failed].mean(), flagged[failed & plain].mean()]
    parts += [flagged[~failed & (clicks == count)].mean() for count in (5, 3)]
    parts += [flagged[~failed & chosen].mean() for chosen in (thick, ~thick)]
    return f"{name:28}" + "".join(f"{one:11.3f}" for one in parts)


def main():
    """Print weights, limit, and what they tell on scenes held out."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--thick", type=int, default=100)
    parser.add_argument("--usual", type=int, default=50)
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    rows = rows_of({"thick": given.thick, "usual": given.usual}, given.workers)
    weights = fitted(rows)
    print(f"{len(rows)} traces, {sum(row.failed for row in rows)} fail")
    print("weights " + ", ".join(f"{name} {one:.2f}" for name, one in zip(WEIGHTS, weights, strict=True)))
    print(f"limit   {limit_for(rows, weights):.2f}")
    head = ("caught", "as it is", "false, 5", "false, 3", "thick", "usual")
    print(f"{'':28}" + "".join(f"{one:>11}" for one in head))
    print(line("held out", rows, held_out(rows)))
    print(line("all, as fitted", rows, told_by(rows, weights, limit_for(rows, weights))))
    now = np.array(list(WEIGHTS.values()))
    print(line("all, weights in use", rows, told_by(rows, now, LIMIT)))


if __name__ == "__main__":
    main()
