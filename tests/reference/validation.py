"""The validation study with its plots: see ``radlength.batch.study`` for the population.

Run it again with ``python tests/reference/validation.py --scenes 1000 --out validation``. The seed follows from the
commit, so that nobody can tune on the scenes; ``--seed`` repeats a run. On a cluster: ``radlength batch --validation``.
"""

from __future__ import annotations

import argparse
import subprocess
from functools import partial
from pathlib import Path

import numpy as np

from radlength.batch import on_processes
from radlength.batch.study import (
    BENDS,
    GAPS,
    LIMIT_MM,
    MARK_SD_MM,
    PLACEMENTS,
    SPREAD,
    coverage,
    in_canal,
    marks_of,
    run_study,
    study_table,
)
from radlength.length import Canal, estimate_length
from radlength.phantom import random_scene

study = partial(run_study, runner=partial(on_processes, workers=2))
table = study_table


def ratio_errors(scenes, rng, *, trembling=True, bend_below=None, gap_mm=None):
    """Return estimate less truth of the in-canal ratio, the reference length exact, in millimetres.

    Scenes come from the whole population of ``radlength.phantom`` (bend 0 to 40 degrees at any azimuth, gap 0.5 to
    4 mm), or from the part of it below a bend along the beam and with gaps in a range.
    """
    errors = []
    while len(errors) < scenes:
        change = {} if gap_mm is None else {"gap_mm": float(rng.uniform(*gap_mm))}
        scene = random_scene(int(rng.integers(2**31)), **change)
        hidden = abs(scene.bend_deg * np.sin(np.radians(scene.azimuth_deg)))
        if bend_below is not None and hidden >= bend_below:
            continue
        marks = marks_of(scene, rng if trembling else None)
        canal = Canal(tooth="11", name="single", path_px=marks.canals["single"])
        found = estimate_length(canal, in_canal(scene, marks), marking=SPREAD).canal_length
        errors.append(found.value_mm - scene.canal().length_mm)
    return np.array(errors)


def plots(rows, folder):
    """Write a difference plot and coverage bars as PNG."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    folder.mkdir(parents=True, exist_ok=True)
    figure, axes = plt.subplots(1, 3, figsize=(13, 4.2), sharey=True, layout="constrained")
    names = [f"{low}-{high}°" for low, high in BENDS]
    for axis, placement in zip(axes, PLACEMENTS, strict=True):
        for gap, shade in enumerate(("#0072b2", "#e69f00")):
            held = [
                coverage([r for r in rows if (r.placement, r.bend, r.gap) == (placement, bend, gap)])
                for bend in range(len(BENDS))
            ]
            at = np.arange(len(BENDS)) + (gap - 0.5) * 0.4
            label = f"gap {GAPS[gap][0]:g}-{GAPS[gap][1]:g} mm"
            axis.bar(
                at, [h[0] for h in held], 0.38, color=shade, label=label, hatch="//" * gap, edgecolor="white"
            )
        axis.axhline(0.95, color="black", linestyle=":")
        axis.set(title=f"scale: {placement.replace('_', ' ')}", xlabel="bend along the beam", ylim=(0.8, 1.0))
        axis.set_xticks(range(len(BENDS)), names)
    axes[0].set_ylabel("share of 95 % intervals that hold the truth")
    axes[0].legend(loc="lower left")
    figure.savefig(folder / "coverage.png", dpi=90)
    figure, axes = plt.subplots(1, 3, figsize=(13, 4.2), sharey=True, layout="constrained")
    for axis, placement in zip(axes, PLACEMENTS, strict=True):
        chosen = [row for row in rows if row.placement == placement]
        errors = np.array([row.error for row in chosen])
        axis.scatter(
            [BENDS[r.bend][0] + 5 for r in chosen] + np.random.default_rng(0).uniform(-4, 4, len(chosen)),
            errors,
            s=2,
            alpha=0.3,
        )
        for level in (errors.mean(), *(errors.mean() + np.array([-1.96, 1.96]) * errors.std())):
            axis.axhline(level, color="#d55e00", linestyle="--")
        axis.set(
            title=f"scale: {placement.replace('_', ' ')}", xlabel="bend along the beam, degrees", ylim=(-4, 4)
        )
    axes[0].set_ylabel("estimate less truth, mm")
    figure.savefig(folder / "differences.png", dpi=90)


def commit_seed():
    """Return a seed that follows from the commit, 0 where git does not tell one."""
    git = ["git", "rev-parse", "HEAD"]
    try:
        done = subprocess.run(git, cwd=Path(__file__).parent, capture_output=True, text=True, check=True)
    except (OSError, subprocess.CalledProcessError):
        return 0
    return int(done.stdout[:8], 16)


def main():
    """Print the study and write its plots."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=1000, help="scenes in every stratum of bend and gap")
    parser.add_argument("--seed", type=int, default=None, help="by default from the commit")
    parser.add_argument("--out", type=Path, default=None, help="folder for the plots")
    given = parser.parse_args()
    seed = commit_seed() if given.seed is None else given.seed
    rows = study(given.scenes, seed)
    print(
        f"seed {seed}, marks SD {MARK_SD_MM} mm, reference limit {LIMIT_MM} mm, {given.scenes} scenes a stratum"
    )
    print("\n".join(table(rows)))
    rng = np.random.default_rng(seed)
    for words, errors in (
        ("in-canal ratio, whole population", ratio_errors(given.scenes, rng)),
        (
            "in-canal ratio, bend < 20 degrees, gap up to 2 mm, perfect marks",
            ratio_errors(given.scenes, rng, trembling=False, bend_below=20, gap_mm=(0.5, 2.0)),
        ),
    ):
        print(f"{words}: bias {errors.mean():+.3f}, p95 {np.quantile(abs(errors), 0.95):.3f} mm")
    if given.out:
        plots(rows, given.out)


if __name__ == "__main__":
    main()
