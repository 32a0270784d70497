"""The study of two views: how far the length in space lies from the truth, and whether bad marks go unsaid.

Run it again with ``python tests/reference/two_views_study.py --scenes 2000 --out DIR``. The seed follows from the
commit, so that nobody can tune on the scenes; ``--seed`` repeats a run. Marks only, no pixels. Scenes are the
population of ``radlength.phantom``. The tube swings by 10 to 35 degrees, evenly; everything else is put up again a
little otherwise (``second_exposure``), the film 1 mm elsewhere. Marks have SD 0.05 mm, those of a marker 0.03 mm; the
length of the instrument is exact. Without a marker the angle is declared, wrong by SD 5 degrees as is assumed by
default, never below 10.

Sound scenes tell bias, spread and coverage. Bad scenes each carry one mistake; what counts is that none is answered
without refusal or finding and wrong by more than 1 mm. Some mistakes no pair of images can show, because they are
another, equally possible tooth. They are named in ``UNSEEN`` by method, left out of that claim, and printed apart.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import product
from multiprocessing import get_context
from pathlib import Path
from time import process_time

import numpy as np
from scipy.stats import beta

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
from helpers.two_view_mistakes import ALIKE, BAD, MARKER_ONLY, SEEN  # noqa: E402 - the folders of the tests come first
from helpers.two_view_scenes import CAREFUL, HUMAN, PLANTED, marking, pair  # noqa: E402
from validation import commit_seed  # noqa: E402

from radlength.errors import RadlengthError  # noqa: E402
from radlength.scale.two_views import solve_two_views  # noqa: E402

SHIFTS = ((10, 20), (20, 35))
BENDS = ((0, 15), (15, 30), (30, 60))
BOUND_MM = 1.0
DECLARED_SD_DEG = 5.0
METHODS = ("declared", "marker")
UNSEEN = {"declared": {f.__name__ for f in ALIKE}, "marker": {"apex_slid_alike"}}
"""An apex slid alike on both images is a longer or shorter canal. A stated length that is wrong, or a tip slid alike,
is a tooth of another size: only a marker of known shape tells; without one the usual distances catch the gross ones."""


@dataclass(frozen=True)
class Row:
    """One pair of images: what was asked, what came back (of the worst canal), and how long it took."""

    kind: str
    method: str
    shift_deg: float
    bend_deg: float
    said: tuple[str, ...]
    error_mm: float
    u_mm: float
    seconds: float

    @property
    def refused(self) -> bool:
        """Whether there is no answer."""
        return not np.isfinite(self.error_mm)

    @property
    def unsaid(self) -> bool:
        """Whether it is wrong by more than the bound and nothing says so."""
        return not self.said and abs(self.error_mm) > BOUND_MM


def one(job):
    """Solve one scene; the job is (seed, kind, method, spread of marks, shift, bend)."""
    seed, kind, method, sds, shift_deg, more = job
    rng = np.random.default_rng((seed, 1))
    declared = None if method == "marker" else float(np.clip(rng.normal(shift_deg, DECLARED_SD_DEG), 10, 40))
    if kind == "canals_relabelled":
        more = {**more, "kind": "lower_molar", "instruments": 2}
    scene, marks = pair(
        seed, sds=sds, shift_deg=shift_deg, marker=method == "marker", declared=declared,
        side=rng.choice((-1, 1)), exact=True, **more,
    )  # fmt: skip
    bend = abs(scene.bend_deg * np.sin(np.radians(scene.azimuth_deg)))
    began = process_time()
    error, u = np.nan, np.nan
    try:
        marks = BAD[kind](marks, rng) if kind in BAD else marks
        result = solve_two_views(marks, marking=marking(sds), reference_mm=sds[2])
        said = tuple(finding.code for finding in result.findings)
        errors = [(c.length.value - scene.canal(c.name).length_mm, c.length.u) for c in result.canals]
        error, u = max(errors, key=lambda both: abs(both[0]))
    except RadlengthError as refusal:
        said = (f"refused: {refusal.code}",)
    return Row(kind, method, shift_deg, float(bend), said, float(error), float(u), process_time() - began)


def kinds_for(method):
    """Return the names of the mistakes that can be made with a method."""
    return [f.__name__ for f in (*SEEN, *(MARKER_ONLY if method == "marker" else ()), *ALIKE)]


def jobs(scenes, seed, kinds, method, sds=CAREFUL, **more):
    """Return the jobs of `scenes` scenes, the kinds in turn, half of the shifts in each range."""
    rng = np.random.default_rng((seed, METHODS.index(method), len(kinds)))
    seeds = rng.integers(2**31, size=scenes).tolist()
    return [
        (one_seed, kinds[at % len(kinds)], method, sds, float(rng.uniform(10, 35)), more)
        for at, one_seed in enumerate(seeds)
    ]


def run(todo, workers=2):
    """Return the rows of jobs, on so many processes."""
    if workers == 1:
        return list(map(one, todo))
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return list(pool.map(one, todo, chunksize=20))


def bounds(hits, of):
    """Return the exact 95 % bounds of a share (Clopper and Pearson 1934), one-sided each."""
    low = float(beta.ppf(0.05, hits, of - hits + 1)) if hits else 0.0
    return low, float(beta.ppf(0.95, hits + 1, of - hits)) if hits < of else 1.0


def sound_figures(rows):
    """Return n, share said, bias, SD, p95, coverage and its lower bound, median half-width of the 95 % interval."""
    answered = [row for row in rows if not row.refused]
    errors = np.array([row.error_mm for row in answered])
    arms = 1.96 * np.array([row.u_mm for row in answered])
    held = int(np.sum(np.abs(errors) < arms))
    return (
        len(rows),
        float(np.mean([bool(row.said) for row in rows])),
        float(errors.mean()),
        float(errors.std()),
        float(np.quantile(np.abs(errors), 0.95)),
        held / len(errors),
        bounds(held, len(errors))[0],
        float(np.median(arms)),
    )


def strata(rows):
    """Yield a name and the rows of every stratum of shift and bend along the beam, the whole last."""
    for low, high in SHIFTS:
        for least, most in BENDS:
            chosen = [row for row in rows if low <= row.shift_deg < high and least <= row.bend_deg < most]
            yield f"shift {low}-{high}, bend {least}-{most} deg", chosen
    yield "all", rows


def sound_table(rows):
    """Return the sound scenes of one method as lines of text."""
    lines = ["stratum                            n   said    bias     SD    p95  coverage (>=)   half-width"]
    for name, chosen in strata(rows):
        if len(chosen) < 5:
            continue
        n, said, bias, sd, p95, held, least, half = sound_figures(chosen)
        lines.append(
            f"{name:30} {n:5d} {said:6.3f} {bias:+7.3f} {sd:6.3f} {p95:6.3f}   {held:5.3f} ({least:5.3f})"
            f"       {half:5.2f}"
        )
    times = 1000 * np.array([row.seconds for row in rows])
    lines.append(
        f"solve, processor time: median {np.median(times):.0f} ms, p95 {np.quantile(times, 0.95):.0f} ms"
    )
    return lines


def bad_table(rows):
    """Return the bad scenes of one method as lines of text."""
    lines = ["mistake                 n  refused   said  wrong by > 1 mm  of these unsaid  worst unsaid"]
    for kind in dict.fromkeys(row.kind for row in rows):
        chosen = [row for row in rows if row.kind == kind]
        wrong = sum(abs(row.error_mm) > BOUND_MM for row in chosen)
        worst = max((abs(row.error_mm) for row in chosen if not row.said), default=0.0)
        apart = "  (cannot be seen)" if kind in UNSEEN[chosen[0].method] else ""
        lines.append(
            f"{kind:20} {len(chosen):4d}   {np.mean([r.refused for r in chosen]):6.3f} "
            f"{np.mean([bool(r.said) for r in chosen]):6.3f}  {wrong:15d}  "
            f"{sum(r.unsaid for r in chosen):15d}  {worst:12.2f}{apart}"
        )
    return lines


def plot(sound, path):
    """Write error against the angle of the tube, and coverage by stratum, as PNG."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, 3, figsize=(13, 4.2), layout="constrained")
    for axis, (method, rows) in zip(axes, sound.items(), strict=False):
        for said, colour in ((False, "#0072b2"), (True, "#d55e00")):
            chosen = [row for row in rows if bool(row.said) is said and not row.refused]
            axis.scatter(
                [row.shift_deg for row in chosen], [row.error_mm for row in chosen], s=4, alpha=0.5,
                color=colour, label="with a finding" if said else "without",
            )  # fmt: skip
        for level in (-BOUND_MM, BOUND_MM):
            axis.axhline(level, color="black", linestyle=":")
        axis.set(title=method, xlabel="tube shift, degrees", ylim=(-1.5, 1.5))
        axis.set_ylabel("length in space less truth, mm")
        axis.legend(loc="lower right")
    for at, (method, rows) in enumerate(sound.items()):
        held = [sound_figures(chosen)[5] if len(chosen) >= 5 else np.nan for _, chosen in strata(rows)]
        places = np.arange(len(held)) + (at - 0.5) * 0.4
        axes[2].barh(places, held, 0.38, color=("#0072b2", "#e69f00")[at], label=method)
        axes[2].set_yticks(range(len(held)), [name for name, _ in strata(rows)], fontsize=7)
    axes[2].axvline(0.95, color="black", linestyle=":")
    axes[2].set(xlim=(0.8, 1.0), title="share of 95 % intervals that hold the truth")
    axes[2].legend(loc="upper center", bbox_to_anchor=(0.5, -0.08), ncols=2)
    figure.savefig(path, dpi=90)
    plt.close(figure)


