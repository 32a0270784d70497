"""The validation study: how far estimates lie from the truth on simulated scenes, and how often intervals hold.

Run it again with ``python tests/reference/validation.py --scenes 1000 --out validation``. The seed follows from the
commit, so that nobody can tune on the scenes; ``--seed`` repeats a run. Bends are drawn from published curvature
(Schäfer et al. 2002: 65 % of 1163 canals up to 27 degrees, 13 % to 35, 9 % to 75, thinning out here, the rest
straight), their azimuth is uniform, and scenes are sorted by the part of the bend along the beam. Everything else is
the population of ``radlength.phantom``.
"""

from __future__ import annotations

import argparse
import subprocess
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
from scipy.stats import beta

from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.phantom import random_scene, simulate_marks
from radlength.scale import Reference
from radlength.uncertainty import Marking

BENDS = ((0, 10), (10, 20), (20, 30), (30, 40), (40, 60))
GAPS = ((0.0, 2.0), (2.0, 4.0))
PLACEMENTS = ("in_canal", "beside", "header")
MARK_SD_MM = 0.05
LIMIT_MM = 0.1
PITCH_MM = 0.025
SPREAD = Marking(apex_mm=MARK_SD_MM, stop_mm=MARK_SD_MM, tip_mm=MARK_SD_MM, path_mm=MARK_SD_MM)


@dataclass(frozen=True)
class Row:
    """One estimate of one scene, in millimetres: estimate less truth, and both arms."""

    bend: int
    gap: int
    placement: str
    error: float
    low: float
    high: float
    uncorrected: float


def published_bend(rng):
    """Draw a bend in degrees from the published distribution."""
    piece = rng.choice(4, p=(0.13, 0.65, 0.13, 0.09))
    if piece < 3:
        return rng.uniform(*((0, 5), (5, 27), (27, 35))[piece])
    return 35 + 40 * (1 - np.sqrt(rng.random()))


def bend_in(rng, low, high):
    """Draw (bend, azimuth) in degrees whose part along the beam lies in a stratum."""
    while True:
        bend, azimuth = published_bend(rng), rng.uniform(0, 360)
        if low <= abs(bend * np.sin(np.radians(azimuth))) < high:
            return bend, azimuth


def scene_rows(rng, bend, gap):
    """Measure one scene in all three ways."""
    angle, azimuth = bend_in(rng, *BENDS[bend])
    scene = random_scene(
        int(rng.integers(2**31)), bend_deg=angle, azimuth_deg=azimuth, gap_mm=float(rng.uniform(*GAPS[gap]))
    )
    marks = marks_of(scene, rng)
    truth = scene.canal().length_mm
    canal = Canal(tooth="11", name="single", path_px=marks.canals["single"])
    known = {
        "in_canal": in_canal(scene, marks, rng.uniform(-LIMIT_MM, LIMIT_MM)),
        "beside": Reference(
            marks.wire_px, scene.wire.length_mm + rng.uniform(-LIMIT_MM, LIMIT_MM), LIMIT_MM, "beside"
        ),
        "header": None,
    }
    image = Radiograph.from_array(np.zeros((1400, 1040), np.uint8), row_mm=PITCH_MM, column_mm=PITCH_MM)
    rows = []
    for placement in PLACEMENTS:
        length = estimate_length(canal, known[placement], radiograph=image, marking=SPREAD).canal_length
        plain = _uncorrected(marks) - truth
        error = length.value_mm - truth
        rows.append(Row(bend, gap, placement, error, length.lower_arm, length.upper_arm, plain))
    return rows


def marks_of(scene, rng):
    """Return the marks of a hand that trembles by `MARK_SD_MM`; without `rng` perfect ones."""
    spread = {"click_mm": MARK_SD_MM, "end_mm": MARK_SD_MM, "reference_mm": MARK_SD_MM} if rng else {}
    return simulate_marks(scene, scene.view, rng, **spread)


def in_canal(scene, marks, wrong_mm=0.0):
    """Return the instrument as a reference whose stated length is wrong by `wrong_mm`."""
    length = scene.instruments[0].stop_to_tip_mm + wrong_mm
    return Reference(marks.instruments["single"], length, LIMIT_MM, "in_canal")


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


def _uncorrected(marks):
    from radlength.geometry import fit_curve

    return fit_curve(marks.canals["single"]).length * PITCH_MM


def study(scenes, seed):
    """Return the rows of `scenes` scenes in every stratum of bend and gap."""
    rng = np.random.default_rng(seed)
    return [
        row
        for bend, gap in product(range(len(BENDS)), range(len(GAPS)))
        for _ in range(scenes)
        for row in scene_rows(rng, bend, gap)
    ]


def coverage(rows):
    """Return the share of intervals that hold the truth, its exact lower 95 % bound, and misses below and above."""
    below = sum(row.error > row.low for row in rows)
    above = sum(-row.error > row.high for row in rows)
    held = len(rows) - below - above
    lower = float(beta.ppf(0.05, held, len(rows) - held + 1)) if held else 0.0
    return held / len(rows), lower, below / len(rows), above / len(rows)


def table(rows):
    """Return the study as lines of text."""
    head = "placement  bend     gap      n    bias    SD    p95  coverage (>=)  truth below/above  arms lower upper"
    lines = [head, "-" * len(head)]
    for placement, bend, gap in product(PLACEMENTS, [*range(len(BENDS)), None], [*range(len(GAPS)), None]):
        if (bend is None) != (gap is None):
            continue
        chosen = [
            row
            for row in rows
            if row.placement == placement and bend in (None, row.bend) and gap in (None, row.gap)
        ]
        name = (
            "all      all    "
            if bend is None
            else f"{BENDS[bend][0]:2}-{BENDS[bend][1]}°   {GAPS[gap][0]:g}-{GAPS[gap][1]:g} mm"
        )
        lines.append(f"{placement:10} {name:16} {_figures(chosen)}")
    plain = np.array([row.uncorrected for row in rows if row.placement == "in_canal"])
    lines.append(
        f"uncorrected pixels x pitch: bias {plain.mean():+.2f}, p95 {np.quantile(abs(plain), 0.95):.2f} mm"
    )
    return lines


def _figures(rows):
    errors = np.array([row.error for row in rows])
    held, lower, below, above = coverage(rows)
    arms = np.median([(row.low, row.high) for row in rows], axis=0)
    return (
        f"{len(rows):5} {errors.mean():+7.3f} {errors.std():5.3f} {np.quantile(abs(errors), 0.95):5.2f}"
        f"  {held:6.3f} ({lower:.3f})      {below:.3f} / {above:.3f}       {arms[0]:5.2f} {arms[1]:5.2f}"
    )


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
