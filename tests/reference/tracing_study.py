"""The tracing study: how near traces run to the true canal, which failures they own up to, and what peers do.

Run it with ``python tests/reference/tracing_study.py --scenes 500 --out tracing.txt``. Scene seeds follow from the
commit and lie above 10 000, where nobody tuned; ``--seed`` repeats a run. Every canal of a scene is traced through
five and through three clicks at equal steps from the reference point to the apex, each off by 0.1 mm (SD a
coordinate, the ends too). A trace fails where any point of it is more than 0.3 mm from the projected canal: the
crown, where no canal shows, and both clicked ends count. Intervals are bootstraps over scenes, whose canals are not
independent. Hard scenes are made to fail, so that there are failures enough to see whether they are owned up to.
``--thick`` takes the scenes of the objects study, every one with an instrument of any size and taper, molars with two.
``--at`` puts the clicks elsewhere than at equal steps, as people do who click where it bends. ``--white 0.15`` makes
the brightest 15 % of every image white without detail, as many exports do.
"floor" is what a search that knew the true line would be off by, held at the same trembling ends and smoothed alike.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers import object_scenes
from helpers.traced_peers import PEERS
from helpers.traced_scenes import HARD, VARIANTS, Case, cases, clicks_mm, deviations_mm, spoilt
from helpers.white_images import whitened

from radlength.phantom import Camera
from radlength.tracing import trace_canal
from radlength.tracing.corridor import corridor_through
from radlength.tracing.smooth import GRAIN_MM, _held
from radlength.tracing.together import LIMIT, against

FIRST_SEED = 10_000
LIMIT_MM = 0.3
QUIET = ("trace-signs-together", "trace-pixel-assumed")
"""Findings that do not count when other limits are tried."""
CROWN_SHARE = 0.3
"""Part of the path, from the reference point, where no canal shows on most scenes."""


@dataclass(frozen=True)
class Row:
    """One trace: where, through how many clicks, how far off (mm), and whether it was questioned."""

    seed: int
    kind: str
    variant: str
    instrument: bool
    how: str
    clicks: int
    worst: float
    mean: float
    mean_below_crown: float
    house_worst: float
    flagged: bool
    codes: tuple[str, ...]
    seconds: float
    floor: float = np.nan
    against: float = np.nan

    @property
    def failed(self) -> bool:
        return self.worst > LIMIT_MM


def thick_cases(seed):
    """Return every canal of a scene with instruments of any size, as :func:`helpers.traced_scenes.cases` does."""
    scene, radiograph = object_scenes.scene_of(seed), object_scenes.radiograph_of(seed)
    pitch = scene.view.pitch_mm
    size = np.array(radiograph.shape) * pitch
    variant = tuple(VARIANTS)[seed % len(VARIANTS)]
    filled = {tool.canal for tool in scene.instruments}
    found = []
    for canal in scene.canals:
        points = Camera.of(scene.view).project(canal.at(np.linspace(0, canal.length_mm, 600))) * pitch
        if points.min() > 0.5 and (points < size - 0.5).all():
            here = canal.name in filled
            found.append(Case(seed, scene.kind, variant, canal.name, here, radiograph, points))
    return found


def floor_mm(case, clicks):
    """Return how far off, on average, the true line is when it is held at the end clicks and smoothed as ours is."""
    corridor = corridor_through(clicks)
    rows, across = corridor.rows_mm, corridor.rows_across
    place = _held(across_of(corridor, case.truth_mm), np.full(len(rows), 1 / GRAIN_MM**2))
    return float(deviations_mm(rows + place[:, None] * across, case.truth_mm).mean())


def across_of(corridor, truth_mm):
    """Return where a line crosses a corridor, at every row, mm, shape (rows,)."""
    rows, across = corridor.rows_mm, corridor.rows_across
    away = truth_mm[None] - rows[:, None]
    aside = np.abs(away[..., 0] * across[:, None, 1] - away[..., 1] * across[:, None, 0])
    aside[np.hypot(away[..., 0], away[..., 1]) > 2] = np.inf
    nearest = away[np.arange(len(rows)), aside.argmin(axis=1)]
    return (nearest * across).sum(axis=1)


def scene_rows(seed, peers=False, thick=False, white=0.0, at=None):
    """Trace every canal of a scene, as it is and made hard in one way; and peers on the scene as it is."""
    rows = []
    for number, found in enumerate(thick_cases(seed) if thick else cases(seed)):
        case = replace(found, radiograph=whitened(found.radiograph, white)) if white else found
        for places in (5, 3) if at is None else (at,):
            count = places if at is None else len(at)
            rng = np.random.default_rng((seed, number, count))
            clicks = clicks_mm(case, places, rng)
            rows.append(_row(case, count, "as it is", case.radiograph, clicks))
            how = HARD[seed % len(HARD)]
            rows.append(_row(case, count, how, *spoilt(case, clicks, how, rng)))
            rows += [_peer_row(case, count, name, clicks) for name in (PEERS if peers else ())]
    return rows


def _row(case, count, how, radiograph, clicks):
    started = time.perf_counter()
    trace = trace_canal(radiograph, clicks / case.pixel_mm)
    seconds = time.perf_counter() - started
    house = trace.curve.resample(150) * case.pixel_mm
    codes = tuple(one.code for one in trace.findings)
    path = trace.path_px * case.pixel_mm
    row = _measured(case, count, how, path, house, not trace.trusted, codes, seconds)
    return replace(row, floor=floor_mm(case, clicks), against=against(trace.signs))


def _peer_row(case, count, name, clicks):
    started = time.perf_counter()
    path = PEERS[name](case, clicks)
    seconds = time.perf_counter() - started
    return _measured(case, count, name, path, path, False, (), seconds)


def _measured(case, count, how, path, house, flagged, codes, seconds):
    off = deviations_mm(path, case.truth_mm)
    house_off = deviations_mm(house, case.truth_mm)
    below = off[int(CROWN_SHARE * len(off)) :]
    numbers = (float(off.max()), float(off.mean()), float(below.mean()), float(house_off.max()))
    return Row(
        case.seed, case.kind, case.variant, case.instrument, how, count, *numbers, flagged, codes, seconds
    )


def _job(given):
    return scene_rows(*given)


def study(scenes, seed, *, peers=0, workers=2, thick=False, white=0.0, at=None):
    """Return the rows of `scenes` scenes; the first `peers` of them with peers."""
    rng = np.random.default_rng(seed)
    seeds = rng.integers(FIRST_SEED, 2**31, scenes)  # a shorter run is the beginning of a longer one
    jobs = [(int(one), number < peers, thick, white, at) for number, one in enumerate(seeds)]
    if workers == 1:
        return [row for job in jobs for row in _job(job)]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return [row for rows in pool.map(_job, jobs, chunksize=4) for row in rows]


def bootstrap(rows, statistic, rng, draws=1000):
    """Return a statistic of rows and its 95 % interval by drawing scenes with replacement."""
    scenes = {}
    for row in rows:
        scenes.setdefault(row.seed, []).append(row)
    groups = list(scenes.values())
    found = []
    for _ in range(draws):
        drawn = rng.integers(len(groups), size=len(groups))
        found.append(statistic([row for one in drawn for row in groups[one]]))
    low, high = np.nanquantile(found, [0.025, 0.975])
    return statistic(rows), float(low), float(high)


def held(rows):
    return 1 - sum(row.failed for row in rows) / len(rows) if rows else np.nan


def mean(rows):
    return float(np.mean([row.mean for row in rows])) if rows else np.nan


def floor(rows):
    return float(np.mean([row.floor for row in rows])) if rows else np.nan


def caught(rows):
    bad = [row for row in rows if row.failed]
    return sum(row.flagged for row in bad) / len(bad) if bad else np.nan


def false_flags(rows):
    good = [row for row in rows if not row.failed]
    return sum(row.flagged for row in good) / len(good) if good else np.nan


def tables(rows, seed):
    """Return the study as lines of text."""
    rng = np.random.default_rng(seed)
    plain = [row for row in rows if row.how == "as it is"]
    lines = []
    for count in sorted({row.clicks for row in plain}, reverse=True):
        lines += ["", f"{count} clicks of SD 0.1 mm, scenes as they are"]
        lines.append(
            "                     n  within 0.3 mm (95 %)       mean, mm (floor)  below crown  caught  false flags"
        )
        here = [row for row in plain if row.clicks == count]
        groups = {"all": here}
        for kind in sorted({row.kind for row in here}):
            groups[kind] = [row for row in here if row.kind == kind]
        for variant in sorted({row.variant for row in here}):
            groups[variant] = [row for row in here if row.variant == variant]
        groups["instrument in it"] = [row for row in here if row.instrument]
        groups["none in it"] = [row for row in here if not row.instrument]
        lines += [_line(name, group, rng) for name, group in groups.items()]
        lines.append(_house(here))
    lines += ["", "hard scenes: failures, and the share owned up to"]
    for how in HARD:
        group = [row for row in rows if row.how == how]
        lines.append(f"{how:16} {sum(row.failed for row in group):5} of {len(group):5}   {caught(group):.3f}")
    ours = [row for row in rows if row.how == "as it is" or row.how in HARD]
    share, low, high = bootstrap(ours, caught, rng, 300)
    lines.append(
        f"all failures     {sum(r.failed for r in ours):5}            {share:.3f} ({low:.3f} to {high:.3f})"
    )
    share, low, high = bootstrap(plain, caught, rng, 300)
    bad = sum(row.failed for row in plain)
    lines.append(f"as they are      {bad:5}            {share:.3f} ({low:.3f} to {high:.3f})")
    return lines + _trade_off(ours, plain) + _peer_lines(rows)


def _trade_off(ours, plain):
    """Return what other limits on what the signs say together would catch, and question in vain."""

    def flagged(row, limit):
        return row.against > limit or any(code not in QUIET for code in row.codes)

    lines = [
        "",
        "limit on what the signs say together: failures caught, false flags on scenes as they are",
    ]
    for limit in (-0.8, -0.5, -0.2, LIMIT, 0.2, 0.5, 0.8):
        bad = [flagged(row, limit) for row in ours if row.failed]
        good = [flagged(row, limit) for row in plain if not row.failed]
        lines.append(f"{limit:4.1f}  {np.mean(bad):.3f}  {np.mean(good):.3f}")
    return lines


def _line(name, group, rng):
    share, low, high = bootstrap(group, held, rng, 300)
    below = np.mean([row.mean_below_crown for row in group])
    off = f"{mean(group):9.3f} ({floor(group):.3f})"
    return (
        f"{name:16} {len(group):5}  {share:.3f} ({low:.3f} to {high:.3f})   {off} {below:12.3f}"
        f"  {caught(group):6.2f}  {false_flags(group):10.3f}"
    )


def _house(rows):
    share = np.mean([row.house_worst <= LIMIT_MM for row in rows])
    return f"the pinned curve through the trace, which gives the length: within 0.3 mm {share:.3f}"


_PEER_HEAD = "way                       clicks     n  within    mean, mm   median ms"


def _peer_lines(rows):
    seeds = {row.seed for row in rows if row.how in PEERS}
    if not seeds:
        return []
    lines = [
        "",
        f"peers on the first {len(seeds)} scenes, same clicks",
        _PEER_HEAD,
    ]
    for count in (5, 3):
        for how in ("as it is", *PEERS):
            group = [r for r in rows if r.seed in seeds and r.how == how and r.clicks == count]
            ms = 1e3 * np.median([row.seconds for row in group])
            name = "ours" if how == "as it is" else how
            lines.append(
                f"{name:26} {count:5} {len(group):5} {held(group):7.3f} {mean(group):10.3f} {ms:11.1f}"
            )
    return lines


SHOWN = (
    (1001, "single", "as it is", 5),
    (1005, "single", "as it is", 3),
    (1009, "D", "as it is", 5),
    (1034, "MB2", "as it is", 3),
    (1012, "single", "wrong click", 5),
    (1013, "single", "noise", 5),
)
"""Scene, canal, how, clicks: development seeds, three that hold and three that are to be questioned."""


def picture(path):
    """Write a picture of traces, trusted ones as a line and doubtful ones dashed, with the reason."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, len(SHOWN), figsize=(13, 4.6), layout="constrained")
    for axis, (seed, name, how, count) in zip(axes, SHOWN, strict=True):
        case = next(one for one in cases(seed) if one.canal == name)
        rng = np.random.default_rng((seed, count))
        clicks, radiograph = clicks_mm(case, count, rng), case.radiograph
        if how in HARD:
            radiograph, clicks = spoilt(case, clicks, how, rng)
        trace = trace_canal(radiograph, clicks / case.pixel_mm)
        height, width = np.array(radiograph.shape) * case.pixel_mm
        axis.imshow(radiograph.stored, cmap="gray", extent=(0, width, height, 0))
        axis.plot(case.truth_mm[:, 1], case.truth_mm[:, 0], color="#56b4e9", linewidth=2.5, alpha=0.6)
        style = ("#e69f00", "-") if trace.trusted else ("#d55e00", "--")
        axis.plot(
            *(trace.path_px[:, ::-1] * case.pixel_mm).T, color=style[0], linestyle=style[1], linewidth=1.3
        )
        axis.plot(clicks[:, 1], clicks[:, 0], "o", color="white", markersize=3)
        middle = clicks[:, 1].mean()
        axis.set(xlim=(middle - 5, middle + 5), ylim=(clicks[:, 0].max() + 2, clicks[:, 0].min() - 2))
        reason = (
            "trusted" if trace.trusted else trace.findings[0].code.removeprefix("trace-").replace("-", " ")
        )
        worst = deviations_mm(trace.path_px * case.pixel_mm, case.truth_mm).max()
        axis.set_title(
            f"{case.kind.replace('_', ' ')}, {count} clicks\n{reason}, {worst:.2f} mm off", fontsize=8
        )
        axis.axis("off")
    figure.savefig(path, dpi=70, pil_kwargs={"optimize": True})


