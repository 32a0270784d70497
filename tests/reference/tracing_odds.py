"""How much oftener a canal answers so than what lies beside it: the counts behind ``radlength/tracing/odds.py``.

Run it with ``python tests/reference/tracing_odds.py --scenes 60``: scenes of the objects study from seed 2000 on, which
are for development, of them the canals without an instrument. On the canal is within 0.05 mm of its line, beside it 0.3
to 0.9 mm away. Printed are natural logarithms of shares of all places, by part of the path and by the sigma that
answers most. The table in use was rounded by hand from such counts.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from pathlib import Path
from unittest import mock

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.traced_scenes import clicks_mm
from tracing_study import across_of, thick_cases

from radlength.tracing.corridor import ACROSS_MM, corridor_through, straighten
from radlength.tracing.crown import crown_share
from radlength.tracing.evidence import weigh
from radlength.tracing.filters import SIGMAS_MM
from radlength.tracing.odds import CROWN_ENDS, WEIGHTS, odds

FIRST_SEED = 2000
ENDS = 4
"""Rows at both ends, held at clicks, that are not counted."""
BORDERS = np.concatenate([[-np.inf], (WEIGHTS[1:] + WEIGHTS[:-1]) / 2, [np.inf]])


def counts(scenes):
    """Return answers by part of the path, number of the sigma and whether they are on the canal."""
    found = defaultdict(list)
    for seed in range(FIRST_SEED, FIRST_SEED + scenes):
        for number, case in enumerate(thick_cases(seed)):
            if not case.instrument:
                _count(case, np.random.default_rng((seed, number)), found)
    return {which: np.concatenate(parts) for which, parts in found.items()}


def _count(case, rng, found):
    corridor = corridor_through(clicks_mm(case, 5, rng))
    strip = straighten(case.radiograph.stored, corridor, np.full(2, case.pixel_mm))
    with mock.patch("radlength.tracing.evidence.odds", side_effect=odds) as asked:
        seen = weigh(strip, corridor)
    answer, sigma = asked.call_args.args
    if seen.line and seen.line.ours:
        return
    truth = across_of(corridor, case.truth_mm)
    crown = crown_share(len(truth), float(np.mean(CROWN_ENDS)))
    for row in range(ENDS, len(truth) - ENDS):
        part = "crown" if row < crown * len(truth) else "root"
        apart = np.abs(ACROSS_MM - truth[row])
        for on, places in ((True, apart <= 0.05), (False, (apart > 0.3) & (apart < 0.9))):
            chosen = np.flatnonzero(places & ~seen.hidden[row])
            for number in range(len(SIGMAS_MM)):
                found[part, number, on].append(answer[row, chosen[sigma[row, chosen] == number]])


def table(found):
    """Return the logarithms as lines of text."""
    lines = ["part   sigma  answers about  " + " ".join(f"{one:5.2f}" for one in WEIGHTS)]
    for part in ("crown", "root"):
        total = {on: sum(found[part, k, on].size for k in range(len(SIGMAS_MM))) for on in (True, False)}
        for number, sigma in enumerate(SIGMAS_MM):
            on, beside = (
                np.histogram(found[part, number, which], BORDERS)[0] / total[which] for which in (True, False)
            )
            told = np.log((on + 1e-4) / (beside + 1e-4))
            lines.append(f"{part:6} {sigma:5.2f}                 " + " ".join(f"{one:5.1f}" for one in told))
    return lines


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=60)
    print("\n".join(table(counts(parser.parse_args().scenes))))


if __name__ == "__main__":
    main()
