"""The study of found objects: how near tips, balls, beads and wire ends are, and whether what is wrong is questioned.

Run it with ``python tests/reference/objects_study.py --scenes 500 --seed 1 --out objects.txt``. Scene seeds follow from
the seed (by default from the commit) and lie above 10 000, where nobody tuned. Kinds of teeth, sizes, tapers and forms
of the point, pixel sizes and exports (16 and 8 bit, JPEG, sharpened, gamma) come by turns or by chance. Clicks at the
stop and the tip are off by 0.2 mm (SD a coordinate), clicks on objects by 0.15 mm. Intervals are bootstraps over
scenes. Hard cases are made to fail, so that there are failures enough to see whether they are owned up to. Everything
is simulated: nothing here shows accuracy on a radiograph.

What it showed stands in the README beside it. What falls short: of two instruments whose shadows lie on one line for
their last millimetres, in lower molars, the wrong one may be taken and not questioned; and rods that end over the rim
of a crown are questioned and not found.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from helpers.object_scenes import VARIANTS, inverted, radiograph_of, scene_of, tool_of, truth_of
from helpers.white_images import with_white_metal
from objects_tables import tables
from tracing_study import commit_seed

from radlength.errors import RadlengthError
from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.phantom import Camera, simulate_marks
from radlength.scale import Reference
from radlength.tracing import (
    find_ball,
    find_beads,
    find_instrument,
    find_wire_ends,
    suggest_apex,
    suggest_stop_face,
    trace_canal,
)

FIRST_SEED = 10_000
CLICK_MM, OBJECT_CLICK_MM = 0.2, 0.15
WHITE = 0.94
"""Part of the way from black to the grey of metal near its tip where white is in images of white metal."""
END_MM, PATH_MM = 0.05, 0.1
"""SD of the marks at the stop and at the apex, and of the inner anchors, in the end-to-end rows."""


@dataclass(frozen=True)
class Row:
    """One object: which, how it was made hard, how far off (mm; along the axis where there is one), questioned or not.

    An error that is not a number belongs to a click where no such object is; `refused` says that nothing was returned.
    """

    seed: int
    kind: str
    variant: str
    what: str
    error: float
    along: float = np.nan
    across: float = np.nan
    u: float = np.nan
    flagged: bool = False
    refused: bool = False
    several: bool = False
    codes: tuple[str, ...] = ()
    seconds: float = 0.0


class Maker:
    """Rows of one scene."""

    def __init__(self, seed):
        self.seed = seed
        self.scene, self.truth, self.radiograph = scene_of(seed), truth_of(seed), radiograph_of(seed)
        self.pitch = self.scene.view.pitch_mm
        self.variant = tuple(VARIANTS)[seed % len(VARIANTS)]
        self.rng = np.random.default_rng((seed, 5))
        self.rows = []

    def off(self, sd_mm):
        return self.rng.normal(0, sd_mm, 2) / self.pitch

    def row(self, what, error, **more):
        self.rows.append(Row(self.seed, self.scene.kind, self.variant, what, error, **more))

    def tried(self, what, find, true_px=None, way=None, **more):
        """Add a row of what a search finds; `find` returns the object and its (row, column) points."""
        started = time.perf_counter()
        try:
            found, points = find()
        except RadlengthError:
            self.row(what, np.nan, refused=True, **more)
            return None
        more["seconds"] = time.perf_counter() - started
        more |= {"flagged": not found.trusted, "codes": tuple(one.code for one in found.findings)}
        if true_px is None:
            self.row(what, np.nan, **more)
            return found
        for point, true in zip(np.atleast_2d(points), np.atleast_2d(true_px), strict=True):
            off = (point - true) * self.pitch
            if way is not None:
                more |= {"along": float(off @ way), "across": float(off @ [-way[1], way[0]])}
            self.row(what, float(np.hypot(*off)), **more)
        return found


def scene_rows(seed):
    """Return the rows of a scene."""
    maker = Maker(seed)
    for number, (canal, path) in enumerate(maker.truth.instruments.items()):
        _instrument(maker, canal, path)
        if number == 0:
            _hard(maker, path)
    if maker.truth.ball is not None:
        centre = np.array(maker.truth.ball.centre)[::-1]
        _ball(maker, centre)
    _straight(maker)
    _nothing(maker)
    return maker.rows


def _unit(step):
    return step / np.hypot(*step)


def _instrument(maker, canal, path):
    """The tip, the instrument known, unknown, and dark; hints; a length from end to end."""
    rng, tool = maker.rng, tool_of(maker.seed)
    start, tip = path[0] + maker.off(CLICK_MM), path[-1] + maker.off(CLICK_MM)
    known = {"size": tool.size, "taper": tool.taper, "tip_form": tool.form}
    way, several = _unit(path[-1] - path[-8]), len(maker.truth.instruments) > 1

    def find(radiograph, **given):
        def run():
            found = find_instrument(radiograph, start, tip, **given)
            return found, found.tip_px

        return run

    maker.row("click", float(np.hypot(*(tip - path[-1])) * maker.pitch))
    found = maker.tried("tip", find(maker.radiograph, **known), path[-1], way, several=several)
    if (tool.size, tool.taper, tool.form) == (15, 0.02, "short cone"):
        maker.rows.append(replace(maker.rows[-1], what="tip, usual one"))
    white = with_white_metal(maker.radiograph, path, WHITE)
    maker.tried("tip, metal white", find(white, **known), path[-1], way, several=several)
    if maker.seed % 2:
        unknown = find(maker.radiograph, size=tool.size)
        maker.tried("tip, form unknown", unknown, path[-1], way, several=several)
    else:
        dark = find(inverted(maker.radiograph), polarity="dark", **known)
        maker.tried("tip, inverted image", dark, path[-1], way, several=several)
    if found is not None:
        _hints(maker, canal, path, found)
        _end_to_end(maker, canal, path, tip, known, rng)


def _hints(maker, canal, path, found):
    hint = suggest_stop_face(maker.radiograph, found.path_px)
    way = _unit(path[20] - path[0])
    maker.row("stop click", abs(float((found.path_px[0] - path[0]) @ way)) * maker.pitch)
    if hint is not None:
        maker.row("stop hint", abs(float((hint.point_px - path[0]) @ way)) * maker.pitch, u=hint.confidence)
    line = maker.scene.canal(canal)
    ends = Camera.of(maker.scene.view).project(line.at(np.linspace(0, line.length_mm, 60)))
    way, true = _unit(ends[-1] - ends[-4]), ends[-1].copy()
    off = maker.rng.normal(0, 0.4)
    ends[-1] += off / maker.pitch * way
    try:
        hint = suggest_apex(maker.radiograph, ends)
    except RadlengthError:
        return
    maker.row("apex click", abs(off))
    if hint is not None:
        maker.row("apex hint", abs(float((hint.point_px - true) @ way)) * maker.pitch, u=hint.confidence)


def _end_to_end(maker, canal, path, tip_click, known, rng):
    """A length: stop and apex by hand, tip found, canal traced through five anchors, scale from the instrument."""
    line = maker.scene.canal(canal)
    true = Camera.of(maker.scene.view).project(line.at(np.linspace(0, line.length_mm, 600)))
    if not ((true > 0) & (true < np.array(maker.radiograph.shape) - 1)).all():
        return
    anchors = true[np.linspace(0, 599, 5).round().astype(int)]
    sd = np.array([END_MM, PATH_MM, PATH_MM, PATH_MM, END_MM])[:, None]
    anchors = anchors + rng.normal(0, 1, (5, 2)) * sd / maker.pitch
    try:
        found = find_instrument(maker.radiograph, anchors[0], tip_click, **known)
        trace = trace_canal(maker.radiograph, anchors)
        tool = next(one for one in maker.scene.instruments if one.canal == canal)
        reference = Reference(path_px=found.points_px(), length_mm=tool.stop_to_tip_mm, limit_mm=0.01)
        marked = Canal(tooth="11", name=canal, path_px=trace.points_px())
        length = estimate_length(marked, reference, radiograph=maker.radiograph).canal_length.value_mm
    except RadlengthError:
        maker.row("end to end", np.nan, refused=True)
        return
    flagged = not (found.trusted and trace.trusted)
    error = length - line.length_mm
    maker.row(
        "end to end", abs(error), along=error, flagged=flagged, several=len(maker.truth.instruments) > 1
    )


def _hard(maker, path):
    """Clicks and images that are to be questioned, half of them in each scene."""
    rng, image = maker.rng, maker.radiograph
    size = np.array(image.shape) - 1
    way = _unit(path[-1] - path[-30])
    side = np.array([-way[1], way[0]]) * rng.choice([-1, 1])
    start = path[0] + maker.off(CLICK_MM)
    tip = path[-1] + maker.off(CLICK_MM)
    places = {
        "tip, click beside": (start, path[-1] + side * rng.uniform(1.0, 2.0) / maker.pitch),
        "tip, click short": (start, path[-int(rng.uniform(1.2, 4) / 0.05)]),
        "tip, click beyond": (start, path[-1] + way * rng.uniform(1.0, 1.5) / maker.pitch),
        "tip, reversed clicks": (tip, start),
    }
    for what, (first, last) in list(places.items())[maker.seed // 2 % 2 :: 2]:
        if (last > 0).all() and (last < size).all() and (first > 0).all() and (first < size).all():
            _pair(maker, what, image, first, last, path[-1])
    grey = image.stored / float(image.stored.max()) - 0.5
    share = rng.uniform(10, 25)
    part, sd, what = (
        (0.0, 6.0, "tip, noise only") if maker.seed // 2 % 2 else (share, 4.0, "tip, faint image")
    )
    pixels = np.clip(120 + part * grey + rng.normal(0, sd, grey.shape), 0, 255).astype(np.uint8)
    made = Radiograph.from_array(pixels, row_mm=maker.pitch, column_mm=maker.pitch)
    _pair(maker, what, made, start, tip, path[-1])


def _pair(maker, what, radiograph, first, last, true):
    def run():
        found = find_instrument(radiograph, first, last)
        return found, found.tip_px

    maker.tried(what, run, true)


def _ball(maker, centre):
    turn = maker.rng.uniform(0, 2 * np.pi)
    click = centre + maker.rng.uniform(0, 1.5) * np.array([np.sin(turn), np.cos(turn)]) / maker.pitch

    def run():
        found = find_ball(maker.radiograph, click)
        return found, found.centre_px

    found = maker.tried("ball centre", run, centre)
    if found is not None:
        true = maker.truth.ball
        for mine, its in ((found.ellipse.minor, true.minor), (found.ellipse.major, true.major)):
            off = mine - its * maker.pitch
            maker.row("ball semi-axis", abs(off), along=off, flagged=not found.trusted)


def _straight(maker):
    """Wire ends, rod ends, beads."""
    truth = maker.truth
    for what, given in (("wire ends", truth.wire_ends_px), ("rod ends", truth.rod_ends_px)):
        if given is None:
            continue
        ends = given[np.lexsort((given[:, 1], given[:, 0]))]
        click = ends[0] + maker.rng.uniform(0.05, 0.95) * (ends[1] - ends[0]) + maker.off(OBJECT_CLICK_MM)

        def run(click=click):
            found = find_wire_ends(maker.radiograph, click)
            return found, found.ends_px

        maker.tried(what, run, ends, _unit(ends[1] - ends[0]))
    beads = truth.beads_px
    other = truth.rod_ends_px if beads is None else None
    if beads is not None:
        beads = beads[np.lexsort((beads[:, 1], beads[:, 0]))]
        click = beads[0] + maker.rng.uniform(0, 1) * (beads[-1] - beads[0]) + maker.off(OBJECT_CLICK_MM)
        _beads(maker, beads, click)
    elif other is not None:
        maker.tried("beads on a rod", lambda: (find_beads(maker.radiograph, other.mean(axis=0)), None))


def _beads(maker, beads, click):
    """Every bead found is compared with the nearest true one; a bead too many or too few is a count."""
    try:
        found = find_beads(maker.radiograph, click)
    except RadlengthError:
        maker.row("beads counted", np.nan, refused=True)
        return
    way = _unit(beads[-1] - beads[0])
    for point in found.beads_px:
        off = (point - beads[np.hypot(*(beads - point).T).argmin()]) * maker.pitch
        numbers = {"along": float(off @ way), "across": float(off @ [-way[1], way[0]])}
        maker.row("bead", float(np.hypot(*off)), flagged=not found.trusted, **numbers)
    maker.row("beads counted", abs(len(found.beads_px) - len(beads)), flagged=not found.trusted)


def _nothing(maker):
    """Clicks at random: whatever is found there is not what was asked for, unless it lies on a true one."""
    size = np.array(maker.radiograph.shape)
    click = size * maker.rng.uniform(0.05, 0.95, 2)
    truth = maker.truth
    known = [ends for ends in (truth.wire_ends_px, truth.rod_ends_px) if ends is not None]
    known += list(truth.instruments.values())
    lines = [np.linspace(line[0], line[-1], 400) for line in known]
    away = min((np.hypot(*(line - click).T).min() for line in lines), default=np.inf) * maker.pitch
    ball = simulate_marks(maker.scene).ball_px
    far = np.hypot(*(ball.mean(axis=0) - click)) > np.hypot(*(ball - ball.mean(axis=0)).T).max()
    if far:
        maker.tried("random click, ball", lambda: (find_ball(maker.radiograph, click), None))
    if away > 1.5 and far:
        maker.tried("random click, wire", lambda: (find_wire_ends(maker.radiograph, click), None))
        maker.tried("random click, beads", lambda: (find_beads(maker.radiograph, click), None))


def study(scenes, seed, *, workers=2):
    """Return the rows of `scenes` scenes."""
    rng = np.random.default_rng(seed)
    seeds = [int(one) for one in rng.integers(FIRST_SEED, 2**31, scenes)]
    if workers == 1:
        return [row for one in seeds for row in scene_rows(one)]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_one_thread) as pool:
        return [row for rows in pool.map(scene_rows, seeds, chunksize=4) for row in rows]


def _one_thread():
    import cv2

    cv2.setNumThreads(1)


def main():
    """Print the study."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=500)
    parser.add_argument("--seed", type=int, default=None, help="by default from the commit")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=None, help="file for the text")
    given = parser.parse_args()
    seed = commit_seed() if given.seed is None else given.seed
    rows = study(given.scenes, seed, workers=given.workers)
    text = "\n".join([f"seed {seed}, {given.scenes} scenes", *tables(rows, seed)])
    print(text)
    if given.out:
        given.out.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