def commit_seed():
    """Return a seed that follows from the commit, 0 where git does not tell one."""
    git = ["git", "rev-parse", "HEAD"]
    try:
        done = subprocess.run(git, cwd=Path(__file__).parent, capture_output=True, text=True, check=True)
    except (OSError, subprocess.CalledProcessError):
        return 0
    return int(done.stdout[:8], 16)


def main():
    """Print the study."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=500)
    parser.add_argument("--peers", type=int, default=30, help="scenes on which peers run too")
    parser.add_argument("--seed", type=int, default=None, help="by default from the commit")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--thick", action="store_true", help="scenes with instruments of any size, molars with two"
    )
    parser.add_argument(
        "--at",
        type=lambda words: tuple(map(float, words.split(","))),
        default=None,
        help="clicks at these parts of the path, as 0,0.4,0.6,0.75,0.88,1, instead of at equal steps",
    )
    parser.add_argument("--white", type=float, default=0.0, help="share of every image that is white")
    parser.add_argument("--out", type=Path, default=None, help="file for the text")
    parser.add_argument("--picture", type=Path, default=None, help="draw a few traces as PNG and stop")
    given = parser.parse_args()
    if given.picture:
        picture(given.picture)
        return
    seed = commit_seed() if given.seed is None else given.seed
    rows = study(
        given.scenes,
        seed,
        peers=given.peers,
        workers=given.workers,
        thick=given.thick,
        white=given.white,
        at=given.at,
    )
    text = "\n".join([f"seed {seed}, {given.scenes} scenes", *tables(rows, seed)])
    print(text)
    if given.out:
        given.out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