def main():
    """Print the study and write its plot."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=2000, help="sound, and as many bad, scenes a method")
    parser.add_argument("--seed", type=int, default=None, help="by default from the commit")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=None, help="folder for the plot")
    given = parser.parse_args()
    seed = commit_seed() if given.seed is None else given.seed
    print(f"seed {seed}, {given.scenes} sound and {given.scenes} bad scenes a method")
    sound = {m: run(jobs(given.scenes, seed, ["good"], m), given.workers) for m in METHODS}
    for method, rows in sound.items():
        print(f"\n{method}: sound scenes, marks SD {CAREFUL[0]} mm\n" + "\n".join(sound_table(rows)))
        bad = run(jobs(given.scenes, seed, kinds_for(method), method), given.workers)
        print(f"\n{method}: one mistake each\n" + "\n".join(bad_table(bad)))
    wide = [row for row in sound["marker"] if row.shift_deg >= 20]
    planted = run(jobs(given.scenes // 4, seed + 1, ["good"], "marker", PLANTED), given.workers)
    planted = [row for row in planted if row.shift_deg >= 20]
    for words, rows in (("careful marks", wide), ("planted marks, SD 0.01 mm", planted)):
        print(f"\nmarker and instrument, 20 degrees and more, {words}: p95 {sound_figures(rows)[4]:.3f} mm")
    for method, molar in product(METHODS, ("lower_molar", "upper_molar")):
        more = {"kind": molar, "instruments": 2}
        rows = run(jobs(given.scenes // 8, seed + 3, ["good"], method, **more), given.workers)
        words = f"{method}: {molar}, instruments in two canals, the worst canal of each"
        print(f"\n{words}\n" + "\n".join(sound_table(rows)[-2:]))
        print(f"wrong by more than 1 mm and unsaid: {sum(row.unsaid for row in rows)}")
    for method in METHODS:
        rows = run(jobs(given.scenes // 4, seed + 2, ["good"], method, HUMAN), given.workers)
        print(
            f"\n{method}: the default spread of a person, apex SD {HUMAN[3]} mm\n"
            + "\n".join(sound_table(rows))
        )
    if given.out:
        given.out.mkdir(parents=True, exist_ok=True)
        plot(sound, given.out / "two-views.png")


if __name__ == "__main__":
    main()
