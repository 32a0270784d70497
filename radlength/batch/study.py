"""The validation study: how far estimates lie from the truth on simulated scenes, and how often intervals hold.

Bends are drawn from published curvature (Schäfer et al. 2002: 65 % of 1163 canals up to 27 degrees, 13 % to 35, 9 %
to 75, thinning out here, the rest straight), their azimuth is uniform, and scenes are sorted by the part of the bend
along the beam. Everything else is the population of :mod:`radlength.phantom`. Marks only, no pixels; the estimator
sees marks and the stated length. Simulation says nothing of patients.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from itertools import product
from typing import Any

import numpy as np

from radlength.batch.task import STUDY, Outcome, Task
from radlength.errors import BatchError
from radlength.geometry import Point, fit_curve
from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.phantom import Marks, Scene, random_scene, simulate_marks
from radlength.scale import Reference
from radlength.uncertainty import Marking

BENDS = ((0, 10), (10, 20), (20, 30), (30, 40), (40, 60))
"""Strata of the bend along the beam, degrees."""

GAPS = ((0.0, 2.0), (2.0, 4.0))
"""Strata of the gap from tip to apex, mm."""

PLACEMENTS = ("in_canal", "beside", "header")
MARK_SD_MM, LIMIT_MM, PITCH_MM = 0.05, 0.1, 0.025
SPREAD = Marking(apex_mm=MARK_SD_MM, stop_mm=MARK_SD_MM, tip_mm=MARK_SD_MM, path_mm=MARK_SD_MM)
BLOCK = 25
"""Scenes of one task."""


@dataclass(frozen=True, slots=True)
class StudyRow:
    """One estimate of one scene, in millimetres: estimate less truth, and both arms.

    Parameters
    ----------
    bend, gap
        Stratum, as an index of :data:`BENDS` and :data:`GAPS`.
    placement
        Where the scale comes from.
    error, low, high
        Estimate less truth; lower and upper arm.
    uncorrected
        Pixels times pitch less truth, for comparison.
    """

    bend: int
    gap: int
    placement: str
    error: float
    low: float
    high: float
    uncorrected: float


def study_tasks(scenes: int, seed: int) -> Iterator[Task]:
    """Return the study as tasks; every block has a seed of its own, so the result does not depend on the workers.

    Parameters
    ----------
    scenes
        In every stratum of bend and gap.
    seed
        Of the whole study.
    """
    for bend, gap in product(range(len(BENDS)), range(len(GAPS))):
        for start in range(0, scenes, BLOCK):
            yield Task(STUDY, str(seed), f"{bend} {gap} {start:07} {min(BLOCK, scenes - start)}")


def study_block(task: Task) -> Outcome:
    """Do one task of the study."""
    bend, gap, start, count = (int(part) for part in task.place.split())
    rng = np.random.default_rng([int(task.root), bend, gap, start])
    rows = (asdict(row) for _ in range(count) for row in _scene_rows(rng, bend, gap))
    return Outcome(task.place, "", tuple(rows))


def run_study(
    scenes: int,
    seed: int,
    runner: Callable[[Iterable[Task]], Iterable[Outcome]],
    *,
    tell: Callable[[int, int], None] | None = None,
) -> tuple[StudyRow, ...]:
    """Return every estimate of the study, in a fixed order.

    Parameters
    ----------
    scenes, seed
        As :func:`study_tasks` takes them.
    runner
        From tasks to outcomes.
    tell
        Called with tasks done and tasks in all.
    """
    tasks = list(study_tasks(scenes, seed))
    done: list[Outcome] = []
    for outcome in runner(tasks):
        done.append(outcome)
        if tell is not None:
            tell(len(done), len(tasks))
    ordered = sorted(done, key=lambda outcome: outcome.place)
    return tuple(StudyRow(**_checked(row)) for outcome in ordered for row in outcome.rows)


def _checked(row: dict[str, Any]) -> dict[str, Any]:
    if "problem" in row:  # a block that was lost must not make the study look better
        raise BatchError("a block of the study was lost", remedy="run it again", code="study-lost")
    return row


def _scene_rows(rng: np.random.Generator, bend: int, gap: int) -> list[StudyRow]:
    """Measure one scene in all three ways."""
    angle, azimuth = _bend_in(rng, *BENDS[bend])
    scene = random_scene(
        int(rng.integers(2**31)), bend_deg=angle, azimuth_deg=azimuth, gap_mm=float(rng.uniform(*GAPS[gap]))
    )
    marks = marks_of(scene, rng)
    truth = scene.canal().length_mm
    canal = Canal(tooth="11", name="single", path_px=_path(marks.canals["single"]))
    known = {
        "in_canal": in_canal(scene, marks, rng.uniform(-LIMIT_MM, LIMIT_MM)),
        "beside": _beside(scene, marks, rng.uniform(-LIMIT_MM, LIMIT_MM)),
        "header": None,
    }
    uncorrected = _uncorrected(marks) - truth
    rows = []
    for placement in PLACEMENTS:
        length = estimate_length(canal, known[placement], radiograph=_black(), marking=SPREAD).canal_length
        arms = length.lower_arm, length.upper_arm
        rows.append(StudyRow(bend, gap, placement, length.value_mm - truth, *arms, uncorrected))
    return rows


@cache
def _black() -> Radiograph:
    """Return the image of every scene, of which only size and pitch are looked at: it is hashed once."""
    return Radiograph.from_array(np.zeros((1400, 1040), np.uint8), row_mm=PITCH_MM, column_mm=PITCH_MM)


def published_bend(rng: np.random.Generator) -> float:
    """Draw a bend in degrees from the published distribution."""
    piece = rng.choice(4, p=(0.13, 0.65, 0.13, 0.09))
    if piece < 3:
        return float(rng.uniform(*((0, 5), (5, 27), (27, 35))[piece]))
    return float(35 + 40 * (1 - np.sqrt(rng.random())))


def _bend_in(rng: np.random.Generator, low: float, high: float) -> tuple[float, float]:
    """Draw (bend, azimuth) in degrees whose part along the beam lies in a stratum."""
    while True:
        bend, azimuth = published_bend(rng), float(rng.uniform(0, 360))
        if low <= abs(bend * np.sin(np.radians(azimuth))) < high:
            return bend, azimuth


def marks_of(scene: Scene, rng: np.random.Generator | None) -> Marks:
    """Return the marks of a hand that trembles by `MARK_SD_MM`; without `rng` perfect ones."""
    sd = MARK_SD_MM if rng is not None else 0.0
    return simulate_marks(scene, scene.view, rng, click_mm=sd, end_mm=sd, reference_mm=sd)


def in_canal(scene: Scene, marks: Marks, wrong_mm: float = 0.0) -> Reference:
    """Return the instrument as a reference whose stated length is wrong by `wrong_mm`."""
    length = scene.instruments[0].stop_to_tip_mm + wrong_mm
    return Reference(_path(marks.instruments["single"]), length, LIMIT_MM, "in_canal")


def _beside(scene: Scene, marks: Marks, wrong_mm: float) -> Reference:
    if scene.wire is None or marks.wire_px is None:
        raise BatchError("a scene without a wire", code="study-scene")
    return Reference(_path(marks.wire_px), scene.wire.length_mm + wrong_mm, LIMIT_MM, "beside")


def _path(points: np.ndarray) -> tuple[Point, ...]:
    return tuple((float(row), float(column)) for row, column in points)


def _uncorrected(marks: Marks) -> float:
    return fit_curve(marks.canals["single"]).length * PITCH_MM


def coverage(rows: Sequence[StudyRow]) -> tuple[float, float, float, float]:
    """Return the share of intervals that hold the truth, its exact lower 95 % bound, and misses below and above.

    The bound is one-sided (Clopper and Pearson 1934).
    """
    from scipy.stats import beta

    below = sum(row.error > row.low for row in rows)
    above = sum(-row.error > row.high for row in rows)
    held = len(rows) - below - above
    lower = float(beta.ppf(0.05, held, len(rows) - held + 1)) if held else 0.0
    return held / len(rows), lower, below / len(rows), above / len(rows)


def study_table(rows: Sequence[StudyRow]) -> list[str]:
    """Return the study as lines of text, a stratum a line."""
    head = "placement  bend     gap      n    bias    SD    p95  coverage (>=)  truth below/above  arms lower upper"
    lines = [head, "-" * len(head)]
    strata = [*product(range(len(BENDS)), range(len(GAPS))), None]
    for placement, stratum in product(PLACEMENTS, strata):
        chosen = [
            row for row in rows if row.placement == placement and stratum in (None, (row.bend, row.gap))
        ]
        lines.append(f"{placement:10} {_name(stratum):16} {_figures(chosen)}")
    plain = np.array([row.uncorrected for row in rows if row.placement == "in_canal"])
    miss = np.quantile(abs(plain), 0.95)
    return [*lines, f"uncorrected pixels x pitch: bias {plain.mean():+z.2f}, p95 {miss:.2f} mm"]


def _name(stratum: tuple[int, int] | None) -> str:
    if stratum is None:
        return "all      all"
    (low, high), gap = BENDS[stratum[0]], GAPS[stratum[1]]
    return f"{low:2}-{high}°   {gap[0]:g}-{gap[1]:g} mm"


def _figures(rows: Sequence[StudyRow]) -> str:
    errors = np.array([row.error for row in rows])
    held, lower, below, above = coverage(rows)
    arms = np.median([(row.low, row.high) for row in rows], axis=0)
    return (
        f"{len(rows):5} {errors.mean():+7.3f} {errors.std():5.3f} {np.quantile(abs(errors), 0.95):5.2f}"
        f"  {held:6.3f} ({lower:.3f})      {below:.3f} / {above:.3f}       {arms[0]:5.2f} {arms[1]:5.2f}"
    )
