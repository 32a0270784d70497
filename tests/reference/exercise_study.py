"""How often a planted bias is told, and how often one is told that is not there: simulated learners, known truth.

    PYTHONPATH=tests python tests/reference/exercise_study.py --sets 1000

A learner marks 20 exercises with a trembling hand and, half of the time, an apex 0.2 mm too far out in the tooth. Told
is a set after which the advice names the apex as too far out; a false alarm is a set without a bias after which any
cause is named. Everything is simulation: real hands have other errors. Sources: Shapley 1953 for the parts, Sidak 1967
for four tests at once; the shares come with the interval of Clopper and Pearson 1934.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy import stats

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
from helpers.exercise_markers import (  # noqa: E402 - the folders of the tests come first
    Marker,
    answer_of,
    course,
    speckled,
    truth_of,
)
from validation import commit_seed  # noqa: E402

from radlength.exercise import Item, Key, Made, build_set, score_answers  # noqa: E402
from radlength.exercise.advice import causes  # noqa: E402
from radlength.exercise.classroom import keys_of  # noqa: E402

BIAS_MM = 0.2
"""In the tooth, along the canal."""
HAND = Marker(end_mm=0.1, click_mm=0.1)
LEVELS = (
    "straight",
    "curved root",
    "bent twice",
    "overlapping canals",
    "bend along the beam",
    "poor exposure",
)


@dataclass(frozen=True)
class Found:
    """Counts of one row of the study."""

    sets: int
    told: int
    wrong: int
    alarms: int

    def share(self, count: int) -> tuple[float, float, float]:
        ends = stats.binomtest(count, self.sets).proportion_ci(0.95, method="exact")
        return count / self.sets, float(ends.low), float(ends.high)


def trace_sets(count: int, seed: int, exercises: int = 20) -> list[Made]:
    """Return sets of whole measurements, every level in turn, each on its own scenes."""
    rng = np.random.default_rng((seed, 1))
    return [
        build_set(
            [Item("trace", LEVELS[n % len(LEVELS)], int(rng.integers(2**40))) for n in range(exercises)],
            title=f"Study {number}",
            kind="self-study",
            secret=None,
            repeats=0,
            render=speckled,
        )
        for number in range(count)
    ]


def run(made: list[Made], sets: int, apex_mm: float, seed: int, hand: Marker = HAND) -> Found:
    """Return what is told after `sets` sets with a bias and as many without; sets of exercises come in turn."""
    keyed = [list(keys_of(one.exercises, truth_of(one)).values()) for one in made]
    biased, honest = replace(hand, apex_mm=apex_mm), replace(hand, apex_mm=apex_mm)
    told = wrong = alarms = 0
    for number in range(sets):
        keys = keyed[number % len(keyed)]
        first = _named(keys, biased, BIAS_MM, (seed, 2, number))
        told += first is not None and first.part == "apex" and first.mean_mm > 0
        wrong += first is not None and (first.part != "apex" or first.mean_mm <= 0)
        alarms += _named(keys, honest, 0.0, (seed, 3, number)) is not None
    return Found(sets, told, wrong, alarms)


def _named(keys: list[Key], marker: Marker, bias_mm: float, seed: tuple[int, ...]):
    rng = np.random.default_rng(seed)
    pairs = []
    for order, key in enumerate(keys, 1):
        drawn = replace(marker, apex_bias_mm=bias_mm * _magnification(key))
        pairs.append((key, answer_of(key.task, key.truth, drawn, rng, order)))
    return next((cause for cause in causes(score_answers(pairs)) if cause.stands_out), None)


def _magnification(key: Key) -> float:
    line = np.diff(key.reference.points, axis=0)
    return float(np.hypot(*line.T).sum()) / key.truth.reference_mm


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=400)
    parser.add_argument("--seed", type=int)
    asked = parser.parse_args()
    seed = asked.seed if asked.seed is not None else commit_seed()
    made = trace_sets(40, seed)
    print(
        f"seed {seed}, bias {BIAS_MM} mm at the apex, other marks SD {HAND.end_mm} mm, {asked.sets} sets a row"
    )
    print("set        apex SD   told (95 %)            named another   false alarms (95 %)")
    for name, sets in (("20 traces", made), ("course", [course()])):
        for apex_mm in (0.05, 0.10, 0.15, 0.20, 0.30):
            found = run(sets, asked.sets, apex_mm, seed)
            told, alarms = found.share(found.told), found.share(found.alarms)
            print(
                f"{name:10s} {apex_mm:.2f} mm   {told[0]:.3f} ({told[1]:.3f} to {told[2]:.3f})   "
                f"{found.wrong / found.sets:.3f}           {alarms[0]:.3f} ({alarms[1]:.3f} to {alarms[2]:.3f})",
                flush=True,
            )


if __name__ == "__main__":
    main()
